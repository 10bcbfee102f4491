"""What a Save, today's plan, the case, an answer and the check cost as a logbook grows to 1,000,000 sittings.

Each is measured in a process of its own: seconds of its own work, imports left out, and peak memory. `bare` is one
durable insert by sqlite3 alone into a file as large with the same settings, `add` a sitting added to an open logbook,
`save` opens the logbook, adds one and closes it: these three take turns in one process. `form` is one Save
on the Today page. Run by hand from the project's folder::

    python tests/benchmarks/ten_years.py 500 100000 1000000
    python tests/benchmarks/ten_years.py --only saves,today 500 1000000

All data are invented.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import resource
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

TODAY = date(2026, 3, 2)
JOBS = ("saves", "form", "today", "case", "result", "check", "export")
_POOL = 30  # reeds on the go: three boxes
_SITTINGS_A_REED = 40
_DAYS = 27_000  # the longest practice there is room for since 1950
_NOW = datetime(2026, 3, 2, 19, 0, 0)


def invent(path: Path, sittings: int, reeds: int = _POOL) -> None:
    """Write a logbook of so many sittings straight into its tables, ending yesterday; a trial runs in its last box.

    Boxes of ten are used up one after the other, `reeds` at a time; every tenth box served in a trial.
    """
    from reedlab.logbook import Logbook, _rows
    from reedlab.plan import draw_up
    from reedlab.rows.tables import typed
    from reedlab.rows.values import read_row
    from reedlab.trial.protocol import Protocol

    with Logbook.create(path, now=lambda: _NOW) as book:
        connection = book._connection
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("BEGIN IMMEDIATE")

        def write(table: str, **values: Any) -> None:
            row, faults = read_row(table, values)
            assert not faults, faults
            put(table, row)

        def put(table: str, row: dict[str, Any]) -> None:
            _rows.insert(connection, table, row, entered_at=_rows.stamp(_NOW))

        ten = typed("reeds", [{"reed": f"BOX-{i:02d}", "box": "BOX", "first_play": 7.0 - i / 4} for i in range(1, 11)])
        model = draw_up("wetting", ten, start=TODAY, seed=3, instrument="clarinet", trial="TRIAL",
                        design="reed_by_reed", simulations=100).protocol
        span = min(_DAYS, max(200, sittings // 27))
        start = TODAY - timedelta(days=span)
        write("setups", setup="main", mouthpiece="invented")
        boxes: list[str] = []
        pool: list[list[Any]] = []

        def open_box(on: date) -> None:
            boxes.append(str(len(boxes) + 1))
            write("boxes", box=boxes[-1], instrument="clarinet", strength="3", opened=on, price=30.0)
            for i in range(1, 11):
                write("reeds", reed=f"{boxes[-1]}-{i:02d}", box=boxes[-1], first_play=7.0 - i / 4, first_played=on)
                pool.append([f"{boxes[-1]}-{i:02d}", 0])
            if len(boxes) % 10 == 0:
                trial(on)

        def trial(on: date) -> None:
            text = model.to_json().replace("BOX-", f"{boxes[-1]}-").replace("TRIAL", f"Trial {boxes[-1]}")
            plan = Protocol.from_json(text.replace(f'"start":"{TODAY}"', f'"start":"{on}"'))
            write("trials", trial=plan.trial, started=plan.start, protocol_sha256=plan.sha256, protocol=plan.to_json())

        for _ in range(reeds // 10):
            open_box(start)
        at, done = 0, 0
        row, _ = read_row("sittings", {"date": TODAY, "reed": "1-01", "play_min": 25, "setup": "main", "overall": 7})
        for day in range(span):
            on = start + timedelta(days=day)
            write("days", date=on, humidity_pct=40 + day % 20)
            if day == span - 4:
                trial(on)
            for order in range(1, (day + 1) * sittings // span - done + 1):
                at = (at + 1) % len(pool)
                code, played = pool[at]
                pool[at][1] += 1
                put("sittings", row | {"sitting": f"{on}-{code}-{order}", "date": on, "reed": code,
                                       "order": min(order, 50), "overall": 5 + (done + order) % 7 / 2})
                if played + 1 >= _SITTINGS_A_REED and day < span - 5:
                    write("retirements", reed=code, date=on, reason="worn_out")
                    del pool[at]
                    if len(pool) <= reeds - 10:
                        open_box(on)
            done = (day + 1) * sittings // span
        connection.execute("COMMIT")


# --- the jobs: each returns seconds -----------------------------------------------------------------


def _often(job: Callable[[], object], times: int = 9) -> float:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        job()
        took.append(time.perf_counter() - start)
    return median(took)


def _sitting(n: int) -> Any:
    from reedlab.rows.records import Sitting

    return Sitting(date=TODAY - timedelta(days=n % 60), reed=_reed, play_min=1, overall=7, setup="main")


_reed = ""


def _saves(path: Path) -> dict[str, float]:
    """Return the median seconds of a bare durable insert, an entry and a whole save, taking turns in one process."""
    from reedlab.logbook import Logbook

    other = path.with_name("bare.db")  # of its own, with the same pages: the logbook's entries stay as they are
    shutil.copyfile(path, other)
    with Logbook.open(path, now=lambda: _NOW) as book, \
            contextlib.closing(sqlite3.connect(other, isolation_level=None)) as bare:
        full = book._connection.execute("PRAGMA synchronous").fetchone()[0]
        bare.execute(f"PRAGMA synchronous = {full}")
        bare.execute("CREATE TABLE bare (entry_id INTEGER PRIMARY KEY, reed TEXT, day TEXT, play_min)")

        def save(n: int) -> None:
            with Logbook.open(path, now=lambda: _NOW) as again:
                again.add(_sitting(n))

        jobs: dict[str, Callable[[int], object]] = {
            "bare": lambda n: bare.execute("INSERT INTO bare (reed, day, play_min) VALUES ('1-01', '2026', 20)"),
            "add": lambda n: book.add(_sitting(n)), "save": save}
        save(0)
        book.add(_sitting(0))  # makes the day's copy
        took: dict[str, list[float]] = {name: [] for name in jobs}
        for n in range(25):
            for name, job in jobs.items():
                start = time.perf_counter()
                job(n)
                took[name].append(time.perf_counter() - start)
    other.unlink()
    return {name: median(times) for name, times in took.items()}


def _form(path: Path) -> float:
    from reedlab import forms

    book = forms.here(path, lambda: TODAY)
    form, *_ = [getattr(forms, name)(book) for name in ("today", "day", "week", "outing", "retire", "worked_on")]

    def one() -> None:
        form.entry.reed.put(_reed)
        form.entry.play_min.put(1)
        form.entry.overall.put(7)
        form.save.click()
        if "Is this right" in form.message.value:
            form._yes.click()
        assert "Saved" in form.message.value, form.message.value

    one()
    return _often(one, 5)


def _today(path: Path) -> float:
    argv = ["today", str(path), "--today", str(TODAY)]
    return min(_verb(argv) for _ in range(3))  # the first one imports too


def _result(path: Path) -> float:
    with closing(sqlite3.connect(path)) as connection, connection:
        name = connection.execute("SELECT trial FROM trials ORDER BY entry_id LIMIT 1").fetchone()[0]
    argv = ["result", str(path), "--trial", name, "--today", str(TODAY)]
    return min(_verb(argv) for _ in range(3))


def _check(path: Path) -> float:
    return _verb(["check", str(path), "--today", str(TODAY)])


def _export(path: Path) -> float:
    with tempfile.TemporaryDirectory(dir=path.parent) as out:
        return _verb(["export", str(path), f"{out}/csv"])


def _verb(argv: list[str]) -> float:
    from reedlab.cli.main import main

    with contextlib.redirect_stdout(io.StringIO()):
        start = time.perf_counter()
        code = main(argv)
    assert code == 0, argv
    return time.perf_counter() - start


def _case(path: Path) -> float:
    from reedlab.errands.book import Book
    from reedlab.forms.case_page.form import CaseForm

    book = Book.here(path, today=lambda: TODAY)
    took = []
    for _ in range(3):
        start = time.perf_counter()
        form = CaseForm(book)
        took.append(time.perf_counter() - start)
        assert not form.message.value
    return min(took)


def _one(job: str, path: Path) -> None:
    """Do one job in this process and print its seconds and the peak memory in MB."""
    global _reed
    import pandas  # noqa: F401  (an import is no work of the job)

    with closing(sqlite3.connect(path)) as connection, connection:
        _reed = connection.execute("SELECT reed FROM sittings ORDER BY entry_id DESC LIMIT 1").fetchone()[0]
    took = globals()[f"_{job}"](path)
    times = took if isinstance(took, dict) else {job: took}
    print(json.dumps([times, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024]))


def _measured(job: str, path: Path) -> tuple[dict[str, float], float]:
    run = subprocess.run([sys.executable, __file__, "--one", job, str(path)], capture_output=True, text=True,
                         check=False, env={**os.environ, "REEDLAB_TODAY": str(TODAY)})
    if run.returncode:
        sys.stderr.write(run.stderr)
        return {job: float("nan")}, float("nan")
    took, mb = json.loads(run.stdout.splitlines()[-1])
    return took, mb


def _table(sizes: list[int], jobs: list[str]) -> Iterator[str]:
    with tempfile.TemporaryDirectory() as folder:
        yield f"{'sittings':>9} {'job':>8} {'ms':>9} {'x bare':>7} {'MB':>6}"
        for n in sizes:
            path = Path(folder) / f"{n}.logbook"
            start = time.perf_counter()
            invent(path, n)
            yield f"{n:>9} made in {time.perf_counter() - start:.0f} s, {path.stat().st_size / 2**20:.0f} MB"
            bare = float("nan")
            for job in jobs:
                times, mb = _measured(job, path)
                bare = times.get("bare", bare)
                for name, took in times.items():
                    yield f"{n:>9} {name:>8} {1000 * took:>9.1f} {took / bare:>7.1f} {mb:>6.0f}"
            path.unlink()


def main() -> None:
    """Read the command line, measure, print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("sizes", nargs="*", type=int, default=[500, 100_000])
    parser.add_argument("--only", default=",".join(JOBS), help="jobs, with commas")
    parser.add_argument("--one", nargs=2, metavar=("JOB", "LOGBOOK"), help=argparse.SUPPRESS)
    args = parser.parse_args()
    if args.one:
        _one(args.one[0], Path(args.one[1]))
        return
    for line in _table(args.sizes, args.only.split(",")):
        print(line, flush=True)


if __name__ == "__main__":
    main()
