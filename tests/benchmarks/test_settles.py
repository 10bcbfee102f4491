"""What settles a question, and when: the words of the two-week table are what the forecasts say today."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

from reedlab.plan.standing_outlook import standing_outlook
from reedlab.worlds import World

from .settles import lives_settled, longer_words, what_settles

_ROOT = Path(__file__).parents[2]


def plain(name: str) -> str:
    return " ".join((_ROOT / name).read_text(encoding="utf8").split())


@pytest.mark.parametrize(("question", "outcome"), [("drying", "life_hours"), ("rotation", "life_hours"),
                                                   ("position", "day_rating"), ("wetting", "day_rating"),
                                                   ("ligature", "preference"), ("cut_or_strength", "day_rating")])
def test_the_table_says_what_the_forecast_says(question: str, outcome: str) -> None:
    said = what_settles(question, outcome, World())
    assert f"| {said} |" in plain("DEVELOPERS.md")


def test_mean_ratings_need_many_reeds_and_fading_is_not_found_with_a_hundred() -> None:
    """With few trials of each plan, so roughly."""
    said = what_settles("break_in", "mean_rating", World(), trials=50)
    reeds, days, twice = map(int, re.findall(r"(\d+) reeds over (\d+) days; twice that: (\d+)", said)[0])
    assert 40 <= reeds <= 90
    assert 60 <= days <= 150
    assert twice < reeds / 2
    assert re.fullmatch(r"found: in \d+ of 100 with 100 reeds; twice that: in \d+ of 100 with 100 reeds",
                        what_settles("rotation", "wear_rate", World(), trials=50))


def test_lives_are_told_for_the_hours_that_are_played() -> None:
    one, two = (lives_settled(World(minutes_a_day=m), 1.5) for m in (60, 120))
    years = [[float(y) for y in re.findall(r"\((\S+) years\)", said)] for said in (one, two)]
    assert years[0] == pytest.approx([2 * y for y in years[1]], abs=0.11)
    assert [re.findall(r"box (\d+)", said) for said in (one, two)] == [["8", "13", "3", "5"]] * 2


def test_the_readme_tells_the_same_in_short() -> None:
    readme = plain("README.md")
    seen = standing_outlook(World(), minutes_a_day=60)
    half, twice = seen.rows[1], seen.rows[2]
    assert (half.ratio, twice.ratio) == (1.5, 2.0)
    for life, row in (("a life 1.5 times as long", half), ("twice as long", twice)):
        assert row.half_boxes is not None
        assert row.half_months is not None
        assert f"{life}: box {math.ceil(row.half_boxes)}, about {row.half_months / 12:.0f} years" in readme


def test_a_length_that_is_enough_is_the_first_and_else_the_best_is_told() -> None:
    assert longer_words([(14, 0.5, 0.7), (28, 0.81, 0.6), (56, 0.9, 0.75)]) == (
        "the better way: 28 days (81 in 100); no difference: 56 days (75 in 100, longer adds none)")
