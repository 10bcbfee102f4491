"""The axis of a gap, from the first habit's side to the second's, with the grey band "too small to matter"."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping

from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter

from ...wording import tr
from .. import numbers
from ..case import Case
from ._style import BAND, SOFT, TEXT_COLOUR, whole_steps

__all__ = ["band_and_sides", "gap_ticks", "stands_at", "what_is_told"]


def stands_at(case: Case, x: float) -> float:
    """Return where a told gap stands on the axis: as it is, or the binary logarithm of a ratio."""
    if not case.is_ratio:
        return x
    return -math.inf if x <= 0 else math.inf if math.isinf(x) else math.log2(x)


def band_and_sides(ax: Axes, m: float, reach: float, names: Mapping[str, str], above: float) -> None:
    """Set the axis from -`reach` to `reach`, draw the band up to `m` and write the habits' names above either side."""
    ax.set_xlim(-reach, reach)
    ax.axvspan(-m, m, color=BAND, zorder=0, lw=0)
    ax.axvline(0, color=SOFT, lw=1.2, zorder=1)
    for side, x, ha in (("A", 0.0, "left"), ("B", 1.0, "right")):
        ax.text(x, above, names[side], transform=ax.transAxes, ha=ha, va="bottom", color=TEXT_COLOUR[side],
                fontweight="bold")


def gap_ticks(ax: Axes, case: Case, ratios: Iterable[float], most: int) -> None:
    """Mark sizes, alike to either side: of lives these `ratios`, else at most so many whole steps."""
    if case.is_ratio:
        ax.xaxis.set_major_locator(FixedLocator(sorted({s * math.log2(t) for t in ratios for s in (-1, 1)})))
        ax.xaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{2 ** abs(v):.3g}"))
    else:
        ax.xaxis.set_major_locator(whole_steps(most))
        ax.xaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{abs(round(v, 6)):g}"))


def what_is_told(case: Case) -> str:
    """Return what the numbers of the axis are."""
    return {
        "wear": tr("points more kept in {hours}").format(hours=numbers.hours(case.span)),
        "life": tr("times as many playing hours"), "good": tr("times as many good hours"),
        "stiffness": tr("steps closer to just right"), "pair": tr("points better"),
    }.get(case.kind, tr("points higher"))
