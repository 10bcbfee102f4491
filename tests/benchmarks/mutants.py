"""Would the tests notice? Puts small faults into the numbers and the words, one at a time, and runs the tests.

    nice python -m tests.benchmarks.mutants --faults 300 --seed 1 --out mutants.jsonl
    nice python -m tests.benchmarks.mutants --again mutants.jsonl      # those unnoticed, once more

Each test file is run once without a fault, to see how long it takes and which functions it calls. A fault then meets
the files of its own room that call the function it sits in, the quick ones first, and stops at the first that fails.
The heavy libraries are loaded once and every fault has a process of its own, forked from there (so not on Windows). A
test may take `--limit` seconds of computing; one that takes more has noticed. Tests of speed are left out: a busy
computer would fail them. A fault that nobody notices is a test that is missing, or changes nothing that can be seen.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import json
import os
import random
import resource
import signal
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from importlib.machinery import ModuleSpec, SourceFileLoader
from pathlib import Path
from types import CodeType
from typing import Any

import pytest

from tests.benchmarks.spoiling import Spot, spoilt, spots

ROOT = Path(__file__).resolve().parents[2]

#: Where faults are put, and the tests that should notice them.
ROOMS: Mapping[str, Sequence[str]] = {
    "reedlab/trial/dealing.py": ["tests/trial", "tests/plan/test_layouts.py",
                                 "tests/analysis/shuffling/test_compare.py"],
    "reedlab/analysis/units": ["tests/analysis/units", "tests/analysis/test_trial.py", "tests/analysis/test_watched.py",
                               "tests/analysis/remarks", "tests/analysis/beside"],
    "reedlab/analysis/shuffling": ["tests/analysis/shuffling", "tests/analysis/test_ties.py",
                                   "tests/analysis/test_watched.py", "tests/analysis/units/test_life_values.py"],
    "reedlab/analysis/verdicts": ["tests/analysis/verdicts", "tests/analysis/test_trial.py",
                                  "tests/analysis/test_watched.py", "tests/analysis/remarks"],
    "reedlab/analysis/remarks": ["tests/analysis/remarks", "tests/analysis/test_trial.py"],
    "reedlab/summary/words": ["tests/summary", "tests/test_player_words.py"],
}
_LEFT_OUT = ("test_print.py", "test_figures.py", "test_page.py")  # they need a browser, or look at drawings
_OF_SPEED = "take_seconds or thousands_a_second or quick_as or in_time or is_light"
_CALLS = "\ncalls:\n"
_LIBRARIES = ("numpy", "scipy.stats", "scipy.optimize", "pandas", "statsmodels.api", "pingouin", "matplotlib.pyplot",
              "seaborn", "jinja2", "hypothesis", "openpyxl", "sqlite3", "concurrent.futures", "unittest.mock")


@dataclass(frozen=True)
class Seen:
    """A test file as it runs without a fault: its seconds, and the functions of the rooms that it calls."""

    seconds: float
    calls: frozenset[str]


@dataclass(frozen=True)
class Outcome:
    """What became of one fault."""

    module: str
    spot: Spot
    noticed_by: str  # the test; "" if none did
    seconds: float


class _Spoils(SourceFileLoader):
    """Loads one module with a fault in it."""

    def __init__(self, name: str, path: str, code: CodeType) -> None:
        super().__init__(name, path)
        self._code = code

    def get_code(self, fullname: str) -> CodeType:
        return self._code


class _Finder:
    def __init__(self, module: str, code: CodeType) -> None:
        self._module, self._code = module, code
        self._name = module.removesuffix(".py").removesuffix("/__init__").replace("/", ".")

    def find_spec(self, fullname: str, path: object = None, target: object = None) -> ModuleSpec | None:
        if fullname != self._name:
            return None
        where = str(ROOT / self._module)
        return importlib.util.spec_from_file_location(fullname, where, loader=_Spoils(fullname, where, self._code))


class _Watch:
    """Tells the first test that fails, and gives each test its time."""

    def __init__(self, tell: int, limit: float) -> None:
        self._tell, self._limit = tell, limit

    def pytest_collectreport(self, report: Any) -> None:
        if report.failed:
            os.write(self._tell, f"{report.nodeid} (cannot be loaded)\n".encode())

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        signal.setitimer(signal.ITIMER_PROF, self._limit)  # its signal ends the process

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.failed:
            os.write(self._tell, f"{report.nodeid}\n".encode())


def tests_of(module: str) -> list[str]:
    """Return the test files of a module's room."""
    room = next(tests for part, tests in ROOMS.items() if module.startswith(part))
    files = [str(f.relative_to(ROOT)) for t in room
             for f in ([ROOT / t] if t.endswith(".py") else sorted((ROOT / t).glob("test_*.py")))
             if f.name not in _LEFT_OUT]
    return list(dict.fromkeys(files))


