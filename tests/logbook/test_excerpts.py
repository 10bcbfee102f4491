"""What a page reads of the logbook says what the whole logbook says."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from reedlab.analysis.player.spreads import own_numbers
from reedlab.analysis.trial import analyse
from reedlab.cli.now import what_now
from reedlab.demo import set_up_demo
from reedlab.logbook import Logbook, _excerpts
from reedlab.reedcase import open_case
from reedlab.rows import recent
from reedlab.rows.records import Concert, Day
from reedlab.rows.tables import Frames
from reedlab.screens.today import today
from reedlab.summary import answer
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World

from ..benchmarks.ten_years import TODAY, invent


@pytest.fixture(scope="module")
def books(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Logbook]]:
    """Years of an invented player, with boxes used up and trials long over; and the demo."""
    path = tmp_path_factory.mktemp("years") / "reeds.logbook"
    invent(path, 6000)
    with Logbook.open(path) as book:
        book.add(Concert(date=TODAY + timedelta(days=2)))
        book.put(Day(date=TODAY - timedelta(days=2), pause=True))
    demo: Path = set_up_demo(tmp_path_factory.mktemp("demo"))
    with Logbook.open(path, read_only=True) as one, Logbook.open(demo, read_only=True) as two:
        yield {"years": one, "demo": two}


@pytest.fixture(params=["years", "demo"])
def book(request: pytest.FixtureRequest, books: dict[str, Logbook]) -> Logbook:
    return books[request.param]


def plans(book: Logbook, frames: Frames) -> dict[str, Protocol]:
    return {str(t): book.protocol(str(t)) for t in frames.trials["trial"]}


def last_day(book: Logbook) -> date:
    return max(d.date() for d in book.frame("days")["date"])


def test_a_day_is_planned_the_same(book: Logbook) -> None:
    """What now, and the Today page, on the last day and on days gone by."""
    whole = book.frames()
    for back in (0, 3, 40):
        on = last_day(book) - timedelta(days=back)
        some = book.frames_since(on)
        assert what_now(plans(book, some), some, on) == what_now(plans(book, whole), whole, on)
        assert today(some, plans(book, some), on) == today(whole, plans(book, whole), on)


def test_an_answer_is_the_same(book: Logbook) -> None:
    """Every trial, read from its own rows and from all."""
    whole, on = book.frames(), last_day(book) + timedelta(days=1)
    for name, plan in plans(book, whole).items():
        one, two = (analyse(plan, frames, today=on) for frames in (book.frames_of(name), whole))
        assert answer(one).to_dict() == answer(two).to_dict()


def test_the_case_and_the_player_s_own_numbers_are_the_same(book: Logbook, monkeypatch: pytest.MonkeyPatch) -> None:
    """With few sittings and reeds that count as recent, so that most of the logbook is left out."""
    whole, on = book.frames(), last_day(book)
    sizes = []
    for played, gone in ((50, 5), (300, 40), (recent.SITTINGS, recent.REEDS_GONE)):
        monkeypatch.setattr(recent, "SITTINGS", played)
        monkeypatch.setattr(recent, "REEDS_GONE", gone)
        some = book._frames(_excerpts.of_the_case(book._find, on, played, gone))
        told, all_told = (own_numbers(frames, World()) for frames in (some, whole))
        assert told.estimates.keys() == all_told.estimates.keys()
        for name, number in told.estimates.items():  # sums of more rows differ in their last digits
            for what, value in asdict(number).items():
                other = asdict(all_told.estimates[name])[what]
                near = pytest.approx(other, rel=1e-9, abs=1e-12, nan_ok=True) if isinstance(other, float) else other
                assert value == near
        assert replace(told, estimates={}) == replace(all_told, estimates={})
        assert open_case(some, plans(book, some), on, World()) == open_case(whole, plans(book, whole), on, World())
        sizes.append(len(some.sittings))
    assert sizes == sorted(sizes)
    assert sizes[0] < len(whole.sittings) or len(whole.sittings) < 1000


def test_what_is_read_does_not_grow_with_the_years(tmp_path: Path) -> None:
    """Ten times the sittings, over the same reeds at a time: about as many rows for each page."""
    read = {}
    for n in (2000, 20_000):
        invent(tmp_path / f"{n}.logbook", n)
        with Logbook.open(tmp_path / f"{n}.logbook", read_only=True) as book:
            last = str(book.frame("trials")["trial"].iloc[-1])
            read[n] = [sum(map(len, vars(f).values())) for f in (book.frames_since(TODAY), book.frames_of(last))]
    for few, many in zip(read[2000], read[20_000], strict=True):
        assert many < 2 * few
