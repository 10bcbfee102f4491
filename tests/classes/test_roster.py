"""A class of eight played through, with three wrong files: each judged when it arrives, the table after each."""

from __future__ import annotations

import importlib.util
import json
import sys
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from reedlab.classes.arrivals import KINDS, Arrival, judge
from reedlab.classes.class_plan import ClassPlan, class_plan
from reedlab.classes.hand_in import share
from reedlab.classes.roster import Roster, RosterFile, roster
from reedlab.errands.class_steps import give_out, look_through, paper_pupil, put_together, take_in
from reedlab.errors import ExchangeError, InputError
from reedlab.logbook.class_files import write_plan_file
from tests.readability import grade

_spec = importlib.util.spec_from_file_location("class_pupils", Path(__file__).with_name("test_hand_in.py"))
assert _spec is not None
assert _spec.loader is not None
pupils = importlib.util.module_from_spec(_spec)
sys.modules["class_pupils"] = pupils
_spec.loader.exec_module(pupils)
PLAN: ClassPlan = pupils.PLAN
TODAY = date(2026, 4, 1)


@cache
def content(code: str, seed: int, plan: ClassPlan = PLAN, **more: Any) -> dict[str, Any]:
    own, frames, today = pupils.pupil(seed, plan=plan, **more)
    return dict(share(own, frames, code, today=today))


def sent(code: str, seed: int, plan: ClassPlan = PLAN) -> bytes:
    return json.dumps(content(code, seed, plan)).encode()


def without_ratings(code: str, seed: int) -> bytes:
    own, frames, today = pupils.pupil(seed)
    rows = frames.sittings.assign(overall=float("nan"))
    return json.dumps(share(own, replace(frames, sittings=rows), code, today=today)).encode()


def one_way_only(code: str, seed: int) -> bytes:
    """Ratings of one way alone: no swap holds both."""
    own, frames, today = pupils.pupil(seed)
    rows = frames.sittings[frames.sittings["habit"] == own.habits[0].key].reset_index(drop=True)
    return json.dumps(share(own, replace(frames, sittings=rows), code, today=today)).encode()


GOOD = [(f"P{n:02d}", n) for n in range(1, 9)]


@pytest.mark.parametrize(("name", "made", "kind"), [
    ("a.json", lambda: sent("P01", 1), ""),
    ("photo.jpg", lambda: b"\xff\xd8\xff", "broken"), ("cut.json", lambda: sent("P01", 1)[:500], "broken"),
    ("nothing.json", lambda: b"", "broken"), ("other.json", lambda: b'{"format": "else"}', "broken"),
    ("a.json", lambda: json.dumps({**content("P01", 1), "code": "P09"}).encode(), "altered"),
    ("a.json", lambda: without_ratings("P01", 1), "empty"), ("a.json", lambda: one_way_only("P01", 1), "too_little"),
    ("a.json", lambda: sent("P01", 1, class_plan("position", days=10)), "other_question"),
    ("a.json", lambda: sent("P01", 1, class_plan("wetting", days=10, matters=2.0)), "other_plan"),
])
def test_a_file_is_judged_by_itself_with_a_sentence_for_the_pupil(name: str, made: Any, kind: str) -> None:
    found = judge(name, made(), [PLAN])
    assert found.kind == kind
    assert (found.tell == "") == (kind == "")
    assert found.counts == (kind == "")
    if kind:
        assert KINDS[kind] in found.wrong
        assert "{" not in found.tell
        assert grade(found.tell.replace(PLAN.ask, "")) <= 8


def test_a_file_is_judged_against_those_before_it() -> None:
    first = judge("a.json", sent("P01", 1), [PLAN])
    again = judge("b.json", sent("P01", 1), [PLAN], [first])
    assert (again.kind, again.more) == ("doubled", "a.json")
    twin = judge("c.json", sent("P02", 1), [PLAN], [first])
    assert (twin.kind, twin.code) == ("doubled", "P02")
    assert "P01 and as P02" in twin.tell
    second = judge("d.json", sent("P01", 2), [PLAN], [first])
    assert (second.kind, second.more) == ("twice", "a.json counts")
    bad = judge("e.json", without_ratings("P03", 3), [PLAN])
    assert judge("f.json", sent("P03", 3), [PLAN], [bad]).counts  # a better one may follow a wrong one
    for found in (again, twin, second):
        assert found.tell
        assert grade(found.tell) <= 8


