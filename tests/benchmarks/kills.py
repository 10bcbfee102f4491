"""Programs killed in the midst of their work: is an acknowledged entry ever lost or doubled, a logbook ever spoiled?

    python -m tests.benchmarks.kills [--kills 1000] [--seed 1]

Each kill: a process works on a logbook and says on a pipe what is done, until it is killed (SIGKILL) at a random
moment. Then the logbook is opened, checked whole, and held against what was said. The jobs: log, correct, together
(many entries in one), trial (start and end), migrate, create; and through the faces (`kills_faces.py`) form, phone,
import, restore, export, papers. After every tenth kill the pages are opened on what is there.
"""

from __future__ import annotations

import argparse
import os
import random
import shutil
import signal
import sqlite3
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path

from reedlab.errors import ReedlabError
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Day, Reed
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

from .kills_faces import FACES, faults_of_face, ready, sitting_pages

Say = Callable[[object], None]
DAY = date(2026, 3, 1)
_OLD = Path(__file__).resolve().parents[1] / "logbook" / "version_2.sql"


def now() -> datetime:
    return datetime(2026, 6, 1, 12).astimezone()


def _new(path: Path) -> Logbook:
    return Logbook.open_or_create(path, now=now)


def _log(path: Path, turn: int, say: Say) -> None:
    for n in range(10_000):
        with _new(path) as book:
            book.add(Box(box=f"{turn}.{n}", instrument="clarinet"))
        say(n)


def _correct(path: Path, turn: int, say: Say) -> None:
    with _new(path) as book:
        for n in range(1, 10_000):
            book.put(Day(date=DAY + timedelta(days=turn % 60), humidity_pct=40 + n % 50, remark=f"{turn}.{n}"))
            say(n)


def _together(path: Path, turn: int, say: Say) -> None:
    for n in range(1000):
        with _new(path) as book:
            book.add_many([Box(box=f"{turn}.{n}.{k}", instrument="clarinet", remark="x" * 300) for k in range(60)])
        say(n)


def _plan(turn: int, n: int) -> Protocol:
    return Protocol(
        trial=f"{turn}.{n}", question="wetting", ask="Soak or lick?", instrument="clarinet",
        habits=(Habit("lick", "in the mouth"), Habit("soak", "in water")), design="day_by_day", outcome="day_rating",
        matters=1.0, start=DAY, days=2, dealt=("soak", "lick"), seed=7,
        units=(Unit("s1-1", "s1", ("1-01", "1-02"), (("1-01", 1), ("1-02", 2))),
               Unit("s1-2", "s1", ("1-01", "1-02"), (("1-02", 1), ("1-01", 2)))),
        slots=(Slot(1, 1, "1-01"), Slot(1, 2, "1-02"), Slot(2, 1, "1-02"), Slot(2, 2, "1-01")))


def _trial(path: Path, turn: int, say: Say) -> None:
    with _new(path) as book:
        if not len(book.frame("reeds")):
            book.put(Box(box="1", instrument="clarinet"))
            book.add_many([Reed(reed="1-01", box="1"), Reed(reed="1-02", box="1")])
        for name in book.frame("trials").query("ended.isna()")["trial"]:
            book.end_trial(name, DAY, "cut off")
        for n in range(1000):
            book.start_trial(_plan(turn, n))
            say(f"start {n}")
            book.end_trial(f"{turn}.{n}", DAY, "again")
            say(f"end {n}")


def _migrate(path: Path, turn: int, say: Say) -> None:
    Logbook.open(path, now=now).close()
    say("done")


JOBS: dict[str, Callable[[Path, int, Say], None]] = {
    "log": _log, "correct": _correct, "together": _together, "trial": _trial, "migrate": _migrate,
    "create": _log, **FACES}


def _ready(job: str, folder: Path) -> Path:
    """Return the logbook a job works on; some need a fresh one each time."""
    path = folder / job / "reeds.logbook"
    if job in ("create", "migrate") and path.parent.exists():
        shutil.rmtree(path.parent)
    path.parent.mkdir(exist_ok=True)
    if job in FACES and job != "restore":
        ready(job, path)
    if job == "migrate":
        with closing(sqlite3.connect(path)) as raw, raw:
            raw.executescript(_OLD.read_text(encoding="utf-8"))
        raw.close()
    if job == "restore" and not path.exists():
        with _new(path) as book:
            book.add(Box(box="kept", instrument="clarinet"))
        with Logbook.open(path, now=now) as book:
            book.add(Box(box="later", instrument="clarinet"))
    return path


