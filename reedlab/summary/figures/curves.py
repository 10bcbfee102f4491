"""Life curves: how many reeds of each habit were still in play after so many hours."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from ...trial.result import TrialResult
from ...wording import tr
from ..words.size import usual_hours
from ._style import COLOUR, LINE, MARKER, SOFT, WIDE, new_figure, opened, plain, styled, units_of, whole_steps, wrap

__all__ = ["curves_figure"]


def _steps(hours: np.ndarray, ended: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return where the curve steps and the share left, out of 100 (Kaplan & Meier 1958), from 0 hours on."""
    at, left, share = [0.0], [100.0], 100.0
    for t in np.unique(hours[ended]):
        share *= 1 - ((hours == t) & ended).sum() / (hours >= t).sum()
        at.append(float(t))
        left.append(share)
    at.append(float(hours.max()) if len(hours) else 0.0)
    left.append(share)
    return np.array(at), np.array(left)


@styled
def curves_figure(result: TrialResult, *, width: float = WIDE) -> Figure:
    """Return the life curves; a tick marks a reed that left sooner for another reason or still goes on."""
    case, _ = opened(result)
    units = units_of(result).dropna(subset=["hours"])
    said = usual_hours(case) or tr("How many of 100 reeds were still in play, by playing hours.")
    fig, ax = new_figure(said, width, 3.6)
    for side in "AB":
        mine = units[units["arm"] == side]
        hours, ended = mine["hours"].to_numpy(float), mine["worn_out"].to_numpy(bool)
        at, left = _steps(hours, ended)
        ax.plot(at, left, drawstyle="steps-post", color=COLOUR[side], ls=LINE[side], lw=2.2)
        cut = np.unique(hours[~ended])
        if len(cut):
            ax.plot(cut, left[np.searchsorted(at, cut, side="right") - 1], MARKER[side], ms=6, mfc="white",
                    mec=COLOUR[side], ls="")
    ax.axhline(50, color=SOFT, lw=0.8, ls=":")
    ax.set_ylim(0, 104)
    ax.set_xlim(0, None)
    ax.xaxis.set_major_locator(whole_steps(7 if width > 5 else 4))
    ax.set_xlabel(tr("playing hours"))
    ax.set_ylabel(tr("reeds in play, of 100"))
    plain(ax)
    handles = [Line2D([], [], color=COLOUR[s], ls=LINE[s], lw=2.2, marker=MARKER[s], mfc="white") for s in "AB"]
    labels = [wrap(case.plain_name(s), width - 1) for s in "AB"]
    handles.append(Line2D([], [], ls="", marker="o", mfc="white", mec=SOFT, ms=6))
    labels.append(tr("went on, or left for another reason"))
    fig.legend(handles, labels, loc="outside lower left", frameon=False, ncols=1)
    return fig
