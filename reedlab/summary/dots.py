"""The player's own gaps, one for each set and one for each reed: what the figure's dots show and the lines count."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..trial.arrays import FloatArray
from .case import Case

__all__ = ["Lean", "dots", "leans", "reed_gaps", "reed_means", "scatter", "set_gaps", "undecided"]

_ALIKE = 1e-9


@dataclass(frozen=True)
class Lean:
    """How many of the sets or reeds lean to one way: `count` of `of`; `reeds` says which of the two."""

    reeds: bool
    count: int
    of: int


def _used(case: Case) -> pd.DataFrame | None:
    """Return the units that count and have a value, in told units; None for lives, whose reeds have no gap."""
    units = case.result.units
    if case.is_ratio or units is None or not len(units):
        return None
    used = units[units["used"].astype(bool)].dropna(subset=["value"])
    return used.assign(value=used["value"].astype(float) * case.unit_scale(case.plan.outcome))


def _preferred(case: Case) -> pd.DataFrame | None:
    """Return the pairs that count, `gap` being how far the second way was preferred; None where there are no pairs."""
    used = _used(case) if case.plan.pairs else None
    if used is None:
        return None
    return used.assign(gap=2 * used["value"] * np.where(used["arm"] == "B", 1.0, -1.0))


def _own_gaps(case: Case) -> pd.DataFrame | None:
    """Return the reeds of a crossover that count, `gap` being the second way's mean over the first's on that reed.

    What the second half added to all is taken out: the middle between the two orders. None of any other trial.
    """
    used = _used(case) if case.plan.crossover else None
    if used is None or used["arm"].nunique() < 2:
        return None
    common = float(used.groupby("arm")["value"].mean().mean())
    return used.assign(gap=2 * (used["value"] - common) * np.where(used["arm"] == "B", 1.0, -1.0))


def reed_means(case: Case) -> pd.DataFrame:
    """Return each reed's mean rating with either way on the days that count: block (the reed), arm and value."""
    points = case.result.points
    assert points is not None
    means = points.groupby(["reed", "arm"], sort=False)["rating"].mean().rename("value").reset_index()
    return means.rename(columns={"reed": "block"})


def undecided(case: Case) -> int:
    """Return in how many pairs no difference was found."""
    pairs = _preferred(case)
    return 0 if pairs is None else int((pairs["gap"].abs() <= _ALIKE).sum())


def set_gaps(case: Case) -> FloatArray:
    """Return one gap a set, the second way less the first in told units; sets without both ways are left out.

    Back to back each pair is a set of its own.
    """
    pairs = _preferred(case)
    if pairs is not None:
        return pairs["gap"].to_numpy(float)
    used = _used(case)
    return np.zeros(0) if used is None else _gaps(used, "block", "value")


def reed_gaps(case: Case) -> FloatArray:
    """Return one gap a reed that served both ways, by its own ratings; none where each reed keeps to one way."""
    pairs = _preferred(case)
    if pairs is not None:
        return pairs.groupby("reed", sort=False)["gap"].mean().to_numpy(float)
    own = _own_gaps(case)
    if own is not None:
        return own["gap"].to_numpy(float)
    points = case.result.points
    if case.is_ratio or case.plan.of_boxes or case.plan.unit_kind == "reed" or points is None or not len(points):
        return np.zeros(0)
    return _gaps(points, "reed", "rating")


def _gaps(rows: pd.DataFrame, by: str, value: str) -> FloatArray:
    means = rows.pivot_table(index=by, columns="arm", values=value, aggfunc="mean", sort=False)
    both = means.reindex(columns=["A", "B"]).dropna()
    return (both["B"] - both["A"]).to_numpy(float)


def dots(case: Case) -> tuple[FloatArray, str]:
    """Return the gaps to draw and what each is: a set, or in sets of more than two one reed.

    In such a set a reed is held against the mean of the other way's reeds.
    """
    if case.plan.pairs or case.plan.crossover:
        return set_gaps(case) if case.plan.pairs else reed_gaps(case), case.counted_units(1).removeprefix("1 ")
    used = _used(case)
    if used is None or not (used.groupby(["block", "arm"]).size() > 1).any():
        return set_gaps(case), case.set_noun
    gaps: list[float] = []
    for _, one in used.groupby("block", sort=False):
        a, b = (one.loc[one["arm"] == x, "value"].to_numpy(float) for x in "AB")
        if len(a) and len(b):
            gaps += [b[0] - a[0]] if len(a) == len(b) == 1 else [*(b - a.mean()), *(b.mean() - a)]
    return np.array(gaps), case.counted_units(1).removeprefix("1 ")


def leans(case: Case, side: str) -> list[Lean]:
    """Return how many reeds and how many sets lean to a side; of a single one nothing is counted."""
    sign = 1.0 if side == "B" else -1.0
    found = ((True, reed_gaps(case)), (False, set_gaps(case)))
    return [Lean(reeds, int((sign * gaps > _ALIKE).sum()), len(gaps)) for reeds, gaps in found if len(gaps) > 1]


def scatter(case: Case) -> float:
    """Return the pooled spread (standard deviation) of one reed's ratings with one way; nan where none has two."""
    points = case.result.points
    if points is None or not len(points):
        return float("nan")
    same = points.groupby(["reed", "arm"])["rating"]
    free = float((same.size() - 1).sum())
    return float(np.sqrt((same.var() * (same.size() - 1)).sum() / free)) if free else float("nan")
