"""Shared by all tests: ``--quick`` runs what takes no time; with ``--no-skips`` a skipped test fails the run.

Which tests take time stands in ``slow.txt`` beside this file; ``pytest -n 2 --note-slow`` writes it anew, and with
``--quick`` adds to it.
"""

from __future__ import annotations

import os
from collections import Counter
from pathlib import Path

import pytest

from reedlab.threads import one_thread

one_thread(os.environ)

_skipped: list[str] = []
_seconds: Counter[str] = Counter()
_SLOW = Path(__file__).with_name("slow.txt")
_SLOW_S = 0.2  # a test with all its cases


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--no-skips", action="store_true", help="a skipped test fails the run")
    parser.addoption("--quick", action="store_true", help="leave out browser, notebooks, benchmarks and slow tests")
    parser.addoption("--note-slow", action="store_true", help=f"write down which tests take over {_SLOW_S} s")


def _test_of(nodeid: str) -> str:
    """Return the test's name without the case."""
    return nodeid.partition("[")[0]


def _noted() -> set[str]:
    return set(_SLOW.read_text(encoding="utf8").splitlines())


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--quick"):
        return
    noted = _noted()
    slow = [i for i in items if any(i.get_closest_marker(m) for m in ("slow", "browser")) or _test_of(i.nodeid) in noted
            or i.path.relative_to(config.rootpath).parts[1] in ("browser", "notebooks", "benchmarks")]
    config.hook.pytest_deselected(items=slow)
    items[:] = [i for i in items if i not in set(slow)]


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    _seconds[_test_of(report.nodeid)] += report.duration
    if report.skipped and not hasattr(report, "wasxfail"):
        _skipped.append(report.nodeid)


@pytest.hookimpl(trylast=True)
def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    if session.config.getoption("--no-skips") and _skipped and exitstatus == 0:
        session.exitstatus = 1
    if session.config.getoption("--note-slow") and not hasattr(session.config, "workerinput"):
        slow = {test for test, seconds in _seconds.items() if seconds > _SLOW_S}
        if session.config.getoption("--quick"):  # the others were not run
            slow |= _noted()
        _SLOW.write_text("".join(f"{test}\n" for test in sorted(slow)), encoding="utf8")


def pytest_terminal_summary(terminalreporter, exitstatus, config) -> None:  # type: ignore[no-untyped-def]
    if config.getoption("--no-skips") and _skipped:
        terminalreporter.write_sep("=", f"{len(_skipped)} skipped, and --no-skips was asked", red=True)