def _killed(job: str, path: Path, turn: int, after: float) -> list[str]:
    """Run a job in a process of its own, kill it, and return what it had said."""
    out, into = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(out)
        try:
            JOBS[job](path, turn, lambda said: os.write(into, f"{said}\n".encode()) and None)
        except ReedlabError as err:
            os.write(into, f"REFUSED {err}\n".encode())
        finally:
            os._exit(0)
    os.close(into)
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with os.fdopen(out, "rb") as pipe:
        return pipe.read().decode().splitlines()


def _faults(job: str, path: Path, turn: int, said: list[str]) -> list[str]:
    faults = [f"{job}: {line}" for line in said if line.startswith("REFUSED")]
    if not path.exists():
        return faults + ([f"{job}: acknowledged, and there is no logbook"] if said else [])
    if job in FACES:
        faults += faults_of_face(job, path, turn, said)
    with Logbook.open(path, read_only=True) as book:
        faults += [f"{job}: {told}" for told in book.check()]
        if job in ("log", "create", "together", "import"):
            mine = [b for b in book.frame("boxes")["box"] if b.startswith(f"{turn}.")]
            each = 60 if job in ("together", "import") else 1
            turns = Counter(".".join(b.split(".")[:2]) for b in mine)
            if len(set(mine)) != len(mine) or any(v != each for v in turns.values()):
                faults.append(f"{job}: doubled or halved {turns}")
            if not len(said) <= len(turns) <= len(said) + 1:
                faults.append(f"{job}: {len(said)} acknowledged, {len(turns)} there")
        elif job == "correct":
            days = [r for r in book.frame("days")["remark"] if str(r).startswith(f"{turn}.")]
            there = int(days[0].split(".")[1]) if days else 0
            if len(days) > 1 or not len(said) <= there <= len(said) + 1:
                faults.append(f"{job}: {len(said)} acknowledged, {days} there")
        elif job == "trial":
            trials = book.frame("trials")
            trials = trials[trials["trial"].str.startswith(f"{turn}.")]
            done = len(trials) + int(trials["ended"].notna().sum())
            if not len(said) <= done <= len(said) + 1:
                faults.append(f"{job}: {len(said)} acknowledged, {done} there")
        elif job == "migrate":
            if len(book.frame("sittings")) != 4:
                faults.append("migrate: entries lost")
        elif job == "restore" and not {"kept"} <= set(book.frame("boxes")["box"]):
            faults.append("restore: lost")
    with Logbook.open(path, now=now) as book:  # and it can be written to
        book.put(Day(date=date(2025, 3, 1), remark=f"after {turn}"))
    if turn % 10 == 0:
        faults += [f"{job}: {told}" for told in sitting_pages(path)]
    return faults


def kills(folder: Path, n: int, seed: int, longest: float = 0.8) -> tuple[list[str], Counter[str], int]:
    """Kill `n` processes; return every fault, the kills by job and how many entries had been acknowledged."""
    rng = random.Random(seed)
    faults: list[str] = []
    done: Counter[str] = Counter()
    acknowledged = 0
    names = list(JOBS)
    for turn in range(n):
        job = names[turn % len(names)]
        path = _ready(job, folder)
        said = _killed(job, path, turn, rng.uniform(0, longest * (3 if job == "papers" else 1)))
        acknowledged += len(said)
        done[job] += 1
        faults += _faults(job, path, turn, said)
        if job != "restore" and sum(f.stat().st_size for f in path.parent.iterdir() if f.is_file()) > 1_000_000:
            shutil.rmtree(path.parent)
        if job == "restore":
            for old in path.parent.glob("reeds set aside*"):
                old.unlink()
    return faults, done, acknowledged


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--kills", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        faults, done, acknowledged = kills(Path(made), args.kills, args.seed)
    print(f"{sum(done.values())} kills, {acknowledged} acknowledged, {len(faults)} faults; " +
          ", ".join(f"{k} {n}" for k, n in done.items()))
    print("\n".join(faults[:20]))


if __name__ == "__main__":
    main()