def in_order(module: str, spot: Spot, seen: Mapping[str, Seen]) -> list[str]:
    """Return the test files that reach a place: first one that bears the module's name, then the quick ones."""
    stem = Path(module).stem.strip("_")
    files = [f for f in tests_of(module) if f"{module}:{spot.within}" in seen[f].calls]
    return sorted(files, key=lambda f: (f"test_{stem}.py" not in f, seen[f].seconds))


def run(files: Sequence[str], limit: float, fault: tuple[str, Spot] | None = None) -> tuple[str, float, frozenset[str]]:
    """Run test files in a process of their own: the first test that failed ("" if none), the seconds, the calls."""
    read, write = os.pipe()
    began = time.perf_counter()
    child = os.fork()
    if child == 0:
        os.close(read)
        _in_child(files, limit, fault, write)
    os.close(write)
    with os.fdopen(read, encoding="utf-8") as said:
        failed, _, calls = said.read().partition(_CALLS)
    _, status = os.waitpid(child, 0)
    seconds = round(time.perf_counter() - began, 1)
    if os.WIFSIGNALED(status):
        return f"took too long ({files[0]} ...)", seconds, frozenset()
    if os.WEXITSTATUS(status) == 0:
        return "", seconds, frozenset(calls.split())
    return failed.split("\n")[0] or "the tests could not be run", seconds, frozenset()


def _in_child(files: Sequence[str], limit: float, fault: tuple[str, Spot] | None, tell: int) -> None:
    code = 1
    calls: set[tuple[str, str]] = set()
    try:
        nothing = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nothing, 1)
        os.dup2(nothing, 2)
        resource.setrlimit(resource.RLIMIT_AS, (6 << 30, 6 << 30))
        signal.signal(signal.SIGPROF, signal.SIG_DFL)
        if fault is None:
            sys.settrace(lambda frame, event, _: calls.add((frame.f_code.co_filename, frame.f_code.co_qualname)))
        else:
            module, spot = fault
            tree = spoilt((ROOT / module).read_text(encoding="utf-8"), spot)
            sys.meta_path.insert(0, _Finder(module, compile(tree, str(ROOT / module), "exec")))  # type: ignore[arg-type]
        for file in files:
            signal.setitimer(signal.ITIMER_PROF, limit)
            code = int(pytest.main(["-x", "-q", "--tb=no", "-p", "no:cacheprovider", "-k", f"not ({_OF_SPEED})", file],
                                   plugins=[_Watch(tell, limit)]))
            if code not in (0, pytest.ExitCode.NO_TESTS_COLLECTED):
                break
            code = 0
        sys.settrace(None)
        signal.setitimer(signal.ITIMER_PROF, 0)
        ours = {f"{Path(f).relative_to(ROOT)}:{name.split('.<')[0]}" for f, name in calls
                if f.startswith(str(ROOT / "reedlab"))}
        with os.fdopen(tell, "w", encoding="utf-8") as file:
            file.write(_CALLS + "\n".join(ours))
    finally:
        os._exit(code)


