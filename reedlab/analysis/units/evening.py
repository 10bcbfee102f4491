"""Evening out what the habits cannot change, without seeing the habits, in each trial's own cells.

Everything here is linear in the ratings, so that a constant gap taken from one habit's raw ratings passes
through it exactly, and the adjustment is redone for each gap tried (Tukey 1993; Rosenbaum 2002,
Stat. Sci. 17, 286-327). Coefficients are found within what the plan holds together (a reed, a matched
set), so adjusting never takes the gap between habits away with the difference between reeds.

Covariates are made orthogonal one after the other (Gram-Schmidt) within the structure, which gives in turn
whether each can be used and, at the end, the least-squares projection.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray

__all__ = ["Evener", "counts_by", "even_cells", "even_units", "group_means"]


_TANGLED = 1e-3  # share of a covariate's spread that must be left inside the structure
_UNITS_EACH = 6  # free comparisons between units wanted per covariate: fewer widen the range more than they sharpen it
_LEAST_SET = 4  # sets smaller than this are matched on first play so closely that its slope is only noise
_NOTHING_LEFT = 1e-6  # norm of an indicator column that the others explain


def counts_by(flags: BoolArray, group: IntArray, n: int) -> FloatArray:
    """Return how many of each group's flags are set, (k, c) to (k, n); `group` (c,) is -1 where in no group."""
    order = np.argsort(group, kind="stable")
    ends = np.searchsorted(group[order], np.arange(n + 1))  # a group's flags stand together
    so_far = np.zeros((len(flags), len(group) + 1), dtype=np.int32)
    np.cumsum(flags[:, order], axis=1, out=so_far[:, 1:])
    out: FloatArray = (so_far[:, ends[1:]] - so_far[:, ends[:-1]]).astype(float)
    return out


def group_means(there: FloatArray, group: IntArray, n: int) -> Callable[[FloatArray], FloatArray]:
    """Return a function that gives group means (k, n) of cells (k, c); 0 where a group has no cell.

    Parameters
    ----------
    there : (k, c) float
        1 where the cell counts, else 0.
    group : (c,) int
        -1: in no group.
    n : int
        Number of groups.
    """
    member = (group[:, None] == np.arange(n)).astype(float)
    count = np.maximum(there @ member, 1.0)
    return lambda y: ((there * y) @ member) / count


class Evener:
    """What is evened out, as pairs: a direction (k, c) of unit length, and the column it stands for.

    `why` (k,) says by covariate why it was left out: "missing" in half of the cells or more, "constant", "tangled"
    with the structure and those before it, or "too_few" units; "" where it was used.
    """

    def __init__(self) -> None:
        self.pairs: list[tuple[FloatArray, FloatArray]] = []
        self.why: dict[str, npt.NDArray[np.str_]] = {}

    def add(self, rest: FloatArray, column: FloatArray,
            keep: Callable[[FloatArray, FloatArray], BoolArray]) -> BoolArray:
        """Add a column (k, c) where `keep(norm of rest, norm of column)`; `rest` is what the structure leaves of it."""
        norm = np.linalg.norm(column, axis=1)
        for q, cq in self.pairs:
            size = np.einsum("kc,kc->k", q, rest)[:, None]
            rest = rest - size * q
            column = column - size * cq
        left = np.linalg.norm(rest, axis=1)
        kept = keep(left, norm)
        scale = np.where(kept, 1.0 / np.where(left > 0, left, 1.0), 0.0)[:, None]
        self.pairs.append((rest * scale, column * scale))
        return kept

    def __call__(self, y: FloatArray) -> FloatArray:
        """Return cells (k, c) evened out; `y` is 0 where there is no cell."""
        out = y
        for q, cq in self.pairs:
            out = out - np.einsum("kc,kc->k", q, y)[:, None] * cq
        return out


