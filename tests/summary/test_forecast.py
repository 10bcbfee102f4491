"""What is said and drawn before the start: plain words, true to the numbers, nothing cut off."""

from __future__ import annotations

import itertools
import re
import sys
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from reedlab.summary.figures import NARROW, WIDE, forecast_figure
from reedlab.summary.words import forecast as words
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.outlook import Advice, LifeNeeds, Odds, Option, Outlook
from tests.readability import grade

sys.path.insert(0, str(Path(__file__).parent))
import _results as made
from _results import BANNED
from test_figures import inside


def seen(outcome: str = "day_rating", right: float = 0.6, same: float = 0.5, **more: object) -> Outlook:
    """An outlook with these chances; all invented."""
    p = made.plan(outcome, **more)  # type: ignore[arg-type]
    none = 1.0 if OUTCOMES[outcome].scale == "ratio" else 0.0
    steps = (0.0, 0.5, 1.0, 1.5, 2.0)
    gaps = [p.matters**s if none else p.matters * s for s in steps]
    odds = [Odds(gaps[0], 0.02, 0.02, same, 0.96 - same, 400)]
    for s, g in zip(steps[1:], gaps[1:], strict=True):
        b = min(1.0, right * s)
        odds.append(Odds(g, 0.0, b, (1 - b) * 0.1, (1 - b) * 0.9, 400))
    return Outlook(protocol=p, odds=tuple(odds), least_p=0.01, sittings=10.0, hours=8.0, worn_out=1.0)


def option(kind: str = "as_asked", outcome: str = "day_rating", right: float = 0.6, same: float = 0.5,
           days: int = 14, more_reeds: int = 0, habits: str = "plain") -> Option:
    return Option(kind=kind, outlook=seen(outcome, right, same, habits=habits), days=days, reeds=4,
                  more_reeds=more_reeds)


LIFE = LifeNeeds(1.5, 0.8, 60, 120, 1950, 99.0, 320)
NEVER = LifeNeeds(1.02, 0.8, 60, None, None, float("nan"), 320)


def said(asked: Option | None, best: Option | None, *others: Option, nearby: Option | None = None,
         life: LifeNeeds | None = LIFE, refused: str | None = None, own: bool = False) -> str:
    return " ".join(words.advice_sentences(Advice(
        ask="Which is better?", asked=asked, best=best, others=others, nearby=nearby, life=life, minutes_a_day=60,
        days_limit=14, reeds_at_hand=10, refused=refused, own_numbers=own)))


def every_advice() -> list[str]:
    out = []
    for outcome, habits, (right, same) in itertools.product(
            OUTCOMES, made.HABITS, [(0.0, 0.0), (0.03, 0.01), (0.2, 0.1), (0.45, 0.4), (0.6, 0.5), (0.95, 0.99)]):
        mine = option("as_asked", outcome, right, same, habits=habits)
        weeks = option("more_weeks", outcome, min(1, right + 0.2), same, days=56, habits=habits)
        more = option("more_reeds", outcome, right, same, days=30, more_reeds=10, habits=habits)
        other = option("other_outcome", "mean_rating", 0.02, 0.01, habits=habits)
        near = option("other_question", "day_rating", habits=habits)
        able = mine.useful >= 0.5
        out += [said(mine, mine, weeks, more, nearby=None if able else near),
                said(mine, option(), other, weeks, life=NEVER, own=True),
                said(None, None, more, nearby=near, refused="One reed cannot answer. Take more.")]
    return out


def test_every_advice_is_plain_and_free_of_trade_terms_of_statistics() -> None:
    for text in every_advice():
        assert grade(text) <= 8, text
        for pattern in BANNED:
            assert not re.search(pattern, text), (pattern, text)


@pytest.mark.parametrize(("p", "text"), [
    (0.0, "almost never"), (0.004, "almost never"), (0.01, "about 1 time in 100"), (0.61, "about 61 times in 100"),
    (0.99, "almost always"), (1.0, "almost always")])
def test_chances_are_told_as_counts(p: float, text: str) -> None:
    assert words.how_often(p) == text


def test_sentences_carry_the_numbers_of_the_forecast() -> None:
    first, second, third = words.forecast_sentences(seen(right=0.63, same=0.55))
    assert "1 point better" in first
    assert "about 63 times in 100" in first
    assert "about 55 times in 100" in second
    assert "wrong about 4 times in 100" in third  # 2 + 2 where there is no difference


