"""Adjustment: evening out what the habits cannot change, without seeing the habits.

Everything here is linear in the ratings, so that a constant gap taken from one habit's raw ratings passes
through it exactly, and the adjustment is redone for each gap tried (Tukey 1993; Rosenbaum 2002,
Stat. Sci. 17, 286-327). Coefficients are found within what the plan holds together (a reed, a matched
set), so adjusting never takes the gap between habits away with the difference between reeds.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...trial.outcomes import OUTCOMES
from ...trial.protocol import Protocol
from .blind import Cells

__all__ = ["ADJUSTMENTS", "LEAST_SET", "TANGLED", "UNITS_EACH", "LeftOut", "Sweep", "allowed_adjustments",
           "allowed_for", "dummies", "sweep", "unit_sweep", "within"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int64]

ADJUSTMENTS = ("day", "age_hours", "humidity", "first_play", "order")

#: Defaults that set how long or how often a reed is played: a habit that overrides one sets the hours.
_HOURS_FACTS = frozenset({"break_in_ramp_min", "daily_limit_min", "rotation_size"})
TANGLED = 1e-3  # share of a covariate's spread that must be left inside the structure
UNITS_EACH = 6  # free comparisons between units wanted per covariate (our assumption)
LEAST_SET = 4  # sets smaller than this are matched on first play so closely that its slope is only noise

LeftOut = tuple[str, str]


def allowed_adjustments(
    design: str, outcome: str, *, unit_kind: str = "reed", same_days: bool = True,
    overrides: Iterable[tuple[str, str, float]] = (), question: str = "",
) -> tuple[str, ...]:
    """Return what may be evened out in such a trial, in the order of `ADJUSTMENTS`.

    Never what the habit may change: hours (and day and order) where the habit sets how long or when a reed
    is played. With one reed to a matched set of days
    neither day nor hours: within a set the later sitting is always the older, so shuffling decides how far
    the two habits can be told from time. Lives are not adjusted.

    Parameters
    ----------
    design, outcome : str
        As in `Protocol`.
    unit_kind : str
        "reed", "sitting" or "diagonal"; only used day by day.
    same_days : bool
        False where the habit itself sets which days a reed is played.
    overrides : iterable of (habit key, default it replaces, value)
        As in `Protocol`.
    question : str
        Key of the question.
    """
    card = OUTCOMES[outcome]
    if card.lives:
        return ()
    if design == "day_by_day":
        out = {"humidity", "order"} if unit_kind == "sitting" else {"day", "age_hours", "humidity", "order"}
    elif card.per_hour:
        out = {"humidity", "order", "first_play"}
    else:
        out = set(ADJUSTMENTS)
    if not same_days:
        out -= {"day", "age_hours", "order"}
    if any(fact in _HOURS_FACTS for _, fact, _ in overrides):
        out -= {"age_hours"}
    if question == "break_in":
        out -= {"age_hours"}
    return tuple(a for a in ADJUSTMENTS if a in out)


def allowed_for(protocol: Protocol) -> tuple[str, ...]:
    """Return `allowed_adjustments` for a frozen plan."""
    return allowed_adjustments(protocol.design, protocol.outcome, unit_kind=protocol.unit_kind,
                               same_days=protocol.same_days, overrides=protocol.overrides,
                               question=protocol.question)


@dataclass(frozen=True)
class Sweep:
    """What was evened out: `covariates` (n, k), and `slopes` (k, n) that find their coefficients from n ratings.

    Adjusted ratings are ``y - covariates @ (slopes @ y)``. `left_out` says which names could not be used.
    """

    covariates: FloatArray
    slopes: FloatArray
    used: tuple[str, ...] = ()
    left_out: tuple[LeftOut, ...] = ()

    def onto(self, rows: FloatArray) -> FloatArray:
        """Return `rows` (u, n), a linear map of ratings, with the adjustment put before it."""
        return rows - (rows @ self.covariates) @ self.slopes


def dummies(labels: npt.NDArray[np.generic] | Sequence[str]) -> FloatArray:
    """Return (n, groups) indicator columns of labels (n,)."""
    _, back = np.unique(np.asarray(labels), return_inverse=True)
    return np.eye(int(back.max()) + 1 if len(back) else 0)[back]


def within(structure: FloatArray, columns: FloatArray) -> FloatArray:
    """Return `columns` (n, k) with all that `structure` (n, s) can explain taken away."""
    if columns.shape[1] == 0 or structure.shape[1] == 0:
        return columns
    beta = np.linalg.lstsq(structure, columns, rcond=None)[0]
    return columns - structure @ beta


def sweep(
    cells: Cells, names: Sequence[str], structure: FloatArray, *, room: int, always: FloatArray | None = None,
) -> Sweep:
    """Prepare the adjustment of rated cells for the covariates `names` (first_play is not one of a cell).

    Parameters
    ----------
    cells : Cells
        The n rated cells.
    names : sequence of str
        Wanted covariates in order of importance.
    structure : ndarray (n, s)
        Indicator columns within which coefficients are found.
    room : int
        Free comparisons between units; a covariate is left out when there are fewer than six for each, since
        in small trials it widens the range more than it sharpens the test.
    always : ndarray (n, a), optional
        Columns evened out whatever the covariates (reeds, in squares that lost a rating).
    """
    base = structure if always is None else np.hstack([structure, always])
    kept: list[FloatArray] = [] if always is None else [always - always.mean(axis=0)]
    used: list[str] = []
    left: list[LeftOut] = []
    for name in names:
        if name == "first_play":
            continue
        column, why = _column(cells, name)
        if not why:
            rest = within(base, column[:, None])
            spread = float(np.linalg.norm(column))
            if float(np.linalg.norm(rest)) <= TANGLED * spread:
                why = "tangled"
            elif (len(used) + 1) * UNITS_EACH > room:
                why = "too_few"
        if why:
            left.append((name, why))
            continue
        used.append(name)
        kept.append(column[:, None])
        base = np.hstack([base, column[:, None]])
    n = len(cells)
    covariates = np.hstack(kept) if kept else np.zeros((n, 0))
    rest = within(structure, covariates)
    slopes: FloatArray = np.zeros((0, n))
    if covariates.shape[1]:
        slopes = np.linalg.pinv(rest, rcond=1e-8).astype(np.float64)
    return Sweep(covariates, slopes, tuple(used), tuple(left))


def _column(cells: Cells, name: str) -> tuple[FloatArray, str]:
    """Return the centred, scaled covariate and "" or why it cannot be used. Gaps are filled by the mean."""
    raw = {"day": cells.day.astype(float), "age_hours": cells.hours, "humidity": cells.humidity,
           "order": cells.order}[name]
    there = np.isfinite(raw)
    if there.sum() * 2 <= len(raw):
        return raw, "missing"
    centred = np.where(there, raw - raw[there].mean(), 0.0)
    scale = float(np.sqrt(np.mean(centred**2)))
    if scale <= 1e-9:
        return centred, "constant"
    return centred / scale, ""


def unit_sweep(values: FloatArray, blocks: Sequence[str], *, room: int) -> tuple[FloatArray, str]:
    """Prepare the adjustment of unit values for one number known of each unit before the start.

    Parameters
    ----------
    values : ndarray (n,)
        First-play ratings of the n units in use; nan where unknown (read as the mean of the matched set).
    blocks : sequence of str (n,)
        Matched sets; the coefficient is found within them.
    room : int
        Free comparisons between units.

    Returns
    -------
    (n, n) array to multiply the unit values by, and "" or why it does nothing: "matched" where every set is
    smaller than four (in 400 simulated trials of six and eight pairs it cost a fifth of the findings).
    """
    n = len(values)
    if n and max(Counter(blocks).values()) < LEAST_SET:
        return np.eye(n), "matched"
    there = np.isfinite(values)
    if there.sum() * 2 <= n:
        return np.eye(n), "missing"
    filled = np.zeros(n)
    labels = np.asarray(blocks)
    for b in np.unique(labels):
        mine = labels == b
        known = mine & there
        if known.any():
            filled[known] = values[known] - values[known].mean()
    size = float(filled @ filled)
    if size <= 1e-9:
        return np.eye(n), "constant"
    if room < UNITS_EACH:
        return np.eye(n), "too_few"
    return np.eye(n) - np.outer(filled, filled) / size, ""
