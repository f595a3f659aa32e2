"""Bad days: real processes that are cut off, killed and started again. Each test prints what it did."""

import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(TESTS / name) for name in ("review", "store", "log")]  # phones and databases to look into

from campaign import Done, Tools, table  # noqa: E402  # browsers and databases are looked into by the path above

DONE: list[Done] = []


@pytest.fixture(scope="session")
def tools(request: pytest.FixtureRequest) -> Iterator[Tools]:
    """The browser and the database server of this run, started when the first day asks for them."""
    made = Tools(lambda: request.getfixturevalue("playwright"))
    yield made
    made.close()


@pytest.fixture
def days_done() -> list[Done]:
    return DONE


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    if DONE:
        terminalreporter.section("bad days")
        terminalreporter.write_line(table(DONE))
