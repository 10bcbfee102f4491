"""Shared by all tests: ``--quick`` runs what takes no time; with ``--no-skips`` a skipped test fails the run."""

from __future__ import annotations

import os

import pytest

from reedlab.threads import one_thread

one_thread(os.environ)

_skipped: list[str] = []


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--no-skips", action="store_true", help="a skipped test fails the run")
    parser.addoption("--quick", action="store_true", help="leave out browser, notebooks, benchmarks and slow tests")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--quick"):
        return
    slow = [i for i in items if any(i.get_closest_marker(m) for m in ("slow", "browser"))
            or i.path.relative_to(config.rootpath).parts[1] in ("browser", "notebooks", "benchmarks")]
    config.hook.pytest_deselected(items=slow)
    items[:] = [i for i in items if i not in set(slow)]


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
