"""Every figure draws for every case, says its sentence as the title, and cuts nothing off."""

from __future__ import annotations

import itertools
import math
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pandas as pd
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from reedlab.errors import InputError, SealedError
from reedlab.summary import answer
from reedlab.summary import figures as drawn
from reedlab.summary.figures._style import COLOUR, INK, SOFT, TEXT_COLOUR
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.result import StandingOdds, TrialResult
from reedlab.wording import date_month

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

Draw = Callable[..., Figure]
RATING = (drawn.gap_figure, drawn.joined_figure, drawn.ratings_figure)
LIFE = (drawn.gap_figure, drawn.lives_figure, drawn.ratings_figure, drawn.curves_figure)


def figures_of(outcome: str) -> tuple[Draw, ...]:
    if OUTCOMES[outcome].pairs:
        return tuple(d for d in RATING if d is not drawn.joined_figure)
    return LIFE if OUTCOMES[outcome].scale == "ratio" else RATING


def inside(fig: Figure) -> list[str]:
    """Return the texts that stick out of the figure, or are smaller than 9 points."""
    fig.canvas.draw()
    width, height = fig.canvas.get_width_height()
    wrong = []
    drawn_ticks: set[Text] = set()
    all_ticks: set[Text] = set()
    for ax in fig.axes:
        for axis in (ax.xaxis, ax.yaxis):
            all_ticks |= {label for tick in axis.get_major_ticks() for label in (tick.label1, tick.label2)}
            # The ticks within the view: those outside are kept by Matplotlib but never drawn.
            drawn_ticks |= {t.label1 for t in axis._update_ticks()}  # type: ignore[attr-defined]
    for t in fig.findobj(Text):
        if not t.get_visible() or not t.get_text().strip() or t in all_ticks - drawn_ticks:
            continue
        if t.get_fontsize() < 9:
            wrong.append(f"small: {t.get_text()}")
        box = t.get_window_extent()
        if t.axes is not None and not t.axes.get_visible():
            continue
        if box.x0 < -1 or box.y0 < -1 or box.x1 > width + 1 or box.y1 > height + 1:
            wrong.append(f"cut off: {t.get_text()!r} {box.x0:.0f},{box.y0:.0f},{box.x1:.0f},{box.y1:.0f}")
    return wrong


@pytest.mark.parametrize("width", [drawn.WIDE, drawn.NARROW])
@pytest.mark.parametrize(("outcome", "habits"), [
    ("day_rating", "long"), ("mean_rating", "plain"), ("wear_rate", "trade"), ("life_hours", "long"),
    ("good_hours", "plain"),
])
def test_nothing_is_cut_off_or_small(outcome: str, habits: str, width: float) -> None:
    r = made.result(outcome, "b_better", habits=habits, plan_more={"sets": 3})
    for draw in figures_of(outcome):
        fig = draw(r, width=width)
        assert not inside(fig), draw.__name__
        assert fig.get_suptitle().strip().endswith(".")


@pytest.mark.parametrize("verdict", made.VERDICTS)
@pytest.mark.parametrize("outcome", OUTCOMES)
def test_the_gap_is_titled_with_the_sentence_that_reads_it(outcome: str, verdict: str) -> None:
    r = made.result(outcome, verdict)
    fig = drawn.gap_figure(r)
    assert " ".join(fig.get_suptitle().split()) == answer(r).picture
    assert not inside(fig)
    assert drawn.gap_figure(r, titled=False).get_suptitle() == ""


OPEN = {
    "no-upper-end": {"high": math.inf}, "no-lower-end": {"low": -math.inf},
    "no-ends": {"low": -math.inf, "high": math.inf},
    "no-estimate": {"estimate": math.nan, "low": -math.inf, "high": math.inf},
    "huge": {"estimate": 60.0, "high": 90.0},
}


@pytest.mark.parametrize("name", OPEN)
@pytest.mark.parametrize("outcome", ["mean_rating", "wear_rate", "life_hours"])
def test_ranges_without_end_are_drawn(outcome: str, name: str) -> None:
    ends = dict(OPEN[name])
    if outcome == "life_hours":
        ends = {k: 0.0 if v == -math.inf else v for k, v in ends.items()}
    assert not inside(drawn.gap_figure(made.result(outcome, "cannot_tell", **ends), width=drawn.NARROW))


@pytest.mark.parametrize("ratio", [0.0, math.inf])
def test_a_life_ratio_without_crossing_is_drawn(ratio: float) -> None:
    low, high = (0.0, 0.7) if ratio == 0 else (1.4, math.inf)
    verdict = "a_better" if ratio == 0 else "b_better"
    assert not inside(drawn.gap_figure(made.result("life_hours", verdict, estimate=ratio, low=low, high=high)))


