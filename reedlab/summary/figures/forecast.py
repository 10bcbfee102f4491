"""Before the start: the chance of each verdict against the true difference."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FixedLocator, FuncFormatter, NullLocator

from ...trial.outlook import Odds, Outlook
from ...wording import tr
from ..words.forecast import forecast_title, gap_words
from ._style import BAND, INK, WIDE, new_figure, plain, styled, whole_steps, wrap

__all__ = ["forecast_figure"]


@dataclass(frozen=True)
class _Curve:
    """One verdict: how it is drawn and called. No colour stands for a habit here."""

    words: str
    colour: str
    line: str
    marker: str
    width: float


_CURVES: Final = {
    "b_better": _Curve(tr("names the better way"), INK, "-", "o", 3.0),
    "no_real_difference": _Curve(tr("says \"no difference that matters\""), "#007A5E", "--", "s", 2.2),
    "cannot_tell": _Curve(tr("says \"can't tell yet\""), "#5E5E5E", ":", "^", 2.2),
    "a_better": _Curve(tr("names the wrong way"), "#A02C6B", "-.", "X", 1.8),
}


@styled
def forecast_figure(outlook: Outlook, *, width: float = WIDE, titled: bool = True) -> Figure:
    """Return the chance of each verdict against the true difference, with what matters to the player marked.

    The plan treats both ways alike, so the curves hold whichever way is the better one. Thin bars are 1.96
    standard errors of the simulation either way.

    Parameters
    ----------
    outlook : Outlook
    width : float
        Inches; `NARROW` fits a phone.
    titled : bool
        False where the sentence already stands right above the figure.
    """
    p = outlook.protocol
    rows = 2 if width > 5 else 4
    fig, ax = new_figure(forecast_title(outlook) if titled else "", width, 2.95 + 0.24 * rows)
    ratio = outlook.alike == 1
    x = np.array([math.log2(o.gap) if ratio else o.gap for o in outlook.odds])
    m = math.log2(p.matters) if ratio else p.matters
    ax.axvspan(0, m, color=BAND, lw=0, zorder=0)
    ax.axvline(m, color=INK, lw=1.2, zorder=1)
    _draw(ax, outlook, x)
    far = max(float(x.max()), m)
    ax.set_xlim(-0.03 * far, 1.03 * far)
    ax.set_ylim(-3, 112)
    ax.text(m / 2, 104.5, wrap(tr("too small to matter"), width * 0.8 * m / far), ha="center", va="center",
            fontsize=9.5)
    ax.text(m + 0.015 * far, 104.5, tr("matters to you"), ha="left", va="center", fontsize=9.5, fontweight="bold")
    ax.yaxis.set_major_locator(FixedLocator([0, 20, 40, 60, 80, 100]))
    ax.set_ylabel(tr("times in 100"))
    _ticks(ax, outlook, x, ratio)
    ax.set_xlabel(wrap(_x_label(outlook), width - 1.0))
    plain(ax, "y")
    fig.legend(*ax.get_legend_handles_labels(), loc="outside lower left", ncols=2 if rows == 2 else 1,
               frameon=False, handlelength=3.4, fontsize=10, columnspacing=1.6)
    return fig


def _draw(ax: Axes, outlook: Outlook, x: np.ndarray) -> None:
    for key, curve in _CURVES.items():
        # Where the ways are alike, either name is wrong: the two chances stand together under "wrong way".
        share = np.array([_share(o, key, alike=o.gap == outlook.alike) for o in outlook.odds])
        bars = np.array([1.96 * o.error(s) for o, s in zip(outlook.odds, np.nan_to_num(share), strict=True)])
        shown = np.isfinite(share)
        ax.errorbar(x[shown], 100 * share[shown], yerr=100 * bars[shown], color=curve.colour, ls=curve.line,
                    marker=curve.marker, lw=curve.width, ms=7, mec="white", mew=0.8, elinewidth=1,
                    label=curve.words, zorder=4 if key == "b_better" else 3, clip_on=False)


def _share(o: Odds, key: str, *, alike: bool) -> float:
    if alike and key == "b_better":
        return math.nan
    if alike and key == "a_better":
        return o.a_better + o.b_better
    return float(getattr(o, key))


def _ticks(ax: Axes, outlook: Outlook, x: np.ndarray, ratio: bool) -> None:
    if not ratio:
        ax.xaxis.set_major_locator(whole_steps(6))
        ax.xaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{v:.4g}"))
        return
    ax.xaxis.set_major_locator(FixedLocator(list(x)))
    ax.xaxis.set_minor_locator(NullLocator())
    ax.xaxis.set_major_formatter(FuncFormatter(lambda v, _: f"{2**v:.2g}"))


def _x_label(outlook: Outlook) -> str:
    gap = gap_words(outlook.protocol, 2.0)
    unit = gap.split(" ", 1)[1] if gap[0].isdigit() else tr("times the playing hours")
    if outlook.alike == 1:
        return tr("how many times the playing hours the better way truly gives")
    return tr("true difference between the two ways, in {unit}").format(unit=unit)