def test_a_plan_that_can_never_name_a_winner_says_so() -> None:
    from dataclasses import replace

    assert "never name a winner" in " ".join(words.forecast_sentences(replace(seen(), least_p=0.0625)))


@pytest.mark.parametrize(("right", "same", "start"), [
    (0.02, 0.01, "you will very likely not learn"), (0.3, 0.2, "you will most likely not learn"),
    (0.5, 0.4, "you may not learn")])
def test_what_cannot_be_learnt_is_said_as_strongly_as_the_chances_are(right: float, same: float,
                                                                      start: str) -> None:
    mine = option("as_asked", "life_hours", right, same)
    assert start in said(mine, mine)
    assert "can learn" not in said(mine, mine)
    assert "none of your plans can be counted on" in said(mine, mine)


def test_asked_of_life_the_advice_says_what_cannot_be_learnt_what_can_and_what_life_needs() -> None:
    text = said(option("as_asked", "life_hours", 0.0, 0.0), option("other_design"))
    cannot, can, life = (text.index(x) for x in (
        "you will very likely not learn whether your reeds last longer",
        "you can learn whether a reed plays better on the day",
        "you need about 120 reeds and 5 years at 60 minutes a day"))
    assert cannot < can < life
    assert "if the difference is a point or more" in text


def test_lives_out_of_reach_are_called_so() -> None:
    assert "out of reach" in words.life_sentence(NEVER)
    assert "320 reeds" in words.life_sentence(NEVER)
    assert "6 months" in words.life_sentence(LifeNeeds(3.0, 0.8, 120, 20, 180, 15.0, 320))


def test_it_says_how_often_the_least_played_plan_was_played() -> None:
    assert "at least 400 times" in said(option(), option(), option("more_weeks", days=28))


def test_other_plans_name_their_cost() -> None:
    text = said(option(), option(), option("more_weeks", right=0.9, same=0.8, days=28),
                option("more_reeds", days=42, more_reeds=10))
    assert "With 4 weeks in place of 2 weeks, it would be useful about 85 times in 100." in text
    assert "With 10 more reeds and 6 weeks" in text


def test_it_says_whose_numbers_the_advice_rests_on() -> None:
    assert "our guesses about reeds, for want of your own numbers" in said(option(), option())
    assert "your own logbook" in said(option(), option(), own=True)


@pytest.mark.parametrize("width", [WIDE, NARROW])
@pytest.mark.parametrize("outcome", OUTCOMES)
def test_the_figure_says_its_sentence_and_cuts_nothing_off(outcome: str, width: float) -> None:
    outlook = seen(outcome)
    fig = forecast_figure(outlook, width=width)
    assert inside(fig) == []
    title = fig.get_suptitle().replace("\n", " ")
    assert title == words.forecast_title(outlook)
    assert forecast_figure(outlook, width=width, titled=False).get_suptitle() == ""


def test_the_curves_are_the_chances_of_the_verdicts_in_times_in_100() -> None:
    outlook = seen(right=0.4, same=0.5)
    ax = forecast_figure(outlook).axes[0]
    lines = {c.get_label(): c.lines[0] for c in ax.containers}  # type: ignore[attr-defined]
    better = lines["names the better way"]
    assert list(better.get_xdata()) == [0.5, 1.0, 1.5, 2.0]  # without one, no way is the better
    assert np.allclose(better.get_ydata(), [20, 40, 60, 80])
    wrong = lines["names the wrong way"]
    assert np.allclose(wrong.get_ydata(), [4, 0, 0, 0, 0])
    assert np.allclose(lines["says \"no difference that matters\""].get_ydata()[0], 50)


def test_curves_differ_by_line_and_marker_and_stand_out_from_white() -> None:
    ax = forecast_figure(seen()).axes[0]
    lines = [c.lines[0] for c in ax.containers]  # type: ignore[attr-defined]
    assert len({str(line.get_linestyle()) for line in lines}) == len(lines) == 4
    assert len({str(line.get_marker()) for line in lines}) == 4
    for line in lines:
        channels = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(line.get_color())]
        light = 0.2126 * channels[0] + 0.7152 * channels[1] + 0.0722 * channels[2]
        assert 1.05 / (light + 0.05) >= 4.5  # WCAG 2.2 asks 3:1 of figures