def first_of_each(r: TrialResult) -> TrialResult:
    assert r.units is not None
    assert r.points is not None
    units = r.units.groupby("arm").head(1)
    return replace(r, units=units, points=r.points[r.points["unit"].isin(units["unit"])])


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_one_reed_or_day_of_each_is_enough_to_draw(outcome: str) -> None:
    r = first_of_each(made.result(outcome, "cannot_tell"))
    for draw in figures_of(outcome):
        assert not inside(draw(r, width=drawn.NARROW))


@pytest.mark.parametrize("outcome", ["mean_rating", "life_hours"])
def test_all_values_alike_or_missing_are_drawn(outcome: str) -> None:
    r = made.result(outcome, "cannot_tell", plan_more={"sets": 3})
    assert r.units is not None
    alike = replace(r, units=r.units.assign(value=7.0, hours=5.0, worn_out=False, ended="still_going"))
    lost = replace(r, units=r.units.assign(value=np.where(r.units["arm"] == "A", np.nan, 7.0)))
    for one in (alike, lost):
        for draw in figures_of(outcome):
            draw(one).canvas.draw()


def test_unequal_matched_sets_show_their_single_reeds() -> None:
    """Sets of four: the filled points are the means, the open ones the reeds."""
    r = made.result("mean_rating", "b_better")
    assert r.units is not None
    fig = drawn.joined_figure(replace(r, units=r.units.assign(block=["m1"] * 6 + ["m2"] * 8)))
    assert "mean of the set" in "".join(t.get_text() for t in fig.findobj(Text))


def test_the_joined_title_counts_the_sets() -> None:
    r = made.result("mean_rating", "b_better")
    assert r.units is not None
    value = np.where(r.units["arm"] == "B", 7.0, 6.0)
    value[:2] = [9.0, 3.0]
    title = drawn.joined_figure(replace(r, units=r.units.assign(value=value))).get_suptitle()
    assert " ".join(title.split()) == "In 6 of 7 matched sets, ratings were higher with a long soak."


def test_a_set_that_leans_to_neither_is_dotted() -> None:
    r = made.result("mean_rating", "cannot_tell", plan_more={"sets": 3})
    assert r.units is not None
    fig = drawn.joined_figure(replace(r, units=r.units.assign(value=[6.0, 6.0, 7.0, 6.0, 6.0, 7.0])))
    styles = [line.get_linestyle() for line in fig.axes[0].lines if len(line.get_xdata()) == 2]
    assert styles == [":", "--", "-"]
    assert "both alike" in [t.get_text() for t in fig.findobj(Text)]


def test_the_lives_title_counts_the_worn_out() -> None:
    r = made.result("life_hours", "b_better")
    assert r.units is not None
    n = r.units.groupby("arm")["worn_out"].sum()
    title = " ".join(drawn.lives_figure(r).get_suptitle().split())
    assert title == f"With a short soak, {n['A']} of 7 reeds wore out; with a long soak, {n['B']} of 7."


def test_seventy_lives_stand_on_one_page_and_are_told_apart() -> None:
    r = made.result("life_hours", "b_better")
    assert r.units is not None
    many = pd.concat([r.units.assign(unit=[f"{k}-{i:02d}" for i in range(len(r.units))]) for k in range(5)])
    fig, few = drawn.lives_figure(replace(r, units=many)), drawn.lives_figure(r)
    assert len(many) == 70
    fig.canvas.draw()
    assert few.get_figheight() < fig.get_figheight() <= 9.7  # inches; a printed page holds ten
    labels = [t.get_window_extent() for t in fig.axes[0].get_yticklabels()]
    assert all(a.y0 >= b.y1 for a, b in itertools.pairwise(labels))


def test_a_reed_rated_once_shows_no_course_beside_others_that_do() -> None:
    r = made.result("life_hours", "b_better")
    assert r.points is not None
    first = r.points["reed"].iloc[0]
    once = r.points[(r.points["reed"] != first) | ~r.points["reed"].duplicated()]
    fig = drawn.ratings_figure(replace(r, points=once))
    panels = [ax.get_title(loc="left") for ax in fig.axes if ax.get_visible()]
    assert f"reed {first}" not in panels
    assert len(panels) == once["reed"].nunique() - 1
    assert "Reeds rated only once are left out." in " ".join(fig.get_suptitle().split())


def test_the_life_curve_is_the_product_limit() -> None:
    """Against statsmodels' estimate on the same hours."""
    from statsmodels.duration.survfunc import SurvfuncRight

    from reedlab.summary.figures.curves import _steps

    rng = np.random.default_rng(3)
    hours, ended = np.round(rng.uniform(1, 9, 40)), rng.random(40) < 0.6
    at, left = _steps(hours, ended)
    curve = SurvfuncRight(hours, ended.astype(int))
    want = dict(zip(curve.surv_times, curve.surv_prob, strict=True))
    got = dict(zip(at[1:-1], left[1:-1] / 100, strict=True))
    assert got == pytest.approx(want)