def even_cells(there: FloatArray, columns: Mapping[str, FloatArray], within: Callable[[FloatArray], FloatArray],
               room: FloatArray, *, always: Sequence[FloatArray] = (), when: BoolArray | None = None) -> Evener:
    """Prepare the evening out of the cells of k trials.

    Parameters
    ----------
    there : (k, c) float
        1 where the cell counts.
    columns : mapping of name to (k, c) or (c,) float
        Covariates in order of importance; nan where not written down.
    within : callable
        Takes from a column what the structure explains (0 where there is no cell).
    room : (k,) float
        Free comparisons between units.
    always : sequence of (c,) float
        Indicator columns evened out whatever the covariates, in the trials `when` (k,) says.
    """
    out = Evener()
    cells = np.maximum(there.sum(axis=1, keepdims=True), 1.0)
    always_when = np.ones(len(there), dtype=bool) if when is None else when
    for indicator in always:
        column = there * indicator
        column = there * (column - column.sum(axis=1, keepdims=True) / cells)
        out.add(within(column), column, lambda left, _: (left > _NOTHING_LEFT) & always_when)
    used = np.zeros(len(there))
    for name, raw in columns.items():
        known = there * np.isfinite(raw)
        count = known.sum(axis=1, keepdims=True)
        value = np.where(known > 0, raw, 0.0)
        centred = np.where(known > 0, value - value.sum(axis=1, keepdims=True) / np.maximum(count, 1.0), 0.0)
        scale = np.sqrt((centred**2).sum(axis=1, keepdims=True) / cells)
        missing, constant = 2 * count <= there.sum(axis=1, keepdims=True), scale <= 1e-9
        column = np.where(missing | constant, 0.0, centred / np.where(constant, 1.0, scale))
        why = np.select([missing[:, 0], constant[:, 0]], ["missing", "constant"], "")

        def keep(left: FloatArray, norm: FloatArray, first: npt.NDArray[np.str_] = why, name: str = name,
                 few: BoolArray = (used + 1) * _UNITS_EACH > room) -> BoolArray:
            out.why[name] = np.select([first != "", left <= _TANGLED * norm, few], [first, "tangled", "too_few"], "")
            kept: BoolArray = out.why[name] == ""
            return kept

        used = used + out.add(within(column), column, keep)
    return out


def even_units(before: FloatArray, present: BoolArray, block: IntArray, room: FloatArray,
               ) -> tuple[Callable[[FloatArray], FloatArray], npt.NDArray[np.str_]]:
    """Return the map of unit values (k, n) that evens out one number known of each unit before the start.

    Parameters
    ----------
    before : (k, n) float
        nan where unknown: read as the mean of the matched set.
    present : (k, n) bool
        Values are 0 where the unit is missing.
    block : (n,) int
        Matched sets; the coefficient is found within them.
    room : (k,) float
        Free comparisons between units.

    Returns
    -------
    The map, and (k,) "" or why it does nothing: as `Evener.why`, or "matched" where every set is smaller than four
    (in 400 simulated trials of six and eight pairs it cost a fifth of the findings).
    """
    known = present & np.isfinite(before)
    there = known.astype(float)
    value = np.where(known, before, 0.0)
    blocks = int(block.max(initial=-1)) + 1
    mean = group_means(there, block, blocks)(value)[:, block]
    largest = (present.astype(float) @ (block[:, None] == np.arange(blocks))).max(axis=1, initial=0)
    here = present.sum(axis=1)
    filled = np.where(known, value - mean, 0.0)
    size = np.einsum("kn,kn->k", filled, filled)
    why = np.select([(here > 0) & (largest < _LEAST_SET), 2 * known.sum(axis=1) <= here, size <= 1e-9,
                     room < _UNITS_EACH], ["matched", "missing", "constant", "too_few"], "")
    part = filled * np.where(why == "", 1.0 / np.where(size > 0, size, 1.0), 0.0)[:, None]
    return lambda values: values - filled * np.einsum("kn,kn->k", part, values)[:, None], why
