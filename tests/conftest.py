"""Shared by all tests: with ``--no-skips`` a skipped test fails the run (continuous integration uses it)."""

from __future__ import annotations

import pytest

_skipped: list[str] = []


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--no-skips", action="store_true", help="a skipped test fails the run")


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    if report.skipped and not hasattr(report, "wasxfail"):
        _skipped.append(report.nodeid)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    if session.config.getoption("--no-skips") and _skipped and exitstatus == 0:
        session.exitstatus = 1


def pytest_terminal_summary(terminalreporter, exitstatus, config) -> None:  # type: ignore[no-untyped-def]
    if config.getoption("--no-skips") and _skipped:
        terminalreporter.write_sep("=", f"{len(_skipped)} skipped, and --no-skips was asked", red=True)