def test_a_class_of_eight_with_three_wrong_files_the_table_after_each(tmp_path: Path) -> None:
    write_plan_file(tmp_path / "plan.json", PLAN)
    assert give_out(tmp_path, 8, TODAY) == [code for code, _ in GOOD]
    wrong = {"P03": sent("P03", 3, class_plan("position", days=10)), "P05": without_ratings("P05", 5),
             "P07": json.dumps({**content("P07", 7), "read_on": 40}).encode()}
    said = []
    for code, seed in GOOD:
        (came,) = take_in(tmp_path, [("my trial.json", wrong.get(code) or sent(code, seed))])
        assert came.counts == (code not in wrong)
        shelf = look_through(tmp_path)
        assert len(shelf.arrivals) == int(code[1:])  # nothing that was sent is lost, though all have one name
        found = shelf.roster(TODAY)
        assert len(found.pupils) == 8
        row = next(p for p in found.pupils if p.code == code)
        assert row.counts == (code not in wrong)
        assert (row.handed_out, row.days) == (TODAY, None if code == "P07" else 10)
        said.append(found.headline)
    assert said[0] == "1 of 8 pupils can be compared. P02, P03, P04, P05, P06, P07 and P08 have handed in nothing yet."
    assert said[2] == ("2 of 8 pupils can be compared. Something is wrong with P03. P04, P05, P06, P07 and P08 have "
                       "handed in nothing yet.")
    assert said[-1] == "5 of 8 pupils can be compared. Something is wrong with P03, P05 and P07."
    shelf = look_through(tmp_path)
    kinds = {a.code: a.kind for a in shelf.arrivals if a.kind}
    assert kinds == {"P03": "other_question", "P05": "empty", "P07": "altered"}
    answer = put_together([s for _, s in shelf.handed_in], PLAN, pupils=8)
    assert [p.label for p in answer.together.parts] == ["P01", "P02", "P04", "P06", "P08"]
    assert "5 of 8 trials" in answer.headline

    # a ninth pupil with nothing changes how many are told of, and not the answer
    give_out(tmp_path, 1, TODAY)
    found = look_through(tmp_path).roster(TODAY)
    assert found.headline.startswith("5 of 9 pupils can be compared.")
    assert "P09 has handed in nothing yet" in found.headline
    nine = put_together([s for _, s in look_through(tmp_path).handed_in], PLAN, pupils=9)
    assert "5 of 9 trials" in nine.headline
    assert nine.together.main == answer.together.main
    # and one whose ratings are of one way alone counts for nothing but is told
    (came,) = take_in(tmp_path, [("late.json", one_way_only("P09", 9))])
    assert came.kind == "too_little"


@pytest.mark.parametrize("code", ["Anna", "<b>P01</b>", "p01", "P01 ", 7, None, "P" * 10_000])
def test_a_changed_file_under_no_code_of_ours_makes_no_pupil(code: Any) -> None:
    found = judge("a.json", json.dumps({**content("P01", 1), "code": code}).encode(), [PLAN])
    assert (found.kind, found.code) == ("altered", None)
    seen = roster({"P01": TODAY}, {}, [found], TODAY)
    assert [p.code for p in seen.pupils] == ["P01"]
    assert seen.strays == (found,)


def test_the_headline_counts_only_those_who_could_be_compared() -> None:
    from reedlab.classes.hand_in import read_shared

    shared = [read_shared(json.loads(sent(c, s))) for c, s in GOOD[:2]]
    shared.append(read_shared(json.loads(one_way_only("P09", 9))))
    assert "2 of 3 trials" in put_together(shared, PLAN).headline
    assert "2 trials" in put_together(shared[:2], PLAN).headline


