"""Why not just try it: one player's two fortnights, and what many players are told."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator

from ...wording import tr
from ..words.casual import METHOD_WORDS, alike_title, apart_title, one_title
from ._style import COLOUR, HATCH, INK, LINE, MARKER, SOFT, WIDE, new_figure, plain, styled, wrap

__all__ = ["alike_figure", "apart_figure", "fortnights_figure"]

_WRONG, _OPEN = "#A02C6B", "#D9D9D9"


@styled
def fortnights_figure(ratings: npt.ArrayLike, *, width: float = WIDE, titled: bool = True) -> Figure:
    """Return a casual trial: daily ratings (days,), nan on a day off; the second way starts half-way."""
    y = np.asarray(ratings, dtype=float)
    half = len(y) // 2
    means = [float(np.nanmean(part)) for part in (y[:half], y[half:])]
    fig, ax = new_figure(one_title(*means) if titled else "", width, 2.9)
    for side, first, last, mean in (("A", 0, half, means[0]), ("B", half, len(y), means[1])):
        day = np.arange(first, last) + 1
        ax.plot(day, y[first:last], color=COLOUR[side], ls="none", marker=MARKER[side], ms=7, mec="white", mew=0.8,
                clip_on=False)
        ax.plot([first + 0.6, last + 0.4], [mean, mean], color=COLOUR[side], ls=LINE[side], lw=2.4)
        name = tr("first way") if side == "A" else tr("second way")
        ax.text((first + last + 1) / 2, 10.6, wrap(tr("{name}: mean {mean:.1f}").format(
                                                       name=name, mean=mean), width / 2 - 0.4, weight="bold"),
                ha="center", va="bottom", color=COLOUR[side], fontweight="bold")
    ax.axvline(half + 0.5, color=SOFT, lw=1)
    ax.set_xlim(0.2, len(y) + 0.8)
    ax.set_ylim(0, 10.4)
    ax.yaxis.set_major_locator(FixedLocator([0, 2, 4, 6, 8, 10]))
    ax.xaxis.set_major_locator(FixedLocator([1, *range(7, len(y) + 1, 7)]))
    ax.set_xlabel(tr("day"))
    ax.set_ylabel(tr("rating"))
    plain(ax, "y")
    return fig


@styled
def alike_figure(rows: Sequence[tuple[str, float, float, float]], *, width: float = WIDE,
                 titled: bool = True) -> Figure:
    """Return how often each way of comparing names a winner where there is none.

    Parameters
    ----------
    rows : sequence of (method, share, low, high)
        Methods by their key in `METHOD_WORDS`; shares and the ends of their 95 % range, 0 to 1. The first row's
        share stands in the title.
    """
    fig, ax = new_figure(alike_title(rows[0][1]) if titled else "", width, 0.75 * len(rows) + 0.95)
    at = np.arange(len(rows))[::-1]
    share = np.array([100 * r[1] for r in rows])
    colours = ["#007A5E" if r[0] == "fair" else _WRONG for r in rows]
    ax.barh(at, share, height=0.55, color=colours, zorder=2)
    for y, (_, s, low, high) in zip(at, rows, strict=True):
        ax.plot([100 * low, 100 * high], [y, y], color=INK, lw=1.4, zorder=3)
        ax.text(100 * high + 1, y, f"{100 * s:.0f}", va="center", ha="left", fontweight="bold", fontsize=11)
    ax.axvline(5, color=INK, lw=1.4, ls="--", zorder=4)
    ax.text(5.6, at[0] + 0.42, tr("5: what reedlab promises at most"), ha="left", va="bottom", fontsize=9.5)
    _method_ticks(ax, at, [r[0] for r in rows], width)
    ax.set_ylim(-0.5, len(rows) - 0.15)
    ax.set_xlim(0, max(50.0, 100 * max(r[3] for r in rows) + 6))
    ax.set_xlabel(tr("players in 100 told of a better way"))
    plain(ax, "x")
    return fig


@styled
def apart_figure(rows: Sequence[tuple[str, float, float]], gap: float, *, width: float = WIDE,
                 titled: bool = True) -> Figure:
    """Return what each way of comparing tells where one way is truly better: (method, right, wrong), shares."""
    fig, ax = new_figure(apart_title(gap) if titled else "", width, 0.75 * len(rows) + 1.25)
    at = np.arange(len(rows))[::-1]
    right, wrong = (np.array([100 * r[k] for r in rows]) for k in (1, 2))
    parts = ((right, tr("told the right way"), "#007A5E", "", "white"),
             (100 - right - wrong, tr("told nothing or \"can't tell yet\""), _OPEN, "", INK),
             (wrong, tr("told the wrong way, or \"no difference\""), _WRONG, HATCH["B"], "white"))
    left = np.zeros(len(rows))
    for size, words, colour, hatch, ink in parts:
        ax.barh(at, size, left=left, height=0.55, color=colour, hatch=hatch, label=words, zorder=2, linewidth=0)
        for y, start, s in zip(at, left, size, strict=True):
            if s >= 4:
                box = {"facecolor": colour, "edgecolor": "none", "pad": 1.5}
                ax.text(start + s / 2, y, f"{s:.0f}", ha="center", va="center", color=ink, fontweight="bold", bbox=box)
        left = left + size
    _method_ticks(ax, at, [r[0] for r in rows], width)
    ax.set_xlim(0, 100)
    ax.set_xlabel(tr("players in 100"))
    plain(ax, "x")
    fig.legend(*ax.get_legend_handles_labels(), loc="outside lower left", ncols=3 if width > 7 else 1, frameon=False,
               handlelength=1.6, columnspacing=1.4)
    return fig


def _method_ticks(ax: Axes, at: np.ndarray, methods: Sequence[str], width: float) -> None:
    room = width * 0.3
    ax.set_yticks(at, [wrap(METHOD_WORDS.get(m, m), room) for m in methods])
    ax.tick_params(axis="y", length=0)