def chosen(modules: Iterable[str], n: int, seed: int) -> list[tuple[str, Spot]]:
    """Return so many faults drawn at random from all that can be put into the modules."""
    every = [(m, s) for m in modules for s in spots((ROOT / m).read_text(encoding="utf-8"))]
    return random.Random(seed).sample(every, min(n, len(every)))


def modules_of(parts: Iterable[str]) -> list[str]:
    """Return the modules of some parts of the project, as paths."""
    return [str(f.relative_to(ROOT)) for p in parts
            for f in ([ROOT / p] if p.endswith(".py") else sorted((ROOT / p).rglob("*.py")))]


def watched(files: Iterable[str], limit: float, kept: Path | None = None) -> dict[str, Seen]:
    """Run each test file without a fault. Raises SystemExit where one fails. What is kept is not run again."""
    old = json.loads(kept.read_text(encoding="utf-8")) if kept and kept.exists() else {}
    out = {}
    for file in files:
        print_ = hashlib.sha256((ROOT / file).read_bytes()).hexdigest()
        if old.get(file, {}).get("print") != print_:
            failed, seconds, calls = run([file], 4 * limit)
            if failed:
                raise SystemExit(f"without any fault: {failed}")
            old[file] = {"print": print_, "seconds": seconds, "calls": sorted(calls)}
            if kept:
                kept.write_text(json.dumps(old), encoding="utf-8")
        out[file] = Seen(old[file]["seconds"], frozenset(old[file]["calls"]))
    return out


def tried(faults: Sequence[tuple[str, Spot]], limit: float, kept: Path | None = None) -> Iterator[Outcome]:
    """Put in one fault after the other and say what noticed it."""
    for name in _LIBRARIES:
        importlib.import_module(name)
    seen = watched(sorted({f for m in {m for m, _ in faults} for f in tests_of(m)}), limit, kept)
    for module, spot in faults:
        files = in_order(module, spot, seen)
        noticed, seconds, _ = run(files, limit, (module, spot)) if files else ("", 0.0, None)
        yield Outcome(module, spot, noticed, seconds)


def main() -> None:
    """Run it and print each fault that nothing noticed, and the share noticed by room."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--faults", type=int, default=300)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--rooms", nargs="*", default=list(ROOMS))
    ask.add_argument("--limit", type=float, default=25.0, help="seconds of computing that one test may take")
    ask.add_argument("--out", type=Path, help="a file that gets a line for each fault")
    ask.add_argument("--kept", type=Path, help="a file that keeps what the tests call, for the next time")
    ask.add_argument("--again", type=Path, help="such a file: only its faults that nothing noticed")
    given = ask.parse_args()
    os.chdir(ROOT)
    os.environ |= {"PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "MPLBACKEND": "Agg"}  # no plugin is needed
    if given.again:
        rows = [json.loads(line) for line in given.again.read_text(encoding="utf-8").splitlines()]
        faults = [(r["module"], Spot(**r["spot"])) for r in rows if not r["noticed_by"]]
    else:
        faults = chosen(modules_of(given.rooms), given.faults, given.seed)
    all_of, seen = Counter[str](), Counter[str]()
    for o in tried(faults, given.limit, given.kept):
        room = next(part for part in ROOMS if o.module.startswith(part))
        all_of[room] += 1
        seen[room] += bool(o.noticed_by)
        if not o.noticed_by:
            print(f"unnoticed  {o.module}:{o.spot.line}  {o.spot.kind}: {o.spot.text}", flush=True)
        if given.out:
            with given.out.open("a", encoding="utf-8") as file:
                file.write(json.dumps(asdict(o)) + "\n")
    for room, n in all_of.items():
        print(f"{room:32} {seen[room]:4} of {n:4} noticed")
    total = sum(all_of.values())
    share = 100 * sum(seen.values()) / max(total, 1)
    print(f"{'all':32} {sum(seen.values()):4} of {total:4} noticed ({share:.0f} in 100)")


if __name__ == "__main__":
    main()
