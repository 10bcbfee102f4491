"""A standing trial is drawn up, started and takes in new boxes, through the logbook."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from reedlab.errors import EntryRefused, InputError, LogbookError, PlanRefused
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.plan import draw_up_standing
from reedlab.plan.standing import reeds_to_deal
from reedlab.rows.records import Box, Deal, Reed, Retirement

START = date(2026, 3, 2)


def filled(path: Path, boxes: int = 3) -> Logbook:
    book = Logbook.create(path)
    for k in range(1, boxes + 1):
        book.add(Box(box=str(k), instrument="clarinet", strength="3"))
        book.add_many([Reed(reed=f"{k}-{i:02d}", box=str(k), first_play=float(i % 7), set_aside=i == 10)
                       for i in range(1, 11)])
    return book


def drawn(book: Logbook, **more: object) -> object:
    return draw_up_standing("rinse", book.frame("reeds"), start=START, seed=11, instrument="clarinet",
                            boxes=book.frame("boxes"), **{"deal": ["1"], **more})


@pytest.fixture
def book(tmp_path: Path) -> Logbook:
    return filled(tmp_path / "a.logbook")


def test_a_box_is_dealt_at_the_start_and_the_next_when_it_is_opened(book: Logbook) -> None:
    draft = drawn(book)
    assert draft.set_aside == ("1-10",)
    book.start_trial(draft.protocol)
    name = draft.protocol.trial
    reeds = reeds_to_deal(book.frame("reeds"), "2", seed=11).reeds
    assert len(reeds) == 9
    plan = book.open_box(name, reeds, date(2026, 4, 1))
    assert plan == book.protocol(name)
    assert len(plan.units) == 18
    assert plan.sha256 == draft.protocol.sha256
    assert book.frame("trials")["protocol_sha256"].tolist() == [plan.sha256]
    assert book.check() == []


def test_a_deal_that_the_plan_did_not_make_is_refused(book: Logbook) -> None:
    book.start_trial(drawn(book).protocol)
    name = book.trial_names()[0]
    with pytest.raises(EntryRefused, match="dealt in another way than planned"):
        book.add_many([Deal(trial=name, number=2, place=i, reed=f"2-{i:02d}", matched_set="2", habit="rinse",
                            date=date(2026, 4, 1)) for i in range(1, 5)])
    with pytest.raises(InputError, match="already"):
        book.open_box(name, ["1-01", "2-01"], date(2026, 4, 1))
    book.add(Retirement(reed="2-05", date=date(2026, 3, 20), reason="damaged"))
    with pytest.raises(EntryRefused, match="2-05"):
        book.open_box(name, [f"2-{i:02d}" for i in range(1, 9)], date(2026, 4, 1))
    with pytest.raises(LogbookError, match="stays in the logbook"):
        book.withdraw("deals", 1)
    book.end_trial(name, date(2026, 5, 1), "enough")
    with pytest.raises(LogbookError, match="was ended on 2026-05-01"):
        book.open_box(name, [f"3-{i:02d}" for i in range(1, 9)], date(2026, 6, 1))
    assert len(book.frame("deals")) == 9


def test_reeds_of_another_running_trial_are_not_dealt_again(book: Logbook) -> None:
    book.start_trial(drawn(book, trial="one").protocol)
    with pytest.raises(EntryRefused, match="serve in no other trial"):
        book.start_trial(drawn(book, trial="two").protocol)
    book.start_trial(drawn(book, trial="two", deal=["2"]).protocol)
    with pytest.raises(EntryRefused, match="serve in no other trial"):
        book.open_box("one", [f"2-{i:02d}" for i in range(1, 9)], date(2026, 6, 1))


def test_out_and_in_again_gives_the_same_bytes(book: Logbook, tmp_path: Path) -> None:
    book.start_trial(drawn(book).protocol)
    book.open_box(book.trial_names()[0], [f"2-{i:02d}" for i in range(1, 9)], date(2026, 4, 1))
    export_folder(book, tmp_path / "out")
    with Logbook.create(tmp_path / "b.logbook") as other:
        import_folder(tmp_path / "out", other)
        assert other.check() == []
        assert other.protocol(book.trial_names()[0]) == book.protocol(book.trial_names()[0])
        export_folder(other, tmp_path / "again")
    for file in sorted((tmp_path / "out").rglob("*.csv")):
        assert file.read_bytes() == (tmp_path / "again" / file.relative_to(tmp_path / "out")).read_bytes()


def test_what_cannot_stand_is_refused(book: Logbook) -> None:
    with pytest.raises(PlanRefused, match="not asked of how long reeds last"):
        drawn(book) and draw_up_standing("position", book.frame("reeds"), start=START, seed=1, instrument="clarinet")
    with pytest.raises(PlanRefused, match="Box 9 has 0 reeds"):
        drawn(book, deal=["9"])
    with pytest.raises(InputError, match="`matters` is 1"):
        drawn(book, matters=1)
