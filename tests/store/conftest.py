"""Every test here must leave no database thread behind: a leaked one keeps the process from ending."""

import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

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


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Where a test's database stands."""
    return tmp_path / "chinrest.db"
