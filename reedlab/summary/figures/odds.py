"""A standing trial: the odds against "no difference" as the boxes came in, with the line at which a winner is named."""

from __future__ import annotations

import math
from datetime import date
from typing import Final

import numpy as np
from matplotlib.dates import AutoDateLocator, date2num, num2date
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from ...trial.result import TrialResult
from ...wording import short_month, tr
from ..case import Case
from ..words.standing import odds_title
from ._style import INK, SOFT, WIDE, new_figure, opened, plain, styled

__all__ = ["odds_figure"]

_MONTH: Final = 31.0  # days
_MARKS: Final = (0.01, 0.1, 1, 20, 100, 1000)
_MOST: Final = 2000.0  # higher odds say no more


@styled
def odds_figure(result: TrialResult, *, width: float = WIDE, titled: bool = True) -> Figure:
    """Return the odds after each reed that came to its end; a tick below marks each box as it was opened.

    Parameters
    ----------
    result : TrialResult
        Of a standing trial.
    width : float
        Inches.
    titled : bool
        False where the sentence stands right above the figure.
    """
    case, _ = opened(result)
    odds = result.odds
    assert odds is not None
    fig, ax = new_figure(odds_title(Case(result)) if titled else "", width, 3.2)
    first = min([case.plan.start, *(d for _, d in odds.boxes)])
    days: list[date] = [first, *(d for d, _, _ in odds.course)]
    e = np.clip([1.0, *(v for _, v, _ in odds.course)], 1e-2, _MOST)
    ended = [i for i, (_, v, n) in enumerate(odds.course, 1) if i < len(odds.course) or n > (
        odds.course[i - 2][2] if i > 1 else 0)]
    x = date2num(days)
    ax.step(x, e, where="post", color=INK, lw=2.2, zorder=3)
    ax.plot(x[ended], e[ended], ls="", marker="o", ms=4.5, color=INK, mec="white", mew=0.7, zorder=4,
            label=tr("a reed came to its end"))
    ax.axhline(odds.bar, color=INK, lw=1.3, ls="--", zorder=2)
    ax.axhline(1.0, color=SOFT, lw=0.9, zorder=1)
    high = max(odds.bar * 2.2, float(e.max()) * 1.6)
    low = min(0.3, float(e.min()) / 1.6)
    ax.set_yscale("log")
    ax.set_ylim(low, high)
    near = x[-1] - x[0] or 1.0
    ax.set_xlim(x[0] - 0.02 * near, x[-1] + 0.04 * near)
    ax.text(x[0 if odds.named is None else -1], odds.bar * (high / low) ** 0.015, tr("a winner is named"), fontsize=9.5,
            va="bottom", ha="left" if odds.named is None else "right")
    marks = [m for m in (*_MARKS[:3], odds.bar, *_MARKS[4:]) if low <= m <= high]
    ax.yaxis.set_major_locator(FixedLocator(marks))
    ax.yaxis.set_minor_locator(NullLocator())
    ax.yaxis.set_major_formatter(FuncFormatter(lambda v, _: _to_one(v)))
    ax.set_ylabel(tr("odds against no difference"))
    wide = width > 5
    ax.xaxis.set_major_locator(AutoDateLocator(minticks=2, maxticks=7 if wide else 4) if near >= _MONTH else
                               FixedLocator([x[0], x[-1]] if near > 1 else [x[0]]))
    ax.xaxis.set_major_formatter(FuncFormatter(_spoken))
    for number, on in odds.boxes:
        ax.plot([date2num(on)], [low], ls="", marker="^", ms=8, color=SOFT, mec="white", mew=0.7, clip_on=False,
                zorder=5, label=tr("a box is opened") if number == 1 else None)
        ax.annotate(str(number), (float(date2num(on)), low), xytext=(0, 8), textcoords="offset points", ha="center",
                    fontsize=9, color=INK)
    plain(ax, "y")
    fig.legend(loc="outside lower left", ncols=2 if wide else 1, frameon=False, handlelength=1.2)
    return fig


def _to_one(value: float) -> str:
    if math.isclose(value, 1):
        return tr("even")
    return tr("1 to {n:,.0f}").format(n=1 / value) if value < 1 else tr("{n:,.0f} to 1").format(n=value)


def _spoken(at: float, place: int | None) -> str:
    """Return a date in few words; the first one, and each new year's day, with its year below."""
    on = num2date(at).date()
    return f"{short_month(on)}\n{on.year}" if not place or (on.month, on.day) == (1, 1) else short_month(on)
