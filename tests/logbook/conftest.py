"""An invented logbook with something in every table, and a clock that stands still."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from datetime import date, datetime
from pathlib import Path

import pytest

from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Concert, Day, Guess, Reed, Retirement, Setup, Sitting, Weekday
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit


class Clock:
    """A clock the test sets by hand."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def __call__(self) -> datetime:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock(datetime(2026, 3, 20, 20, 0, 5))


@pytest.fixture(scope="session")
def empty_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("empty") / "empty.sqlite"
    Logbook.create(path).close()
    return path


@pytest.fixture
def empty_book(tmp_path: Path, clock: Clock, empty_file: Path) -> Iterator[Logbook]:
    shutil.copy(empty_file, tmp_path / "empty.sqlite")
    with Logbook.open(tmp_path / "empty.sqlite", now=clock) as book:
        yield book


@pytest.fixture(scope="session")
def full_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("full") / "reeds.sqlite"
    with Logbook.create(path, now=Clock(datetime(2026, 3, 19, 20, 0, 5))) as book:
        fill(book)
    return path


@pytest.fixture
def book(tmp_path: Path, clock: Clock, full_file: Path) -> Iterator[Logbook]:
    shutil.copy(full_file, tmp_path / "reeds.sqlite")
    with Logbook.open(tmp_path / "reeds.sqlite", now=clock) as book:
        yield book


@pytest.fixture
def plan() -> Protocol:
    return a_plan()


def a_plan(trial: str = "wetting", **changes: object) -> Protocol:
    fields: dict[str, object] = {
        "trial": trial, "question": "wetting", "ask": "Soak or lick?", "instrument": "clarinet",
        "habits": (Habit("lick", "wetting in the mouth"), Habit("soak", "soaking in water")),
        "design": "day_by_day", "outcome": "day_rating", "matters": 1.0, "start": date(2026, 3, 5), "days": 2,
        "units": (Unit("s1-1", "s1", ("1-01", "1-02"), (("1-01", 1), ("1-02", 2))),
               Unit("s1-2", "s1", ("1-01", "1-02"), (("1-02", 1), ("1-01", 2)))),
        "dealt": ("soak", "lick"),
        "slots": (Slot(1, 1, "1-01"), Slot(1, 2, "1-02"), Slot(2, 1, "1-02"), Slot(2, 2, "1-01")), "seed": 7}
    return Protocol(**(fields | changes))  # type: ignore[arg-type]


def fill(book: Logbook) -> None:
    """Write rows of every kind, with a correction, a withdrawal and awkward texts."""
    book.add_many([
        Box(box="1", instrument="clarinet", cut="plain", strength="3", opened=date(2026, 2, 20), price=31.9),
        Box(box="2", instrument="clarinet", strength="3½"),
        Setup(setup="main", instrument="clarinet", mouthpiece="wide, open", ligature='the "old" one'),
        *(Reed(reed=f"1-{n:02d}", box="1", first_play=n / 2, first_stiffness=-0.5) for n in range(1, 7)),
        Reed(reed="2-01", box="2", set_aside=True, worked_on=date(2026, 3, 1), remark="first line\nsecond line"),
    ])
    book.start_trial(a_plan())
    first = book.add(Sitting(date=date(2026, 3, 5), reed="1-01", play_min=12.5, overall=7, habit="soak",
                             setup="main", order=1, where="practice"))
    book.add_many([
        Sitting(date=date(2026, 3, 5), reed="1-02", play_min=10, overall=6.5, habit="lick", order=2),
        Sitting(date=date(2026, 3, 6), reed="1-02", play_min=1 / 3, overall=0, waterlogged=True, from_memory=True),
        Sitting(date=date(2026, 3, 6), reed="1-05", play_min=60, unsure_reed=True, remark="ü, “so”; = 1"),
    ])
    book.correct("sittings", first, Sitting(date=date(2026, 3, 5), reed="1-01", play_min=15, overall=7.5,
                                            habit="soak", order=1, where="concert"))
    book.withdraw("sittings", book.add(Sitting(date=date(2026, 3, 7), reed="1-06", play_min=5)))
    book.put(Day(date=date(2026, 3, 5), humidity_pct=41.5))
    book.put(Day(date=date(2026, 3, 5), humidity_pct=42, temp_c=-0.0, remark="window open"))
    book.add(Day(date=date(2026, 4, 1), pause=True))
    book.add(Retirement(reed="1-06", date=date(2026, 3, 8), reason="damaged"))
    book.record_look("wetting", date(2026, 3, 5), "could not wait")
    book.end_trial("wetting", date(2026, 3, 6), "school holidays")
    book.add_many([
        Weekday(weekday="sunday", play_min=0, remark="walks"), Weekday(weekday="monday", play_min=45.5),
        Concert(date=date(2026, 4, 11), play_min=90, remark="two halves"), Concert(date=date(2026, 2, 27)),
        Guess(trial="wetting", unit="s1-1", habit="soak", date=date(2026, 3, 7)),
        Guess(trial="wetting", unit="s1-2", date=date(2026, 3, 7)),
    ])


@pytest.fixture
def hand(tmp_path: Path) -> Callable[..., Path]:
    """Write a sound folder as a player would by hand, with some files replaced (None: left out)."""

    def write(**files: str | bytes | None) -> Path:
        folder = tmp_path / "by hand"
        folder.mkdir()
        for stem, content in (HAND | files).items():
            if content is None:
                continue
            name = stem.replace("__", "/").replace("_dot_", ".")
            name = name if "." in name else name + ".csv"
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_bytes(content if isinstance(content, bytes) else content.encode())
        return folder

    return write


HAND: dict[str, str | bytes | None] = {
    "boxes": "box,instrument\n1,clarinet\n",
    "reeds": "reed,box,first_play\n1-01,1,7\n1-02,1,6.5\n1-03,1,5\n1-04,1,5\n",
    "sittings": "date,reed,play_min,overall,habit\n2026-03-05,1-01,20,7,soak\n2026-03-05,1-02,20,6,lick\n"
                "2026-03-06,1-01,20,,\n",
    "trials": "trial,started,question,ask,instrument,habit_a,habit_a_name,habit_b,habit_b_name,design,outcome,"
              "matters,days\nwet,2026-03-05,wetting,Soak or lick?,clarinet,soak,soaking in water,lick,"
              "wetting in the mouth,day_by_day,day_rating,1,2\n",
    "dealt": "trial,block,reed,day,habit\nwet,s1,1-01,1,soak\nwet,s1,1-02,1,lick\nwet,s1,1-01,2,lick\n"
             "wet,s1,1-02,2,soak\n",
}
