"""The main outcome read in every way that might change the answer. None of them gets a verdict of its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from ...rows.tables import Frames
from ...trial.arrays import BoolArray
from ...trial.protocol import Protocol
from ...trial.result import Finding
from ..units.shares import planned_share
from ..units.unit_values import UnitValues
from ..verdicts.findings import Reading, read_difference

__all__ = ["all_readings", "complete_sets", "without_memory"]

_RATED = ("overall", "response", "tone", "stiffness", "preference")


def all_readings(
    protocol: Protocol, frames: Frames, main: Finding, as_done: Finding, damage: Finding | None,
    values: UnitValues | None, *, used: BoolArray, level: float,
    again: Callable[[Frames], Reading],
) -> tuple[Finding, ...]:
    """Return the findings to set side by side: as planned, as done and whatever else could differ.

    Parameters
    ----------
    protocol, frames
        The plan and the logbook's rows.
    main, as_done, damage
        What was read already; damage counted as an end for lives only.
    values : UnitValues or None
        Of a rating outcome.
    used : (n,) bool
        The units that counted.
    level : float
        Of the ranges.
    again : callable
        Reads the trial anew, as planned, from other rows.

    Returns
    -------
    tuple of Finding
        "complete" stands only where some matched set has something missing, "no_memory" only where something
        was written down from memory.
    """
    out = [main, as_done, *([damage] if damage is not None else [])]
    if values is not None and not protocol.pairs:  # a pair missed takes nothing from the others of its set
        whole = complete_sets(protocol, values)
        if (used & ~whole).any():
            read = read_difference(protocol, replace(values, present=values.present & whole),
                                   planned_share(protocol, values), reading="complete", level=level)
            out.append(read.finding)
    fewer = without_memory(protocol, frames)
    if fewer is not None:
        out.append(replace(again(fewer).finding, reading="no_memory"))
    return tuple(out)


def complete_sets(protocol: Protocol, values: UnitValues) -> BoolArray:
    """Return (n,) the units whose matched set misses nothing.

    Day by day: every planned rating of the set was given. Reed by reed: every reed of the set counts (a day
    missed here and there is no missing reed).
    """
    if protocol.design == "day_by_day":
        rated = np.bincount(values.unit_of_cell, minlength=len(values.units))
        whole = rated >= np.array([len(u.cells) for u in protocol.units])
    else:
        whole = values.present
    bad = {b for b, w in zip(values.blocks, whole, strict=True) if not w}
    return np.array([b not in bad for b in values.blocks], dtype=bool)


def without_memory(protocol: Protocol, frames: Frames) -> Frames | None:
    """Return the rows without the ratings that were written down from memory (their minutes stay).

    None if none of the trial's reeds has such a rating.
    """
    sittings = frames.sittings
    late = sittings["from_memory"].to_numpy(dtype=bool) & sittings["reed"].isin(protocol.reeds).to_numpy()
    rated: Any = sittings[list(_RATED)].notna().any(axis=1).to_numpy()
    late = late & rated
    if not late.any():
        return None
    fewer = sittings.copy()
    fewer.loc[late, list(_RATED)] = np.nan
    return replace(frames, sittings=fewer)
