"""The gap and its range against the grey band "too small to matter"."""

from __future__ import annotations

import math

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ...trial.arrays import FloatArray
from ...trial.result import Finding, TrialResult
from ...wording import tr
from ..case import Case
from ..dots import dots
from ..words.front import range_read
from ..words.lives import few_ends_sentence, too_few_ends
from ..words.ranges import Range
from ._gap_axis import band_and_sides, gap_ticks, stands_at, what_is_told
from ._style import BAND, COLOUR, INK, MARKER, SOFT, WIDE, new_figure, opened, plain, styled, wrap

__all__ = ["gap_figure"]


_RATIO_TICKS = (1.0, 1.25, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 16.0, 32.0, 64.0)


@styled
def gap_figure(result: TrialResult, *, width: float = WIDE, titled: bool = True) -> Figure:
    """Return the gap with its range; right of the middle favours the second habit, left the first.

    Parameters
    ----------
    result : TrialResult
        A result that is no longer sealed.
    width : float
        Inches; `NARROW` fits a phone.
    titled : bool
        False where the sentence already stands right above the figure.
    """
    case, found = opened(result)
    names = {s: wrap(tr("better with {name}").format(name=case.name(s)), width / 2 - 0.25, weight="bold") for s in "AB"}
    name_lines = max(n.count("\n") + 1 for n in names.values())
    gaps, each = dots(case)
    fig, ax = new_figure(range_read(case) if titled else "", width, (2.2 if len(gaps) else 1.75) + 0.19 * name_lines)

    gap = case.gap(found, "B")
    best, low, high, m = (stands_at(case, x) for x in (gap.best, gap.low, gap.high, case.matters))
    reach = _reach([best, low, high, *gaps], m)
    floor = -1.35 if len(gaps) else -1.0
    ax.set_ylim(floor, 1)
    band_and_sides(ax, m, reach, names, 1.03)
    if too_few_ends(found):
        ax.text(0, -0.2, wrap(few_ends_sentence(case, found), width * 0.6), ha="center", color=INK)
    else:
        _dots(ax, gaps, reach)
        _range(ax, case, found, (best, low, high), reach)
    ax.text(0, floor + 0.06, wrap(tr("too small to matter"), width * m / reach * 0.9) if m / reach * width < 1.6
            else tr("too small to matter"), ha="center", va="bottom", color=INK, fontsize=9.5,
            bbox={"facecolor": BAND, "edgecolor": "none", "pad": 1})
    _ticks(ax, case, reach, width, each if len(gaps) else "")
    ax.set_yticks([])
    plain(ax, "x")
    return fig


def _dots(ax: Axes, gaps: FloatArray, reach: float) -> None:
    """Draw the player's own gaps below the range, equal ones on top of each other."""
    if not len(gaps):
        return
    gaps = np.round(gaps, 6)
    height = {x: iter(range(len(gaps))) for x in np.unique(np.round(gaps / reach, 2))}
    step = min(0.11, 0.3 / max(np.unique(np.round(gaps / reach, 2), return_counts=True)[1]))
    ys = [-0.3 - step * next(height[x]) for x in np.round(gaps / reach, 2)]
    ax.plot(gaps, ys, "o", ms=4.5, color=SOFT, mec="white", mew=0.5, alpha=0.8, zorder=2)


def _reach(ends: list[float], m: float) -> float:
    """Half the width of the axis: all finite ends and the band, with room at the sides."""
    finite = [abs(x) for x in ends if math.isfinite(x)]
    return 1.25 * max([*finite, 1.35 * m])


def _range(ax: Axes, case: Case, found: Finding, drawn: tuple[float, float, float], reach: float) -> None:
    best, low, high = drawn
    if case.is_diary:  # nothing was shuffled, so there is no range to draw
        low = high = math.nan
    side = case.winner
    colour = COLOUR[side] if side else INK
    left, right = max(low, -reach), min(high, reach)
    judged_by_90 = case.verdict == "no_real_difference"
    ax.plot([left, right], [0, 0], color=colour, lw=2 if judged_by_90 else 5, solid_capstyle="butt", zorder=3)
    if judged_by_90:
        scale = case.unit_scale(found.outcome)
        inner = [math.log2(x) if case.is_ratio else x * scale for x in (found.low90, found.high90)]
        ax.plot(inner, [0, 0], color=colour, lw=6, solid_capstyle="butt", zorder=3)
    for end, place, arrow in ((low, -reach, "<"), (high, reach, ">")):
        if math.isinf(end):
            ax.plot([place * 0.985], [0], marker=arrow, ms=13, color=colour, clip_on=False, zorder=4)
        else:
            ax.plot([end, end], [-0.16, 0.16], color=colour, lw=2, zorder=3)
    if math.isfinite(best) and (case.is_diary or not Range.of(found).is_open):
        ax.plot([best], [0], marker=MARKER[side] if side else "D", ms=12, color=colour, mec="white", mew=1.5,
                zorder=5)
        gap = case.gap(found, "B")
        label = tr("almost no gap")
        if case.leaning(found) or side:
            label = tr("about {size}").format(size=case.size(found, gap.best))
        # Kept off the edges: near one, the label leans inwards.
        ha = "center" if abs(best) < 0.65 * reach else "right" if best > 0 else "left"
        ax.text(best, 0.34, label, ha=ha, va="bottom", fontweight="bold", color=INK, zorder=5)


def _ticks(ax: Axes, case: Case, reach: float, width: float, each: str) -> None:
    ratios = [t for t in _RATIO_TICKS if math.log2(t) <= reach]
    most = 4 if width > 5 else 3
    if len(ratios) > most:
        ratios = [t for t in ratios if math.log2(t) == round(math.log2(t)) or t == 1.5][: most + 2]
    if len(ratios) > most + 1:
        ratios = [t for t in ratios if t != 1.5]
    gap_ticks(ax, case, ratios, 8 if width > 5 else 6)
    lines = wrap(what_is_told(case), width - 0.9)
    lines = lines if "\n" in lines else f"← {lines} →"
    ax.set_xlabel("\n".join([lines, *(wrap(s, width - 0.3) for s in _key(case, each))]))


def _key(case: Case, each: str) -> list[str]:
    """Return what the bars and dots are."""
    said = []
    if case.main is not None and not case.is_diary and not too_few_ends(case.main):
        usual, same = Range.of(case.main), Range.of_sameness(case.main)
        if case.verdict == "no_real_difference":
            said.append(tr("thick line: range of {out_of}; thin line: {out_of2}").format(
                            out_of=same.out_of, out_of2=usual.out_of))
        elif not usual.is_open:
            said.append(tr("line: range of {out_of}").format(out_of=usual.out_of))
    if each:
        said.append(tr("dots: each {each} as rated").format(each=each) if case.plan.adjust
                    else tr("dots: one for each {each}").format(each=each))
    return ["; ".join(said)] if said else []
