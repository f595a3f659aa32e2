"""Stands here so that every tier can import what this folder shares, and use the browser."""

from collections.abc import Generator

import pytest

from browsing import allow_noise, chromium, contexts, front_end, playwright, remember_report, server

__all__ = ["allow_noise", "chromium", "contexts", "front_end", "playwright", "server"]


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--engine",
        choices=("sqlite", "postgresql"),
        default="sqlite",
        help="which database the tests of the store run on",
    )


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    remember_report(item, report)
    return report
