"""What is said of an old diary: never a winner, a range or a chance; plain words; every count in its place."""

from __future__ import annotations

import itertools
import json
import re
import sys
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import pytest

from reedlab.summary.old_diary import DiaryAnswer, diary_answer
from reedlab.summary.words.diary import holds_sentences, left_out_sentences, rests_sentence
from reedlab.trial.outlook import Advice
from reedlab.trial.result import Diary, DiaryWay
from tests.readability import grade

sys.path.insert(0, str(Path(__file__).parent))
import _results as made
from _results import BANNED
from test_forecast import LIFE, option

REASONS = ("in_trials", "other_ways", "unsure", "unrated", "both_ways", "one_way", "switched", "few_ratings",
           "little_played", "in_a_trial")
NO_CHANCE = re.compile(r"shuffling alone|true gap|range made|no better|is better|winner\b(?! could)|at most \d+ time")


def diary(outcome: str, habits: str = "plain", *, apart: bool = False, n: int = 24,
          left_out: tuple[tuple[str, int], ...] = ()) -> Diary:
    plan = replace(made.plan(outcome, habits=habits), how_dealt="not", trial="Old diary")
    first = date(2025, 11, 3)
    later = first + timedelta(days=30 if apart else 3)
    a, b = (h.key for h in plan.habits)
    return Diary(plan, (DiaryWay(a, n, 3, 12, first, first + timedelta(days=20)),
                        DiaryWay(b, 1, 1, 1, later, later)), left_out)


def told(outcome: str, habits: str, *, apart: bool = False, told: bool = True, imagined: bool = False,
         left_out: tuple[tuple[str, int], ...] = ()) -> DiaryAnswer:
    result = made.result(outcome, "hint_only", habits=habits, state="diary")
    mine, weeks = option(outcome=outcome, habits=habits), option("more_weeks", outcome, 0.8, days=56, habits=habits)
    plans = Advice(ask="Which is better?", asked=mine, best=mine, others=(weeks,), nearby=None, life=LIFE,
                   minutes_a_day=45, days_limit=14, reeds_at_hand=10, own_numbers=told)
    return diary_answer(diary(outcome, habits, apart=apart, left_out=left_out), result, plans, imagined=imagined,
                        ratings=80, reeds=8, told=told)


GRID = list(itertools.product(
    ("day_rating", "mean_rating", "wear_rate", "life_hours"), made.HABITS, (True, False)))


@pytest.mark.parametrize(("outcome", "habits", "one"), GRID)
def test_every_diary_is_told_plainly_and_never_with_a_winner_a_range_or_a_chance(
        outcome: str, habits: str, one: bool) -> None:
    found = told(outcome, habits, apart=one, told=one, imagined=one,
                 left_out=tuple((r, 1 if one else 4) for r in REASONS))
    hint = [found.hint.headline, *(t for _, t in found.hint.sections)]
    text = " ".join([*hint, *found.advice])
    assert grade(" ".join(hint)) <= 8, hint
    assert grade(" ".join(found.advice)) <= 8, found.advice
    for pattern in BANNED:
        assert not re.search(pattern, text), (pattern, text)
    assert not NO_CHANCE.search(" ".join(hint)), text
    assert "nan" not in found.to_text()
    for sentence in [*hint, *found.advice]:
        assert re.match(r"[A-Z0-9]", sentence), sentence
        assert sentence.endswith((".", "?")), sentence
        assert not re.search(r"[.?] [a-z]", sentence), sentence


@pytest.mark.parametrize("outcome", ["day_rating", "mean_rating", "wear_rate", "life_hours"])
def test_the_numbers_for_programs_hold_no_range_and_no_chance(outcome: str) -> None:
    found = json.loads(json.dumps(told(outcome, "plain").to_dict(), allow_nan=False))
    assert found["hint"]["verdict"] == "hint_only"
    assert {found["hint"][k] for k in ("low", "high", "low90", "high90", "p_value", "least_p")} == {None}
    assert found["hint"]["second_opinion"] == found["hint"]["readings"] == found["hint"]["also_seen"] == []
    assert found["diary"]["ways"][0]["first"] == "2025-11-03"
    assert found["advice"]["best"]["days"] == 14


def test_the_page_shows_the_one_figure_without_a_range_and_escapes_what_was_typed() -> None:
    result = made.result("mean_rating", "hint_only", state="diary")
    found = told("mean_rating", "plain")
    page = found._repr_html_()
    assert "The plain gap alone" in page
    assert "Chance by shuffling" not in page
    assert "Fingerprint" not in page
    assert page.index("Why is it only a hint?") < page.index("The fair trial that would settle it")
    odd = replace(found, advice=("<script>", *found.advice))
    assert "<li>&lt;script&gt;</li>" in odd._repr_html_()
    assert result.main is not None


def test_one_way_after_the_other_is_said() -> None:
    assert "One way came after the other" in " ".join(holds_sentences(diary("day_rating", apart=True)))
    assert "share a part of the time" in " ".join(holds_sentences(diary("day_rating")))


def test_counts_and_dates_are_those_of_the_diary() -> None:
    first, second, *_ = holds_sentences(diary("day_rating"))
    assert first == ("With a short soak: 24 ratings of 3 reeds, on 12 days from 3 November 2025 to 23 November 2025.")
    assert second == "With a long soak: 1 rating of 1 reed, on 1 day on 6 November 2025."
    assert holds_sentences(diary("life_hours"))[0].startswith("With a short soak: 24 entries of 3 reeds")


@pytest.mark.parametrize("why", REASONS)
def test_each_thing_left_out_is_counted(why: str) -> None:
    one, four = (left_out_sentences(diary("day_rating", left_out=((why, n),)))[0] for n in (1, 4))
    assert one.startswith("Left out: ")
    assert "1" in one or "once" in one
    assert "4" in four


def test_what_the_forecast_rests_on_is_counted() -> None:
    text = rests_sentence(diary("day_rating"), ratings=80, reeds=8, told=True)
    assert "80 ratings of 8 reeds in your logbook" in text
    assert re.search(r"This diary brings 25 ratings of \d+ reeds", text)
    assert "too thin" in rests_sentence(diary("day_rating"), ratings=2, reeds=1, told=False)


def test_a_ratio_with_no_end_on_one_side_is_not_told() -> None:
    result = made.result("life_hours", "hint_only", state="diary")
    assert result.main is not None
    endless = replace(result, main=replace(result.main, estimate=float("inf")))
    mine = option(outcome="life_hours")
    plans = Advice(ask="?", asked=mine, best=mine, others=(), nearby=None, life=LIFE, minutes_a_day=45, days_limit=14,
                   reeds_at_hand=10)
    found = diary_answer(diary("life_hours"), endless, plans, imagined=False, ratings=80, reeds=8, told=True)
    assert found.hint.headline.startswith("Your old diary can't even hint")
