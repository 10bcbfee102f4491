"""One bar for each reed in playing hours, ending worn out, broken or still going."""

from __future__ import annotations

from typing import Any

import pandas as pd
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from ...trial.result import TrialResult
from ...wording import tr
from .. import numbers
from ..case import Case
from ._style import COLOUR, HATCH, INK, SOFT, WIDE, new_figure, opened, plain, styled, units_of, whole_steps, wrap

__all__ = ["ending_of", "lives_figure", "lives_title"]

_BAR, _TALLEST = 0.29, 7.2  # inches: the height of a bar with its gap, and of all bars
# How a bar may end: key, words, marker.
_ENDINGS = {
    "end": (tr("worn out"), "X"),
    "broken": (tr("broken"), "v"),
    "going": (tr("still going"), ">"),
    "else": (tr("left service"), "D"),
}


def ending_of(worn_out: bool, ended: str) -> str:
    """Return how a bar ends: "end" for the event that counts, else "broken", "going" or "else"."""
    if worn_out:
        return "end"
    if ended == "damaged":
        return "broken"
    return "going" if ended in ("still_going", "cap", "", "None", "nan") else "else"


def lives_title(case: Case, units: pd.DataFrame) -> str:
    """Return how many reeds of each habit came to the end that counts."""
    said = []
    for side in "AB":
        mine = units[units["arm"] == side]
        said.append((int(mine["worn_out"].sum()), len(mine), case.name(side)))
    (na, ta, a), (nb, tb, b) = said
    told = (tr("With {a}, {na} of {reeds} stopped being good; with {b}, {nb} of {tb}.") if case.kind == "good" else
            tr("With {a}, {na} of {reeds} wore out; with {b}, {nb} of {tb}."))
    return told.format(a=a, na=na, reeds=numbers.count(ta, "reed"), b=b, nb=nb, tb=tb)


@styled
def lives_figure(result: TrialResult, *, width: float = WIDE) -> Figure:
    """Return one bar for each reed, longest first within each habit, with its end marked."""
    case, _ = opened(result)
    units = units_of(result).sort_values(["arm", "hours"], ascending=[True, False], kind="stable")
    n = len(units)
    bar = min(_BAR, _TALLEST / max(n, 1))  # inches; many reeds still stand on one page
    small = bar / _BAR
    fig, ax = new_figure(lives_title(case, units), width, bar * n + 2.1)
    seen: list[str] = []
    gap = 0.0
    places = []
    for i, row in enumerate(units.itertuples(index=False)):
        if i and row.arm != units["arm"].iloc[i - 1]:
            gap = 0.6
        y = i + gap
        side = str(row.arm)
        places.append(y)
        ax.barh(y, row.hours, height=0.66, color=COLOUR[side], hatch=HATCH[side], edgecolor="white", lw=0)
        end = ending_of(bool(row.worn_out), str(row.ended))
        seen.append(end)
        ax.plot([row.hours], [y], _ENDINGS[end][1], color=INK if end != "going" else "white", mec=INK,
                ms=max(3.5, 8 * small), mew=1.2 * small, zorder=4, clip_on=False)
    ax.set_yticks(places, [str(u) for u in units["unit"]], fontsize=max(5.5, 10 * small))
    ax.set_ylim((places[-1] if places else 0) + 0.7, -0.7)
    longest = float(units["hours"].max()) if n else 1.0
    cap = case.plan.cap_hours
    if cap is not None:
        ax.axvline(cap, color=SOFT, ls=":", lw=1.5)
        longest = max(longest, cap)
    ax.set_xlim(0, max(longest, 0.5) * 1.06)
    ax.xaxis.set_major_locator(whole_steps(7 if width > 5 else 4))
    ax.set_xlabel(tr("playing hours"))
    ax.set_ylabel(tr("reed"))
    plain(ax, "x")
    handles: list[Any] = [Patch(facecolor=COLOUR[s], hatch=HATCH[s], edgecolor="white") for s in "AB"]
    labels = [wrap(case.plain_name(s), width - 1) for s in "AB"]
    for end, (words, marker) in _ENDINGS.items():
        if end in seen:
            handles.append(Line2D([], [], ls="", marker=marker, color="white" if end == "going" else INK, mec=INK,
                                  ms=8, mew=1.2))
            labels.append(tr("no longer good") if end == "end" and case.kind == "good" else words)
    if cap is not None:
        handles.append(Line2D([], [], color=SOFT, ls=":", lw=1.5))
        labels.append(tr("most hours in the plan"))
    longest_label = max(len(label) for label in labels)
    fig.legend(handles, labels, loc="outside lower left", frameon=False,
               ncols=2 if longest_label < (42 if width > 5 else 16) else 1)
    return fig