def test_a_pupil_on_paper_shows_how_far_the_trial_is(tmp_path: Path) -> None:
    write_plan_file(tmp_path / "plan.json", PLAN)
    paper_pupil(tmp_path, "P01", PLAN, instrument="clarinet", first_plays=[6, 5, 7, 4], start=TODAY, today=TODAY,
                seed=1)
    (row,) = look_through(tmp_path).roster(TODAY + timedelta(days=3)).pupils
    assert (row.code, row.dealt, row.day, row.days, row.rated) == ("P01", TODAY, 3, 10, 0)
    assert row.planned
    assert not row.arrivals


def test_the_roster_keeps_codes_and_the_order_of_arrival_and_names_what_is_spoilt(tmp_path: Path) -> None:
    kept = RosterFile().with_pupils(["P01", "P02"], TODAY).with_files(["b.json", "a.json"])
    assert RosterFile.from_json(kept.to_json()) == kept
    assert kept.with_pupils(["P01"], TODAY + timedelta(days=5)).handed_out["P01"] == TODAY
    for text in ("", "[]", kept.to_json().replace("P01", "Anna"), kept.to_json().replace("2026-04-01", "2026-04-99")):
        with pytest.raises(ExchangeError, match="roster"):
            RosterFile.from_json(text)
    (tmp_path / "roster.json").write_text("{")
    assert look_through(tmp_path).troubles[0][0] == "roster.json"


def test_the_same_file_twice_is_kept_once_and_a_spoilt_plan_is_refused_with_nothing_kept(tmp_path: Path) -> None:
    one = ("a.json", sent("P01", 1))
    assert [a.kind for a in take_in(tmp_path, [one, one])] == ["", "doubled"]
    assert [a.file for a in look_through(tmp_path).arrivals] == ["a.json"]
    plan = PLAN.to_json().replace('"days": 10', '"days": 11')
    with pytest.raises(ExchangeError, match="changed after"):
        take_in(tmp_path, [("b.json", sent("P02", 2)), ("plan.json", plan.encode())])
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.json", "roster.json"]
    assert take_in(tmp_path, [("plan.json", PLAN.to_json().encode())]) == []
    assert [p for _, p in look_through(tmp_path).plans] == [PLAN]


def test_an_empty_class_and_files_without_a_code() -> None:
    assert roster({}, {}, [], TODAY).headline == "No pupil yet."
    stray = judge("photo.jpg", b"\xff", [PLAN])
    assert roster({}, {}, [stray], TODAY) == Roster((), (stray,))
    assert isinstance(stray, Arrival)


@pytest.mark.parametrize("more", [{"minutes_a_day": 60}, {"minutes_a_day": 60.0}, {"matters": 1}, {"days": 10}])
def test_one_plan_has_one_fingerprint_however_its_numbers_were_typed(more: dict[str, Any]) -> None:
    made = class_plan("wetting", **{"days": 10, "matters": 1.0, **more})
    assert made.sha256 == PLAN.sha256
    assert ClassPlan.from_json(made.to_json()) == PLAN
    assert ClassPlan.from_json(made.to_json().replace("60.0", "60")) == PLAN


def test_a_plan_made_before_numbers_were_one_is_still_read() -> None:
    """Its fingerprint was taken over 60 where it is 60.0 now."""
    import hashlib

    raw = json.loads(PLAN.to_json())
    held = {k: v for k, v in raw.items() if k not in ("format", "version", "sha256")} | {"minutes_a_day": 60}
    text = json.dumps(held, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    old = {**raw, "minutes_a_day": 60, "sha256": hashlib.sha256(text.encode()).hexdigest()}
    assert old["sha256"] != PLAN.sha256
    assert ClassPlan.from_json(json.dumps(old)) == PLAN
    with pytest.raises(ExchangeError, match="changed"):
        ClassPlan.from_json(json.dumps({**old, "minutes_a_day": 61}))


def test_files_of_one_name_are_told_apart(tmp_path: Path) -> None:
    for n in range(1, 5):
        take_in(tmp_path, [("x.json", sent(f"P{n:02d}", n))])
    assert [a.file for a in look_through(tmp_path).arrivals] == ["x.json", "x (2).json", "x (3).json", "x (4).json"]


def test_a_file_that_cannot_be_written_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError):
        take_in(tmp_path / "file", [("a.json", sent("P01", 1))])
