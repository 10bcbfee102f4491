"""A plan dealt by hand becomes a frozen plan like any other."""

from __future__ import annotations

from datetime import date

import pandas as pd
import pytest

from reedlab.errors import ExchangeError
from reedlab.logbook.by_hand import protocol_from_tables
from reedlab.trial.protocol import Protocol, Slot

FIELDS = {
    "trial": "wet", "started": "2026-03-05", "question": "wetting", "ask": "Soak or lick?",
    "instrument": "clarinet", "habit_a": "soak", "habit_a_name": "soaking in water", "habit_b": "lick",
    "habit_b_name": "wetting in the mouth", "design": "day_by_day", "outcome": "day_rating",
    "matters": "1", "days": "4",
}
REEDS = FIELDS | {"design": "reed_by_reed", "outcome": "mean_rating"}


def dealt(*rows: tuple[object, ...]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["block", "reed", "day", "habit"])


def made(fields: dict[str, object], rows: pd.DataFrame) -> Protocol:
    lines = [(int(row.pop("line", n)), row) for n, row in enumerate(rows.to_dict("records"), start=2)]
    return protocol_from_tables(fields, lines, None)


SQUARE = dealt(("s1", "1-02", 1, "soak"), ("s1", "1-01", 1, "lick"),
               ("s1", "1-01", 2, "soak"), ("s1", "1-02", 2, "lick"))


def test_square_becomes_its_two_diagonals() -> None:
    plan = made(FIELDS, SQUARE)
    assert plan.unit_kind == "diagonal"
    assert dict(zip(plan.dealt, (u.cells for u in plan.units), strict=True)) == {
        "soak": (("1-02", 1), ("1-01", 2)), "lick": (("1-01", 1), ("1-02", 2))}
    assert plan.how_dealt == "by hand"
    assert plan.seed is None
    assert plan.slots == (Slot(1, 1, "1-02"), Slot(1, 2, "1-01"), Slot(2, 1, "1-01"), Slot(2, 2, "1-02"))
    assert plan.start == date(2026, 3, 5)


def test_habits_are_sorted_by_key_with_their_own_names() -> None:
    plan = made(FIELDS, SQUARE)
    assert [(h.key, h.name) for h in plan.habits] == [
        ("lick", "wetting in the mouth"), ("soak", "soaking in water")]


def test_unit_names_do_not_depend_on_the_habit() -> None:
    swapped = SQUARE.assign(habit=SQUARE["habit"].map({"soak": "lick", "lick": "soak"}))
    one, two = made(FIELDS, SQUARE), made(FIELDS, swapped)
    assert one.units == two.units
    assert one.dealt == tuple({"soak": "lick", "lick": "soak"}[h] for h in two.dealt)


def test_pairs_of_days_become_single_sittings() -> None:
    plan = made(FIELDS, dealt(
        ("p1", "1-01", 1, "soak"), ("p1", "1-01", 2, "lick"), ("p2", "1-01", 3, "lick"),
        ("p2", "1-01", 4, "soak")))
    assert plan.unit_kind == "sitting"
    assert plan.dealt == ("soak", "lick", "lick", "soak")


def test_reed_by_reed_has_one_unit_a_reed() -> None:
    plan = made(REEDS, dealt(
        ("m1", "1-01", None, "soak"), ("m1", "1-02", "", "lick"), ("m2", "1-03", float("nan"), "lick"),
        ("m2", "1-04", None, "soak")))
    assert [(u.unit, u.block, u.cells) for u in plan.units] == [
        ("1-01", "m1", ()), ("1-02", "m1", ()), ("1-03", "m2", ()), ("1-04", "m2", ())]
    assert plan.dealt == ("soak", "lick", "lick", "soak")


def test_old_diary_says_that_it_was_not_dealt() -> None:
    plan = made(FIELDS | {"how_dealt": "not", "expected": "soak"}, SQUARE)
    assert (plan.how_dealt, plan.expected) == ("not", "soak")


def test_typed_values_give_the_same_plan_as_text() -> None:
    typed = FIELDS | {"started": date(2026, 3, 5), "matters": 1.0, "days": 4}
    assert made(typed, SQUARE).sha256 == made(FIELDS, SQUARE).sha256


@pytest.mark.parametrize(("fields", "rows", "place", "words"), [
    (FIELDS | {"matters": "much"}, SQUARE, ("trials.csv", None, "matters"), "a number"),
    (FIELDS | {"ask": ""}, SQUARE, ("trials.csv", None, "ask"), "empty"),
    (FIELDS | {"expected": "rinse"}, SQUARE, ("trials.csv", None, "expected"), "soak, lick, same"),
    (FIELDS | {"habit_b": "soak"}, SQUARE, ("trials.csv", None, "habit_b"), "another habit"),
    (REEDS, SQUARE, ("dealt.csv", 2, "day"), "keeps its habit"),
    (FIELDS, SQUARE.assign(day=None), ("dealt.csv", 2, "day"), "day of the trial"),
    (FIELDS, SQUARE.assign(day=5), ("dealt.csv", 2, "day"), "1 to 4"),
    (FIELDS, SQUARE.assign(line=[7, 8, 9, 10], habit="rinse"), ("dealt.csv", 7, "habit"), "soak or lick"),
    (FIELDS, SQUARE.iloc[[0, 2]], ("dealt.csv", 2, "block"), "both habits"),
    (FIELDS, SQUARE.iloc[[0, 0, 1]], ("dealt.csv", 3, "reed"), "each once"),
    (FIELDS, SQUARE.iloc[:0], ("trials.csv", None, "trial"), "rows for it in dealt.csv"),
    (FIELDS | {"outcome": "mean_rating"}, SQUARE, ("trials.csv", None, None), "day by day"),
])
def test_fault_of_a_plan_by_hand_is_named(
        fields: dict[str, object], rows: pd.DataFrame, place: tuple[object, ...], words: str) -> None:
    with pytest.raises(ExchangeError) as err:
        made(fields, rows)
    assert any((f.file, f.line, f.column) == place and words in str(f) for f in err.value.faults), str(err.value)
