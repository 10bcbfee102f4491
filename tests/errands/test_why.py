"""The page for a class: what the casual comparison and the fair plan tell imagined players."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.errands.why import METHODS, Why, fair_plan, why
from reedlab.errors import InputError
from reedlab.forms.why_page.words import why_html
from reedlab.summary.figures.casual import alike_figure, apart_figure, fortnights_figure
from reedlab.summary.words import casual as words
from reedlab.worlds import World, simulate
from reedlab.worlds.casual import casual_trials
from tests.benchmarks.casual import judge_fairly
from tests.readability import grade


@pytest.fixture(scope="module")
def found() -> Why:
    return why(60, 3)


def test_the_same_draw_gives_the_same_players(found: Why) -> None:
    again = why(60, 3)
    assert (again.alike, again.apart) == (found.alike, found.apart)
    assert np.array_equal(again.ratings, found.ratings, equal_nan=True)  # type: ignore[arg-type]
    assert why(60, 4).alike != found.alike


def test_casual_counts_are_those_of_the_casual_trials(found: Why) -> None:
    tried = casual_trials(World(), 60, 3, reeds=1)
    assert found.alike[0].named == tried.claims()
    assert [t.method for t in found.alike] == [m for m, _ in METHODS]


def test_the_player_shown_was_told_of_a_difference_that_is_not_there(found: Why) -> None:
    tried = casual_trials(World(), 60, 3, reeds=1)
    mine = [i for i in range(60) if np.array_equal(tried.ratings[i], found.ratings, equal_nan=True)]  # type: ignore[arg-type]
    assert len(mine) == 1
    assert tried.p_value[mine[0]] <= 0.05


@pytest.mark.slow
def test_fair_counts_are_those_of_the_analysis_of_a_logbook() -> None:
    seed = int(np.random.SeedSequence([3, 5]).generate_state(1)[0])
    runs = simulate(fair_plan(3), World(effect_points=1.0), 12, seed, fresh_deals=True)
    verdicts = judge_fairly(runs)
    fair = why(12, 3).apart[-1]
    assert (fair.second, fair.first, fair.same) == tuple(
        verdicts.count(v) for v in ("b_better", "a_better", "no_real_difference"))


def test_the_bar_is_told_of_every_player() -> None:
    done: list[int] = []
    why(20, 1, step=done.append)
    assert sum(done) == 2 * len(METHODS) * 20


def test_wrong_numbers_are_all_named_at_once() -> None:
    with pytest.raises(InputError, match=r"(?s)Players.*draw.*difference"):
        why(5, -1, gap=0)


def test_sentences_are_easy_to_read_and_say_the_counts() -> None:
    one = words.one_sentences(6.0, 7.2)
    alike = words.alike_sentences((104, 300), (10, 300), (0.016, 0.06))
    apart = words.apart_sentences((44, 35), (177, 0, 12), 300)
    for said in (one, alike, apart):
        assert grade(" ".join(said)) <= 8
    assert "calls the second way better" in " ".join(one)
    assert "about 35 times in 100" in alike[0]
    assert "1.6 to 6.0" in alike[1]
    assert "the wrong way not once" in apart[1]
    assert "no difference that matters\" about 4 times in 100" in apart[1]


def test_figures_draw_the_numbers_given() -> None:
    y = np.r_[np.full(14, 6.0), np.full(14, 7.5)]
    y[3] = np.nan
    title = fortnights_figure(y).get_suptitle()
    assert "rose from 6.0 to 7.5" in title
    bars = alike_figure([("one reed", 0.35, 0.3, 0.4), ("fair", 0.03, 0.01, 0.05)]).axes[0].patches
    assert [round(b.get_width()) for b in bars] == [35, 3]  # type: ignore[attr-defined]
    parts = apart_figure([("fair", 0.6, 0.05)], 1.0).axes[0].patches
    assert [round(b.get_width()) for b in parts] == [60, 35, 5]  # type: ignore[attr-defined]


def test_the_page_holds_three_figures_under_their_sentences(found: Why) -> None:
    page = why_html(found)
    assert page.count("<h2>") == page.count("<picture>") == 3
    assert "our assumptions" in page
