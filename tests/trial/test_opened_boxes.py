"""The boxes of a standing trial are dealt from the frozen plan alone."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from datetime import date

import numpy as np
import pytest

from reedlab.errors import InputError, ProtocolError
from reedlab.trial.calendar import calendar_with
from reedlab.trial.dealing import all_arrangements, deal_box
from reedlab.trial.opened_boxes import boxes_opened, deal_rows, dealt_otherwise, opening, with_boxes
from reedlab.trial.protocol import Habit, Protocol

PLAN = Protocol(
    trial="rinse", question="rinse", ask="Which lasts?", instrument="clarinet",
    habits=(Habit("rinse", "rinsing"), Habit("wipe", "wiping only")), design="reed_by_reed", outcome="life_hours",
    matters=1.5, start=date(2026, 1, 1), days=3660, units=(), dealt=(), seed=5, standing="box",
    worn_out_rule="player")


def a_box(box: int, reeds: int = 10) -> list[str]:
    return [f"{box}-{i:02d}" for i in range(1, reeds + 1)]


def test_the_fingerprint_is_that_of_the_plan_without_boxes() -> None:
    one = with_boxes(PLAN, opening(PLAN, a_box(1), date(2026, 1, 2)))
    two = with_boxes(PLAN, [*deal_rows(one), *opening(one, a_box(7, 7), date(2026, 5, 2))])
    assert PLAN.sha256 == one.sha256 == two.sha256
    assert Protocol.from_json(two.to_json()) == PLAN
    assert boxes_opened(two) == 2
    assert two.served_since["7-03"] == date(2026, 5, 2)
    assert with_boxes(PLAN, deal_rows(two)) == two


def test_a_plan_that_deals_all_at_the_start_has_the_text_it_always_had() -> None:
    text = replace(PLAN, standing="", how_dealt="by hand").to_json()
    assert "standing" not in text
    assert "since" not in text


def test_half_of_a_box_goes_to_each_way_and_odd_reeds_take_turns() -> None:
    for number, b in ((1, 3), (2, 4)):
        sets, is_b = deal_box(7, "box", seed=3, number=number)
        assert set(sets) == {str(number)}
        assert is_b.sum() == b


@pytest.mark.parametrize(("reeds", "sizes"), [(10, [4, 6]), (8, [4, 4]), (5, [5]), (3, [3]), (11, [4, 7])])
def test_fours_are_of_neighbours_by_first_play(reeds: int, sizes: list[int]) -> None:
    sets, is_b = deal_box(reeds, "fours", seed=1, number=2)
    assert list(sets) == sorted(sets)
    assert list(Counter(sets).values()) == sizes
    for label, n in Counter(sets).items():
        assert is_b[np.array(sets) == label].sum() in (n // 2, n - n // 2)


def test_every_allowed_deal_of_a_box_is_equally_likely() -> None:
    """Over seeds each of the six ways to deal four reeds comes up alike (chi-squared, 5 degrees of freedom)."""
    found = Counter(tuple(deal_box(4, "box", seed=s, number=3)[1]) for s in range(3000))
    assert len(found) == 6
    assert sum((n - 500) ** 2 / 500 for n in found.values()) < 20.5  # 0.001 upper point


def test_what_the_analysis_reshuffles_is_what_the_boxes_could_have_been_dealt() -> None:
    plan = with_boxes(PLAN, [r for k in (1, 2) for r in opening(PLAN, a_box(k, 4), date(2026, 1, 2), number=k)])
    every = {tuple(row) for part in all_arrangements(plan.layout) for row in part}
    could = {tuple(np.concatenate([deal_box(4, "box", seed=s, number=k)[1] for k in (1, 2)])) for s in range(400)}
    assert could == every


def test_a_box_dealt_in_another_way_is_seen() -> None:
    rows = opening(PLAN, a_box(1), date(2026, 1, 2))
    assert dealt_otherwise(PLAN, rows) == []
    a, b = (next(i for i, r in enumerate(rows) if r["habit"] == k) for k in ("rinse", "wipe"))
    swapped = [dict(r) for r in rows]
    swapped[a]["habit"], swapped[b]["habit"] = "wipe", "rinse"
    assert dealt_otherwise(PLAN, swapped) == sorted([a, b])
    assert dealt_otherwise(PLAN, rows[:-1])


def test_a_box_is_refused_in_words() -> None:
    one = with_boxes(PLAN, opening(PLAN, a_box(1), date(2026, 1, 2)))
    with pytest.raises(InputError, match="Dealt in 'rinse' already: 1-03"):
        opening(one, ["1-03", "2-01"], date(2026, 3, 1))
    with pytest.raises(InputError, match="begins on 2026-01-01"):
        opening(PLAN, a_box(1), date(2025, 12, 1))
    with pytest.raises(InputError, match="at least two"):
        opening(PLAN, ["1-01"], date(2026, 1, 1))
    with pytest.raises(InputError, match="all its reeds were dealt at the start"):
        opening(replace(PLAN, standing=""), a_box(1), date(2026, 1, 2))
    with pytest.raises(ProtocolError, match="about lives"):
        replace(PLAN, outcome="mean_rating")


def test_it_has_no_last_day_until_it_is_ended() -> None:
    assert not calendar_with(PLAN).over(date(2031, 1, 1))
    assert calendar_with(PLAN, (), date(2026, 6, 1)).over(date(2026, 6, 1))
