"""When a standing trial is likely to be settled: the table is what playing it through gives; hours only stretch it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from reedlab.plan.standing_outlook import RATIOS, courses, known_courses, standing_outlook
from reedlab.summary.words.standing import outlook_sentences
from reedlab.worlds import World

from ..readability import grade

WORLD = World()


@pytest.mark.parametrize("ratio", [1.5, 3.0])
def test_the_table_is_what_playing_it_through_gives(ratio: float) -> None:
    """200 trials of 12 boxes with another seed: each share within three standard errors of both."""
    again = courses(2.0, 0.15, 10, ratio, 1.5, trials=200, boxes=12, seed=77)
    known = known_courses()[ratio, 0.0]
    assert again.hours == pytest.approx(known.hours, rel=0.03)
    for now, told in zip(again.right[7::8], known.right[7::8], strict=False):
        p = (200 * now + 2) / 204
        assert abs(now - told) <= 3.3 * (p * (1 - p) / 200) ** 0.5 + 0.01
    assert max(again.wrong) <= 0.03
    assert max(known.wrong) <= 0.01


def test_no_way_is_named_wrongly_more_than_promised_and_shares_only_rise() -> None:
    for (ratio, _), known in known_courses().items():
        assert list(known.right) == sorted(known.right)
        assert max(known.wrong) <= 0.05
        assert known.right[-1] > (0.5 if ratio >= 1.5 else 0.02)


def test_twice_the_minutes_take_half_the_months_and_the_same_boxes() -> None:
    slow = standing_outlook(WORLD, minutes_a_day=60)
    fast = standing_outlook(WORLD, minutes_a_day=120)
    for a, b in zip(slow.rows, fast.rows, strict=True):
        assert (a.half_boxes, a.most_boxes) == (b.half_boxes, b.most_boxes)
        if a.half_months is not None:
            assert a.half_months == pytest.approx(2 * b.half_months)
    assert [r.ratio for r in slow.rows] == list(RATIOS)
    assert fast.right > slow.right
    assert fast.same >= slow.same
    assert standing_outlook(WORLD, minutes_a_day=60) == slow


def test_larger_ratios_are_settled_sooner_and_more_damage_later() -> None:
    seen = standing_outlook(WORLD, minutes_a_day=60)
    half = [r.half_boxes for r in seen.rows if r.half_boxes is not None]
    assert half == sorted(half, reverse=True)
    worse = standing_outlook(replace(WORLD, damage_share=0.5), minutes_a_day=60, months=18)
    assert worse.right < standing_outlook(WORLD, minutes_a_day=60, months=18).right


def test_it_is_told_in_boxes_and_months_in_plain_words() -> None:
    said = outlook_sentences(standing_outlook(WORLD, minutes_a_day=60))
    text = " ".join(said)
    assert "a box lasts about" in text
    assert "half of all trials are settled by box" in text
    assert "80 in 100" in text
    assert grade(text) <= 8
