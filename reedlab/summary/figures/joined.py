"""Reeds or days joined by lines: one line for each matched set, from one habit to the other."""

from __future__ import annotations

import numpy as np
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ...errors import InputError
from ...trial.result import TrialResult
from ...wording import tr
from ..case import Case
from ..dots import reed_means
from ._style import COLOUR, INK, MARKER, SOFT, WIDE, new_figure, opened, plain, styled, units_of, whole_steps, wrap

__all__ = ["joined_figure", "joined_title"]

_Y = {
    "rating": tr("rating"), "response": tr("response"), "tone": tr("tone"),
    "stiffness": tr("steps from just right, 0 is best"),
    "wear": tr("points a playing hour"),
}


def _pairs(units: pd.DataFrame) -> pd.DataFrame:
    """Return the mean value of each habit in each matched set, columns A and B; nan where there is none."""
    table = units.pivot_table(index="block", columns="arm", values="value", aggfunc="mean", sort=False)
    return table.reindex(columns=["A", "B"])


def joined_title(case: Case, pairs: pd.DataFrame) -> str:
    """Return how many of the matched sets lean to the habit that leads."""
    both = pairs.dropna()
    if both.empty:
        return tr("No {set_noun} has both ways left to compare.").format(set_noun=case.set_noun)
    up, down = int((both["B"] > both["A"] + 1e-9).sum()), int((both["A"] > both["B"] + 1e-9).sum())
    side, n = ("B", up) if up >= down else ("A", down)
    said = {"wear": tr("In {n} of {sets}, reeds held up better with {name}."),
            "stiffness": tr("In {n} of {sets}, reeds felt closer to just right with {name}."),
            "response": tr("In {n} of {sets}, response was better with {name}."),
            "tone": tr("In {n} of {sets}, tone was better with {name}."),
            }.get(case.kind, tr("In {n} of {sets}, ratings were higher with {name}."))
    sets = case.counted_units(len(both)) if case.plan.crossover else case.sets(len(both))
    return said.format(n=n, sets=sets, name=case.name(side))


@styled
def joined_figure(result: TrialResult, *, width: float = WIDE) -> Figure:
    """Return every matched set as a line between the two habits; single reeds or days as points.

    A set that leans to the second habit is drawn solid, one that leans to the first dashed,
    one that leans to neither dotted.
    Raises InputError for lives, which `lives_figure` shows, and for pairs, which `ratings_figure` shows.
    """
    case, _ = opened(result)
    if case.is_ratio:
        raise InputError(tr("Lives are not joined by lines; `lives_figure` shows them."))
    if case.plan.pairs:
        raise InputError(tr("Pairs are not joined by lines; `ratings_figure` shows them."))
    units = reed_means(case) if case.plan.crossover else units_of(result).dropna(subset=["value"])
    pairs = _pairs(units)
    fig, ax = new_figure(joined_title(case, pairs), width, 3.6)
    several = bool((units.groupby(["block", "arm"]).size() > 1).any())
    for a, b in pairs.to_numpy(float):
        ax.plot([0, 1], [a, b], _style_of(b - a), color=SOFT, lw=1.6, zorder=2)
        for x, y, side in ((0, a, "A"), (1, b, "B")):
            ax.plot([x], [y], MARKER[side], color=COLOUR[side], ms=9, mec="white", mew=1, zorder=4)
    if several:
        for side, at in (("A", -0.12), ("B", 1.12)):
            values = units.loc[units["arm"] == side, "value"].to_numpy(float)
            ax.plot(at + _spread(len(values)), values, MARKER[side], mfc="none", mec=COLOUR[side], ms=6, zorder=3)
    ax.set_xlim(-0.35, 1.35)
    ax.set_xticks([0, 1], [wrap(case.plain_name(s), width / 2 - 0.5, weight="bold") for s in "AB"])
    for tick, side in zip(ax.get_xticklabels(), "AB", strict=True):
        tick.set_color(COLOUR[side])
        tick.set_fontweight("bold")
    _room(ax, units["value"].to_numpy(float))
    ax.set_ylabel(_Y[case.kind])
    plain(ax)
    used = {_style_of(g) for g in (pairs["B"] - pairs["A"]).dropna()}
    words = {"-": tr("better with {name}").format(name=case.name("B")),
             "--": tr("better with {name}").format(name=case.name("A")), ":": tr("both alike")}
    drawn = [s for s in words if s in used]
    handles = [Line2D([], [], color=SOFT, lw=1.6, ls=s) for s in drawn]
    labels = [wrap(words[s], width - 1) for s in drawn]
    if several:
        handles.append(Line2D([], [], ls="", marker="o", mfc="none", mec=INK, ms=6))
        labels.append(tr("one reed (filled: mean of the set)") if case.plan.unit_kind == "reed" else
                      tr("one {unit}").format(unit=case.counted_units(1).removeprefix("1 ")))
    fig.legend(handles, labels, loc="outside lower left", frameon=False, ncols=1)
    return fig


def _style_of(gap: float) -> str:
    """Return the line style of a set: solid for the second habit, dashed for the first, dotted for neither."""
    return "-" if gap > 1e-9 else "--" if gap < -1e-9 else ":"


def _spread(n: int) -> np.ndarray:
    """Small steps sideways so that equal values do not hide each other."""
    return np.resize([0.0, 0.04, -0.04, 0.08, -0.08], n)


def _room(ax: Axes, values: np.ndarray) -> None:
    """Leave air above and below, also where all values are equal."""
    low, high = (float(values.min()), float(values.max())) if len(values) else (0.0, 1.0)
    air = max(0.12 * (high - low), 0.02 * max(abs(low), abs(high)), 1e-3)
    ax.set_ylim(low - air, high + air)
    ax.yaxis.set_major_locator(whole_steps())