def test_the_two_habits_differ_without_colour() -> None:
    from reedlab.summary.figures import _style

    for look in (_style.COLOUR, _style.MARKER, _style.LINE, _style.HATCH):
        assert look["A"] != look["B"]


def test_a_sealed_trial_has_no_figures() -> None:
    for draw in (*RATING, *LIFE):
        with pytest.raises(SealedError):
            draw(made.result("mean_rating", None))


def test_a_figure_that_does_not_fit_says_why() -> None:
    with pytest.raises(InputError, match="lives_figure"):
        drawn.joined_figure(made.result("life_hours", "b_better"))
    with pytest.raises(InputError, match="no ratings"):
        drawn.ratings_figure(made.result("mean_rating", "b_better", frames=False))


def test_drawing_leaves_global_settings_alone() -> None:
    before: dict[str, Any] = dict(matplotlib.rcParams)
    drawn.svg_uri(drawn.gap_figure(made.result("mean_rating", "b_better")))
    assert dict(matplotlib.rcParams) == before
    assert "matplotlib.pyplot" not in sys.modules or not sys.modules["matplotlib.pyplot"].get_fignums()


def test_odd_habit_names_are_drawn_as_typed() -> None:
    """Dollar signs, very long words and letters the font lacks neither fail nor warn."""
    for name in ("$x_1$ way", "w" * 90, "習慣", "_hidden", "a\nb"):
        r = made.result("mean_rating", "b_better", habits=(name, "a long soak"), plan_more={"sets": 1})
        for draw in RATING:
            assert drawn.svg_uri(draw(r, width=drawn.NARROW)).startswith("data:image/svg+xml")


def test_coloured_words_and_lines_stand_out_on_white() -> None:
    """WCAG 2.2: 4.5:1 for text, 3:1 for figures; relative luminance as defined there."""
    def contrast(colour: str) -> float:
        parts = [int(colour[i:i + 2], 16) / 255 for i in (1, 3, 5)]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 1.05 / (0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05)

    assert contrast(COLOUR["A"]) == pytest.approx(5.19, abs=0.01)  # Okabe & Ito 2008, contrast computed
    assert contrast(COLOUR["B"]) == pytest.approx(3.87, abs=0.01)
    assert all(contrast(c) >= 4.5 for c in (*TEXT_COLOUR.values(), SOFT, INK))


@pytest.mark.parametrize(("reeds", "width", "shape"), [
    (4, 4.5, (2, 2)), (4, 7.5, (1, 4)), (5, 7.5, (2, 3)), (3, 4.5, (1, 3))])
def test_no_reed_stands_alone_below_a_full_row(reeds: int, width: float, shape: tuple[int, int]) -> None:
    result = made.result("day_rating", "b_better")
    points = result.points.assign(reed=[f"1-{k % reeds + 1:02d}" for k in range(len(result.points))])
    grid = drawn.ratings_figure(replace(result, points=points), width=width).axes[0].get_gridspec()
    assert (grid.nrows, grid.ncols) == shape


@pytest.mark.parametrize("word", ["wet ", "w"])
def test_a_label_takes_no_longer_for_nine_thousand_letters(word: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from reedlab.summary.figures import _style

    letters: list[int] = []
    real = _style._wide
    monkeypatch.setattr(_style, "_wide", lambda text, *more: letters.append(len(text)) or real(text, *more))
    told = _style.wrap(word * (9000 // len(word)), 1.25)
    assert told.count("\n") == _style.LINES - 1
    assert told.endswith("…")
    assert sum(letters) < 12_000


def test_a_label_that_fits_is_not_cut() -> None:
    from reedlab.summary.figures._style import wrap

    assert wrap("wetting in the mouth", 9) == "wetting in the mouth"
    assert "".join(wrap("x" * 60, 1).split("\n")) == "x" * 60


@pytest.mark.parametrize(("days", "told"), [(3, ["<1 March>\n2026", "<16 March>"]), (200, ["<1 January>\n2027"])])
def test_dates_below_the_odds_are_told_in_the_players_words(days: int, told: list[str],
                                                            monkeypatch: pytest.MonkeyPatch) -> None:
    """Matplotlib's own formatters know months in English only; the first date has its year, and so has a new one."""
    monkeypatch.setattr("reedlab.summary.figures.odds.short_month", lambda on: f"<{date_month(on)}>")
    course = tuple((made.START + timedelta(days=days * i), 1.0 + i, i + 1) for i in range(6))
    ran = made.result("life_hours", "cannot_tell", state="running",
                      plan_more={"standing": "box", "days": 3660, "slots": (), "since": (made.START,) * 14})
    fig = drawn.odds_figure(replace(ran, odds=StandingOdds(6.0, 20.0, 6.0, course, ((1, made.START),), None, False)))
    drawn.svg_uri(fig)
    labels = [t.get_text() for t in fig.axes[0].get_xticklabels()]
    assert set(told) <= set(labels)
    assert all(text.startswith("<") for text in labels)
