"""Rounding, counts and chances as a player reads them."""

from __future__ import annotations

import pytest

from reedlab.summary import numbers


@pytest.mark.parametrize(("x", "lines", "said"), [
    (1.24, (), "1.2"), (1.0, (), "1"), (0.04, (0,), "0.05"), (0.02, (0,), "0.02"), (0.48, (0.5,), "0.48"),
    (0.52, (0.5,), "0.52"), (0.5, (0.5,), "0.5"), (-0.04, (), "0"), (0.25, (), "0.3"),
    (-0.25, (), "-0.3"), (1.49, (1.5,), "1.49"),
])
def test_rounding_never_crosses_a_line(x: float, lines: tuple[float, ...], said: str) -> None:
    assert numbers.rounded(x, 0.1, lines) == said


@pytest.mark.parametrize(("p", "said"), [
    (0.0004, "at most 1 time in 1,000"), (0.001, "at most 1 time in 1,000"), (0.0011, "fewer than 1 time in 100"),
    (0.0099, "fewer than 1 time in 100"), (0.01, "about 1 time in 100"), (0.033, "about 3 times in 100"),
    (0.0476, "just under 5 times in 100"), (0.05, "about 5 times in 100"), (0.0527, "just over 5 times in 100"),
    (0.41, "about 41 times in 100"), (0.993, "about 99 times in 100"), (0.998, "nearly every time"),
    (1.0, "every time"),
])
def test_a_chance_is_a_count_out_of_a_hundred(p: float, said: str) -> None:
    assert numbers.chance(p) == said


@pytest.mark.parametrize(("text", "said"), [("0.5", "half a point"), ("1", "1 point"), ("0.3", "0.3 points")])
def test_points_are_said_as_people_say_them(text: str, said: str) -> None:
    assert numbers.points(text) == said


@pytest.mark.parametrize(("h", "said"), [
    (0.0, "no playing"), (0.1, "a few minutes of playing"), (0.5, "half an hour of playing"), (1.0, "1 playing hour"),
    (2.5, "2.5 playing hours"), (12.5, "13 playing hours"), (21.4, "21 playing hours"),
])
def test_hours_are_rounded_to_what_a_player_notes(h: float, said: str) -> None:
    assert numbers.hours(h) == said


@pytest.mark.parametrize(("ratio", "said"), [
    (2.0, "twice"), (1.83, "1.8 times"), (5.2, "5 times"), (11.4, "11 times"),
])
def test_ratios_are_times(ratio: float, said: str) -> None:
    assert numbers.times(ratio) == said


def test_counts_shares_and_weeks() -> None:
    assert numbers.count(1, "reed") == "1 reed"
    assert numbers.count(0, "reed") == "no reeds"
    assert numbers.count(2, "day of play") == "2 days of play"
    assert numbers.share(0.123) == "12 in 100"
    assert numbers.share(0.003) == "fewer than 1 in 100"
    assert numbers.share(0.997) == "more than 99 in 100"
    assert numbers.weeks(9.2) == "9 weeks"
    assert numbers.weeks(160) == "3 years"
    assert numbers.times_over(1) == "once"


@pytest.mark.parametrize(("low", "high", "step"), [(0.3, 2.1, 0.1), (-4, 3, 0.5), (0.01, 0.11, 0.01)])
def test_a_wide_range_is_told_coarsely_and_a_narrow_one_finely(low: float, high: float, step: float) -> None:
    assert numbers.step_for(low, high) == step


def test_a_size_too_small_to_round_is_not_called_nothing() -> None:
    assert numbers.size(1e-9, lines=(0,)) == "almost 0 points"
    assert numbers.size(0.0) == "0 points"


@pytest.mark.parametrize(("level", "said"), [
    (0.95, ("95", "100")), (0.953, ("953", "1,000")), (0.949, ("949", "1,000")), (0.97, ("97", "100")),
    (0.999, ("999", "1,000")),
])
def test_a_level_is_a_count(level: float, said: tuple[str, str]) -> None:
    assert numbers.out_of(level) == said
