"""Ratings over time, one small panel for each reed."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ...errors import InputError
from ...trial.result import TrialResult
from ...wording import tr
from ._style import COLOUR, LINE, MARKER, SOFT, WIDE, empty_figure, opened, plain, styled, whole_steps, wrap

__all__ = ["ratings_figure"]

_TALLEST = 8.0  # inches: all panels on one page, as far as they can be read so
_MANY = 24  # reeds, from which the panels stand closer


@styled
def ratings_figure(result: TrialResult, *, width: float = WIDE) -> Figure:
    """Return each reed's ratings by trial day, or by playing hours where wear or life is asked.

    Where a reed keeps to one habit its panel is drawn in that one's colour and line; else each point is.
    """
    case, _ = opened(result)
    points = result.points
    if points is None or points.empty:
        raise InputError(tr("This result has no ratings to draw."))
    if case.plan.two_reeds:  # under which of the two a pair was written down means nothing
        points = points.assign(reed=tr("{a} and {b}").format(a=case.plan.reeds[0], b=case.plan.reeds[1]))
    x = "hours" if case.kind in ("wear", "life", "good") else "day"
    rated = points.groupby("reed")["rating"].count()
    often = [str(r) for r in rated.index[rated > 1]]
    few = 0 < len(often) < len(rated)  # a single rating shows no course
    reeds = sorted(often if few else points["reed"].unique(), key=str)
    keeps = case.plan.design == "reed_by_reed" and not case.plan.crossover  # each reed to one way
    if keeps:
        side_of = points.groupby("reed")["arm"].first()
        reeds.sort(key=lambda r: (str(side_of[r]), str(r)))
    columns = min(len(reeds), 6 if len(reeds) > _MANY else 4 if width > 5 else 3 if width > 4 else 2)
    rows = math.ceil(len(reeds) / columns)
    columns = math.ceil(len(reeds) / rows)  # the rows alike, no reed left alone in the last
    if case.plan.pairs:
        points = points.assign(rating=points["rating"] * np.where(points["arm"] == "B", 1.0, -1.0))
    what = {"response": tr("response"), "tone": tr("tone"), "stiffness": tr("stiffness")}.get(case.plan.rating, "")
    if x == "hours":
        said = (tr("How you rated {what} on each reed over the playing hours of the trial.") if what else
                tr("How you rated each reed over the playing hours of the trial."))
    else:
        said = (tr("How you rated {what} on each reed over the days of the trial.") if what else
                tr("How you rated each reed over the days of the trial."))
    said = said.format(what=what)
    if case.plan.pairs:
        said = (tr("Which reed was better on each day, and by how many points.") if case.plan.two_reeds else
                tr("Which way was better on each reed over the days, and by how many points."))
    if few:
        said += " " + tr("Reeds rated only once are left out.")
    panel = 2.6 if case.plan.two_reeds else min(1.45, max(0.8, _TALLEST / rows))
    fig = empty_figure(said, width, panel * rows + 1.2)
    axes = fig.subplots(rows, columns, squeeze=False, sharex=True, sharey=True)
    dense = points.groupby("reed").size().max() > 15
    for ax, reed in zip(axes.flat, reeds, strict=False):
        mine = points[points["reed"] == reed].sort_values([x, "date"])
        if keeps:
            side = str(mine["arm"].iloc[0])
            ax.plot(mine[x], mine["rating"], LINE[side], color=COLOUR[side], lw=1.1 if dense else 1.6)
        else:
            ax.plot(mine[x], mine["rating"], "-", color=SOFT, lw=1)
        for side in "AB":
            some = mine[mine["arm"] == side]
            ax.plot(some[x], some["rating"], MARKER[side], color=COLOUR[side], ms=3.8 if dense else 5.5,
                    mec="white", mew=0.2 if dense else 0.6)
        head = tr("reeds {reed}") if case.plan.two_reeds else tr("reed {reed}")
        ax.set_title(head.format(reed=reed), loc="left")
        ax.xaxis.set_major_locator(whole_steps(4 if width > 5 else 3, integer=True))
        ax.yaxis.set_major_locator(whole_steps(4))
        plain(ax)
    for ax in axes.flat[len(reeds):]:
        ax.set_visible(False)
    # Under a panel that has no panel below it, the axis must say its days.
    for i in range(max(0, len(reeds) - columns), len(reeds)):
        axes.flat[i].tick_params(labelbottom=True)
        axes.flat[i].set_xlabel(tr("hours") if x == "hours" else tr("day"))
    scale = tr("steps from just right, 0 is best") if case.plan.rating == "stiffness" else what or tr("rating")
    if case.plan.pairs:
        scale = tr("above 0: {b}; below: {a}").format(a=case.plain_name("A"), b=case.plain_name("B"))
    fig.supylabel(scale, fontsize=10)
    handles = [Line2D([], [], color=COLOUR[s], marker=MARKER[s], mec="white", ms=7,
                      ls=LINE[s] if keeps else "") for s in "AB"]
    labels = [wrap(tr("{name} first").format(name=case.plain_name(s)) if case.plan.pairs else case.plain_name(s),
                   width - 1) for s in "AB"]
    two = width > 5 and max(len(n) for n in labels) < 40
    fig.legend(handles, labels, loc="outside lower left", frameon=False, ncols=2 if two else 1)
    return fig
