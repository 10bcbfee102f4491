"""Each trial's gap and range, and all of them together, against the grey band "too small to matter"."""

from __future__ import annotations

import math

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from ...errors import InputError
from ...trial.result import Together
from ...wording import tr
from ..case import Case
from ..words.together import case_of, headline
from ._gap_axis import band_and_sides, gap_ticks, stands_at, what_is_told
from ._style import BAND, COLOUR, INK, MARKER, SOFT, WIDE, new_figure, plain, styled, wrap

__all__ = ["together_figure"]

_ROOMY = 15
_TICKS = (1.0, 1.25, 1.5, 2.0, 3.0, 4.0, 8.0, 16.0)
_DOUBLES = (1.0, 2.0, 4.0, 8.0, 16.0)


@styled
def together_figure(together: Together, *, width: float = WIDE, titled: bool = True) -> Figure:
    """Return one row for each trial, one for all together and one for what one more may meet.

    Parameters
    ----------
    together : Together
    width : float
        Inches.
    titled : bool
        False where the sentence already stands right above the figure.
    """
    if not together.parts:
        raise InputError(tr("There is no trial to draw."))
    case = case_of(together)
    rows: list[tuple[str, float, float, float, str]] = [
        (p.label, _at(case, p.estimate), _at(case, p.low), _at(case, p.high), "trial") for p in together.parts]
    main, spread = together.main, together.spread
    rows.append(("together", _at(case, main.estimate), _at(case, main.low), _at(case, main.high), "together"))
    if spread is not None and not math.isnan(spread.new_low):
        one = tr("one more player") if spread.of == "player" else tr("one more trial")
        rows.append((one, math.nan, _at(case, spread.new_low), _at(case, spread.new_high), "new"))
    m = _at(case, together.matters)
    reach = _reach(rows, m)
    row = 0.3 if len(rows) <= _ROOMY else 0.2  # inches: a large class has to fit on a page
    fig, ax = new_figure(headline(together) if titled else "", width, 1.05 + row * (len(rows) + 1))
    ax.set_ylim(len(rows) + 0.15, -1.1)
    names = {s: wrap(tr("better with {name}").format(name=case.name(s)), (width - 1.3) / 2 - 0.1, weight="bold")
             for s in "AB"}
    band_and_sides(ax, m, reach, names, 1.02)
    heaviest = max([p.weight for p in together.parts if not math.isnan(p.weight)], default=math.nan)
    for y, (_, best, low, high, kind) in enumerate(rows):
        at = y + (0.25 if kind != "trial" else 0)
        weight = together.parts[y].weight / heaviest if kind == "trial" and heaviest == heaviest else 1.0
        _row(ax, case, at, (best, low, high), reach, kind, weight)
    ax.axhline(len(together.parts) - 0.38, color=SOFT, lw=0.8)
    ax.set_yticks([y + (0.25 if kind != "trial" else 0) for y, (*_, kind) in enumerate(rows)],
                  [wrap(name, 1.25) for name, *_ in rows])
    for label, (*_, kind) in zip(ax.get_yticklabels(), rows, strict=True):
        label.set_fontweight("bold" if kind == "together" else "normal")
    ax.text(0, -1.05, tr("too small to matter"), ha="center", va="top", fontsize=9, color=INK, zorder=2,
            bbox={"facecolor": BAND, "edgecolor": "none", "pad": 0.5, "alpha": 0.9})
    ratios = [t for t in _TICKS if math.log2(t) <= reach]
    gap_ticks(ax, case, [t for t in ratios if t in _DOUBLES] if len(ratios) > 4 else ratios, 8)
    ax.set_xlabel(f"← {what_is_told(case)} →")
    plain(ax, "x")
    ax.tick_params(axis="y", length=0)
    return fig


def _at(case: Case, x: float) -> float:
    return stands_at(case, x * case.unit_scale(case.plan.outcome))


def _reach(rows: list[tuple[str, float, float, float, str]], m: float) -> float:
    """Half the width of the axis: every gap, the combined range and the band; long single ranges run out of it."""
    gaps = [abs(best) for _, best, *_ in rows if math.isfinite(best)]
    ends = [abs(e) for *_, low, high, kind in rows if kind == "together" for e in (low, high) if math.isfinite(e)]
    wide = sorted(abs(e) for *_, low, high, kind in rows if kind != "together" for e in (low, high)
                  if math.isfinite(e))
    usual = wide[int(0.8 * (len(wide) - 1))] if wide else 0.0
    return 1.12 * max([*gaps, *ends, usual, 1.6 * m])


def _row(ax: Axes, case: Case, y: float, told: tuple[float, float, float], reach: float, kind: str,
         weight: float) -> None:
    best, low, high = told
    none = abs(best) < 1e-9
    side = "B" if best > 0 else "A"
    colour = {"new": SOFT, "together": COLOUR[case.winner] if case.winner else INK}.get(
        kind, INK if none else COLOUR[side])
    if math.isnan(best) and kind == "trial":
        ax.text(0, y, tr("too little to compare"), ha="center", va="center", color=SOFT, fontsize=9)
        return
    left, right = max(low, -reach), min(high, reach)
    open_ended = math.isinf(low) and math.isinf(high)
    style = {"new": ":", "trial": ":" if open_ended else "-" if side == "A" else "--", "together": "-"}[kind]
    ax.plot([left, right], [y, y], color=colour, lw=4.5 if kind == "together" else 1.0 if open_ended else 1.8,
            ls=style, solid_capstyle="butt", zorder=3)
    for end, place, arrow in ((low, -reach, "<"), (high, reach, ">")):
        if abs(end) > reach:
            ax.plot([place * 0.985], [y], marker=arrow, ms=5 if open_ended else 7, color=colour, clip_on=False,
                    zorder=4)
        else:
            ax.plot([end, end], [y - 0.14, y + 0.14], color=colour, lw=1.8, zorder=3)
    if not math.isnan(best) and abs(best) < math.inf:
        mark = (MARKER[case.winner] if case.winner else "D") if kind == "together" else (
            "D" if none else MARKER[side])
        size = 12.0 if kind == "together" else 4.5 + 4.5 * math.sqrt(max(0.0, weight))
        ax.plot([best], [y], marker=mark, ms=size, color=colour, mec="white", mew=1.2, zorder=5)
