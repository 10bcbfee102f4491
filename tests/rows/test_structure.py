"""Files with a right seal and a wrong inside: every field at fault is named, and nothing else of the class suffers."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from reedlab.classes.class_plan import PLAN_FORMAT, ClassPlan, _fingerprint, class_plan
from reedlab.classes.hand_in import _seal, read_shared
from reedlab.errands.class_steps import look_through
from reedlab.errors import ExchangeError, ProtocolError, ReedlabError
from reedlab.rows.structure import Many, Maybe, Number, Row, Text, Thing, read_json, unlike
from reedlab.trial.protocol import Protocol
from tests.classes.test_hand_in import PLAN, pupil, share

# What a field may hold instead of what belongs there.
ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 10**400, -10**30, 1e308, float("nan"), float("inf"), "", "x", "\ud800", "a\0b",
    "9" * 5000, [], [[]], {}, {"key": 1}, [None, None], "2026-02-30", "9999-12-31", 2.5)


def places(value: Any, here: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Every place in plain data: of a long list the first two and the last."""
    yield here
    if isinstance(value, dict):
        for k, v in value.items():
            yield from places(v, (*here, k))
    if isinstance(value, list):
        for n in sorted({0, 1, len(value) - 1} & set(range(len(value)))):
            yield from places(value[n], (*here, n))


def spoilt(whole: dict[str, Any], place: tuple[Any, ...], what: Any) -> dict[str, Any]:
    out = copy.deepcopy(whole)
    at: Any = out
    for step in place[:-1]:
        at = at[step]
    if what is LACKING:
        del at[place[-1]]
    else:
        at[place[-1]] = what
    return out


LACKING = object()


def plan_of(content: dict[str, Any]) -> str:
    held = {k: v for k, v in content.items() if k not in ("format", "version", "sha256")}
    try:
        seal = _fingerprint(held)
    except ValueError:
        seal = "0" * 64
    return json.dumps({**content, "sha256": seal})


def shared_of(content: dict[str, Any]) -> dict[str, Any]:
    held = {k: v for k, v in content.items() if k != "sha256"}
    try:
        return {**held, "sha256": _seal(held)}
    except ValueError:
        return {**held, "sha256": ""}


def every(whole: dict[str, Any], chance: random.Random, share_of: float) -> Iterator[tuple[tuple[Any, ...], Any]]:
    for place in places(whole):
        for what in (*ODD, LACKING) if place else ():
            if chance.random() < share_of:
                yield place, what


def test_no_class_plan_with_a_right_seal_gives_anything_but_words() -> None:
    whole = json.loads(PLAN.to_json())
    refused = 0
    for place, what in every(whole, random.Random(1), 0.5):
        try:
            ClassPlan.from_json(plan_of(spoilt(whole, place, what)))
        except ReedlabError:
            refused += 1
    assert refused > 200


def test_no_shared_trial_with_a_right_seal_gives_anything_but_words() -> None:
    whole = share(*pupil(1)[:2], "P01", today=pupil(1)[2])
    refused = 0
    for place, what in every(whole, random.Random(2), 0.1):
        try:
            read_shared(shared_of(spoilt(whole, place, what)))
        except ReedlabError:
            refused += 1
    assert refused > 100


def test_no_frozen_plan_gives_anything_but_words() -> None:
    whole = json.loads(pupil(1)[0].to_json())
    refused = 0
    for place, what in every(whole, random.Random(3), 0.3):
        try:
            Protocol.from_json(json.dumps(spoilt(whole, place, what)))
        except ProtocolError:
            refused += 1
    assert refused > 200


