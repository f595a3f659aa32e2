"""Every test here must leave no database thread behind: a leaked one keeps the process from ending."""

import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from postgresql import Postgres

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "log"))  # the invented phones


def database_threads() -> list[str]:
    return [thread.name for thread in threading.enumerate() if "_connection_worker" in thread.name]


@pytest.fixture(autouse=True)
def _no_leaked_thread() -> Iterator[None]:
    yield
    until = time.monotonic() + 5
    while database_threads() and time.monotonic() < until:
        time.sleep(0.01)
    assert database_threads() == []


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On PostgreSQL, what is about the embedded database's own file is not there to be tested; on that
    file, one server at a time is the rule."""
    other = "several_servers" if config.getoption("--engine") == "sqlite" else "embedded"
    elsewhere = [item for item in items if item.get_closest_marker(other)]
    config.hook.pytest_deselected(items=elsewhere)
    items[:] = [item for item in items if item not in elsewhere]


@pytest.fixture(scope="session")
def postgres(request: pytest.FixtureRequest) -> Iterator[Postgres | None]:
    """A server of this run's own, where the tests run on one."""
    if request.config.getoption("--engine") == "sqlite":
        yield None
        return
    server = Postgres().start()
    yield server
    server.stop()


@pytest.fixture
def file(tmp_path: Path, postgres: Postgres | None) -> Path | str:
    """Where a test's database stands."""
    return tmp_path / "chinrest.db" if postgres is None else postgres.fresh()


@pytest.fixture
def other_file(tmp_path: Path, postgres: Postgres | None) -> Path | str:
    return tmp_path / "other.db" if postgres is None else postgres.fresh()
