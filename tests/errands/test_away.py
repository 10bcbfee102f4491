"""What a page of one file hands back, read into a logbook: once, checked like any entry, all of it or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from reedlab.classes.class_plan import class_plan
from reedlab.errands.away import Unsure, read_away, read_for_pupil, text_of, write_away
from reedlab.errands.class_steps import paper_pupil
from reedlab.errors import ExchangeError, InputError
from reedlab.logbook import Logbook
from reedlab.rows.records import Sitting
from reedlab.screens import Entry, save

from ._away import PLAN, START, begun, handed, opened, sitting

TODAY = START + timedelta(days=2)


def clock() -> datetime:
    return datetime.combine(TODAY, datetime.min.time()).astimezone()


#: what the plan has on its first three days
THREE = [sitting(1, START, "1-03"), sitting(2, START, "1-04"),
         sitting(3, START + timedelta(days=1), "1-01", overall="5.5", remark="a squeak – \"high\""),
         sitting(4, START + timedelta(days=1), "1-02", from_memory="yes"),
         sitting(5, TODAY, "1-03", unsure_reed="yes"), sitting(6, TODAY, "1-04", play_min="12.5")]


@pytest.fixture
def logbook(tmp_path: Path) -> Iterator[Logbook]:
    with opened(begun(tmp_path / "reeds.logbook"), TODAY) as made:
        yield made


def rows(logbook: Logbook, first: date = START) -> list[dict[str, Any]]:
    frame = logbook.frame("sittings")
    frame = frame[frame["date"].dt.date >= first].sort_values(["date", "order"])
    kept = [c for c in frame.columns if c not in ("sitting", "entry_id", "entered_at")]
    return [{k: v for k, v in row.items() if v == v and v is not None} for row in frame[kept].to_dict("records")]


def test_it_stands_in_the_logbook_as_if_typed_in_at_the_desk_each_day(logbook: Logbook, tmp_path: Path) -> None:
    found = read_away(logbook, handed(THREE))
    assert (found.added, found.changed, found.there) == (6, 0, 0)
    desk = begun(tmp_path / "desk.logbook")
    for row in THREE:
        with opened(desk, date.fromisoformat(row["date"])) as there:
            answer = save(there, Entry({k: v for k, v in row.items() if k != "sitting"}))
            assert type(answer).__name__ == "Written", answer
    with opened(desk, TODAY) as there:
        assert rows(logbook) == rows(there)


def test_read_in_twice_counts_once(logbook: Logbook) -> None:
    read_away(logbook, handed(THREE[:4]))
    again = read_away(logbook, handed(THREE[:4]))
    assert (again.added, again.there) == (0, 4)
    more = read_away(logbook, handed(THREE))
    assert (more.added, more.there) == (2, 4)
    assert len(rows(logbook)) == 6


def test_what_was_typed_in_at_the_desk_too_counts_once(logbook: Logbook) -> None:
    logbook.add(Sitting(date=START, reed="1-03", play_min=10, overall=7, habit="open"))
    found = read_away(logbook, handed(THREE))
    assert (found.added, found.there) == (5, 1)


def test_what_was_changed_on_the_page_is_a_correction_and_the_history_shows_both(logbook: Logbook) -> None:
    read_away(logbook, handed(THREE))
    found = read_away(logbook, handed([{**THREE[0], "overall": "4"}, *THREE[1:]]))
    assert (found.added, found.changed, found.there) == (0, 1, 5)
    frame = logbook.frame("sittings")
    (row,) = frame[frame["sitting"] == THREE[0]["sitting"]].to_dict("records")
    assert row["overall"] == 4
    assert list(logbook.history("sittings", row["entry_id"])["overall"]) == [7, 4]


def test_what_was_taken_back_on_the_page_no_longer_counts(logbook: Logbook) -> None:
    read_away(logbook, handed(THREE))
    found = read_away(logbook, handed([{"sitting": THREE[0]["sitting"], "gone": "yes"}, *THREE[1:]]))
    assert found.taken_back == 1
    assert len(rows(logbook)) == 5
    assert read_away(logbook, handed([{"sitting": THREE[0]["sitting"], "gone": "yes"}])).taken_back == 0


def test_what_was_changed_or_taken_back_at_the_desk_stays_so(logbook: Logbook) -> None:
    read_away(logbook, handed(THREE))
    frame = logbook.frame("sittings").set_index("sitting")
    logbook.withdraw("sittings", int(frame.loc[THREE[0]["sitting"], "entry_id"]))
    logbook.correct("sittings", int(frame.loc[THREE[1]["sitting"], "entry_id"]),
                    Sitting(date=START, reed="1-04", play_min=10, overall=3))
    found = read_away(logbook, handed(THREE))
    assert (found.added, found.changed, found.there) == (0, 0, 4)
    assert found.left == ("1-03, 9 March was taken back in the logbook since, and stays so.",
                          "1-04, 9 March was changed in the logbook since, and stays so.")


def test_days_off_air_and_reeds_that_are_done_for_come_along(logbook: Logbook) -> None:
    days = [{"date": START.isoformat(), "humidity_pct": "45", "temp_c": "-1.5", "day_off": "no"},
            {"date": TODAY.isoformat(), "day_off": "yes"}, {"date": "2026-03-10", "day_off": "no"}]
    gone = [{"reed": "1-04", "date": TODAY.isoformat(), "reason": "damaged"}]
    found = read_away(logbook, handed(THREE[:4], days, gone))
    assert found.added == 7
    air = logbook.frame("days").to_dict("records")
    assert (air[0]["humidity_pct"], air[0]["temp_c"], air[0]["day_off"]) == (45.0, -1.5, False)
    assert air[1]["day_off"]
    assert list(logbook.frame("retirements")["reason"]) == ["damaged"]
    assert read_away(logbook, handed(THREE[:4], days[:2], gone)).there == 7
    back = read_away(logbook, handed(THREE[:4], days[:2], [{**gone[0], "reason": ""}]))
    assert back.taken_back == 1
    assert not len(logbook.frame("retirements"))


def test_a_message_around_it_quotes_and_lines_broken_on_the_way_do_no_harm(logbook: Logbook) -> None:
    text = handed([{**THREE[2], "remark": "a long remark with many words in it " * 4 + "end"}])
    broken = "\r\n".join("> " + part for line in text.splitlines() for part in
                         ([line] if len(line) < 70 else line.replace(" many", "\nmany").split("\n")))
    found = read_away(logbook, f"Dear teacher,\n\n{broken}\n\nSee you {{soon")
    assert found.added == 1


@pytest.mark.parametrize(("old", "new"), [('"overall": "7"', '"overall": "9"'), ('"1-03"', '"1-02"'),
                                          ("2026-03-09", "2026-03-08"), (PLAN.sha256[:8], "00000000"),
                                          ('"code": ""', '"code": "P02"'), ('"play_min": "10",\n', "")])
def test_a_changed_one_is_refused(logbook: Logbook, old: str, new: str) -> None:
    text = handed(THREE)
    assert old in text
    with pytest.raises(ExchangeError, match="changed, or cut short"):
        read_away(logbook, text.replace(old, new, 1))
    assert not rows(logbook)


def test_one_that_was_cut_short_and_foreign_ones_are_refused_with_a_sentence(logbook: Logbook) -> None:
    text = handed(THREE)
    with pytest.raises(ExchangeError, match="cut short, on the way"):
        read_away(logbook, text[: len(text) // 2])
    for other in ("", "hello", "{}", '{"format": "reedlab class plan"}', "[1]", "{" * 5000):
        with pytest.raises(ExchangeError, match="no entries from a page"):
            read_away(logbook, other)
    with pytest.raises(ExchangeError, match="another version"):
        read_away(logbook, handed(THREE, version=2))
    with pytest.raises(InputError, match=r"the plan of 'Open or not' with the fingerprint 000000000000"):
        read_away(logbook, handed(THREE, plan="0" * 64))
    with pytest.raises(InputError, match="no text"):
        text_of(b"\xff\xfe\x00", "a.json")


def test_all_faults_are_told_at_once_and_nothing_is_read_in(logbook: Logbook) -> None:
    with pytest.raises(ExchangeError) as bad:
        read_away(logbook, handed([{**THREE[0], "overall": "11"}, {**THREE[1], "play_min": "ten"}, *THREE[2:]]))
    assert [f.column for f in bad.value.faults] == ["overall", "play_min"]
    with pytest.raises(InputError) as worse:
        read_away(logbook, handed([
            {**THREE[0], "reed": "9-09"}, {**THREE[1], "overall": ""}, *THREE[2:4],
            sitting(9, TODAY + timedelta(days=1), "1-03")]))
    told = str(worse.value)
    assert "9-09, 9 March: Reed: found '9-09'; wanted a reed in the list of reeds" in told
    assert "1-04: Overall: it is empty" in told
    assert "a day up to today" in told
    assert not rows(logbook)


def test_odd_entries_are_asked_about_once_and_kept_as_confirmed_after_a_yes(logbook: Logbook) -> None:
    text = handed([{**THREE[0], "play_min": "300"}, *THREE[1:]])
    with pytest.raises(Unsure) as odd:
        read_away(logbook, text)
    assert any("300 minutes" in line for line in odd.value.lines)
    assert not rows(logbook)
    assert read_away(logbook, text, sure=odd.value.token).added == 6
    assert [r["confirmed"] for r in rows(logbook)] == [True, *[False] * 5]


def test_its_page_is_made_over_an_earlier_one_and_over_nothing_else(logbook: Logbook, tmp_path: Path) -> None:
    path = tmp_path / "away.html"
    for _ in range(2):
        write_away(logbook, path, today=TODAY)
    assert "Open or not" in path.read_text(encoding="utf8")
    path.write_text("mine", encoding="utf8")
    with pytest.raises(InputError, match="something else"):
        write_away(logbook, path, today=TODAY)
    with pytest.raises(InputError, match="is over"):
        write_away(logbook, tmp_path / "late.html", today=START + timedelta(days=40))


def test_a_teacher_reads_it_into_the_logbook_kept_for_that_pupil(tmp_path: Path) -> None:
    books = {}
    for n, code in enumerate(("P01", "P02"), start=1):
        made = paper_pupil(tmp_path, code, class_plan("wetting", days=8), instrument="clarinet",
                           first_plays=[6, 5, 7, 6], start=START, today=START, seed=n)
        books[code] = made[0]
    with Logbook.open(books["P02"], read_only=True) as kept:
        plan = kept.protocol("P02")
    slots = [s for s in plan.slots if s.day == 1]
    text = handed([{"sitting": f"away-mmawxmo0-rns4p{s.order:03d}", "date": START.isoformat(), "reed": s.reed,
                    "play_min": "10", "overall": "6"} for s in slots], plan=plan.sha256, code="P02")
    code, found = read_for_pupil(books, text, now=clock)
    assert (code, found.added) == ("P02", len(slots))
    with Logbook.open(books["P01"], read_only=True) as other:
        assert not len(other.frame("sittings"))
    with pytest.raises(InputError, match=r"no logbook kept here has that plan\. Ask the pupil"):
        read_for_pupil({"P01": books["P01"]}, text, now=clock)