@pytest.mark.parametrize(("change", "place", "said"), [
    ({"days": "ten"}, "days", "the text 'ten'; wanted a whole number from 1 to 1000"),
    ({"days": 10.5}, "days", "the number 10.5; wanted a whole number"),
    ({"matters": 10**400}, "matters", "a very large number"),
    ({"habits": 3}, "habits", "the number 3; wanted a list"),
    ({"scale": [[2, "x"], [3]]}, r"scale\[2\]", "a list of 1; wanted a list of 2"),
    ({"extra": 1}, "extra", "a field that is not known"),
    ({"lasts": "no"}, "lasts", "the text 'no'; wanted true or false"),
    ({"ask": "\ud800"}, "ask", "characters that no text has"),
    ({"ask": "x" * 9000}, "ask", "9000 characters; wanted at most 300"),
])
def test_each_field_at_fault_is_named(change: dict[str, Any], place: str, said: str) -> None:
    with pytest.raises(ExchangeError, match=f"`{place}`: found {said}"):
        ClassPlan.from_json(plan_of({**json.loads(PLAN.to_json()), **change}), "class.json")


@pytest.mark.parametrize("change", [{"design": "day_by_day", "outcome": "life_hours"}, {"question": "none"},
                                    {"minutes_a_day": 0}, {"cap_hours": 0}, {"rating": "where"}])
def test_a_plan_that_nobody_can_play_is_refused(change: dict[str, Any]) -> None:
    with pytest.raises(ExchangeError, match="the file that the teacher made"):
        ClassPlan.from_json(plan_of({**json.loads(PLAN.to_json()), **change}))


def test_one_bad_file_is_named_and_the_rest_of_the_folder_is_read(tmp_path: Path) -> None:
    (tmp_path / "plan.json").write_text(PLAN.to_json())
    (tmp_path / "TWO.JSON").write_text(class_plan("drying").to_json())
    good = share(*pupil(1)[:2], "P01", today=pupil(1)[2])
    (tmp_path / "p01.json").write_text(json.dumps(good))
    whole = json.loads(PLAN.to_json())
    bad: dict[str, Callable[[], str]] = {
        "a.json": lambda: plan_of({**whole, "days": {}}), "b.json": lambda: json.dumps(shared_of({**good, "plan": []})),
        "c.json": lambda: "[" * 100_000, "d.json": lambda: json.dumps({"format": PLAN_FORMAT}),
        "e.json": lambda: plan_of({**whole, "ask": "\ud800"}), "f.json": lambda: "9" * 10_000,
        "g.json": lambda: "{" + '"reedlab class plan": 1}'}
    for name, text in bad.items():
        (tmp_path / name).write_text(text())
    (tmp_path / "h.json").write_bytes(b"\xff\xfe\0")
    shelf = look_through(tmp_path)
    assert [p.name for p, _ in shelf.plans] == ["TWO.JSON", "plan.json"]
    assert [p.name for p, _ in shelf.handed_in] == ["p01.json"]
    assert [name for name, _ in shelf.troubles] == ["a.json", "d.json", "e.json", "g.json"]  # they begin as a plan
    wrong = {a.file: a for a in shelf.arrivals if a.file != "p01.json"}
    assert list(wrong) == ["b.json", "c.json", "f.json", "h.json"]
    assert all(a.wrong and a.tell and not a.counts for a in wrong.values())


def test_numbers_that_are_none_and_texts_that_nest_without_end_are_no_json() -> None:
    for text in ("NaN", "[Infinity]", "1e999", "[" * 100_000, "{", "", "9" * 10_000):
        with pytest.raises(ValueError, match=r"."):
            read_json(text)
    assert read_json('{"a": [1, 2.5, "x"]}') == {"a": [1, 2.5, "x"]}


def test_shapes_say_where_and_what() -> None:
    shape = Thing({"a": Maybe(Number(0, 5)), "b": Many(Row((Text(3), Number(1, 2, whole=True))), 1)}, frozenset({"a"}))
    assert unlike(shape, {"b": [["x", 1]]}) == []
    assert unlike(shape, {"a": None, "b": [["x", 1]]}) == []
    assert [str(f) for f in unlike(shape, {"a": True, "b": [["long", 1], ["x", 3], "y"]})] == [
        "`a`: found true; wanted a number from 0 to 5", "`b[1][1]`: found 4 characters; wanted at most 3",
        "`b[2][2]`: found 3; wanted a whole number from 1 to 2", "`b[3]`: found the text 'y'; wanted a list of 2"]
    assert len(unlike(Many(Text()), [1] * 100)) == 20

