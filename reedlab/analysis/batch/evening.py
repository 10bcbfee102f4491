"""Adjustment of rated cells for many trials at once: `analysis.units.adjust.sweep`, redone in each trial's own cells.

Covariates are made orthogonal one after the other (Gram-Schmidt) within the structure, which gives in turn
whether each can be used and, at the end, the projection that the single path gets from a pseudo-inverse.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import numpy.typing as npt

from ..units.adjust import LEAST_SET, TANGLED, UNITS_EACH

__all__ = ["Evener", "even_cells", "even_units", "group_means"]

FloatArray = npt.NDArray[np.float64]
IntArray = npt.NDArray[np.int_]
BoolArray = npt.NDArray[np.bool_]

_NOTHING_LEFT = 1e-6  # norm of an indicator column that the others explain


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
    """What is evened out, as pairs: a direction (k, c) of unit length, and the column it stands for."""

    def __init__(self) -> None:
        self.pairs: list[tuple[FloatArray, FloatArray]] = []

    def add(self, rest: FloatArray, column: FloatArray,
            keep: Callable[[FloatArray, FloatArray], BoolArray]) -> None:
        """Add a column (k, c), given what the structure leaves of it; `keep(norm of rest, norm of column)`."""
        norm = np.linalg.norm(column, axis=1)
        for q, cq in self.pairs:
            size = np.einsum("kc,kc->k", q, rest)[:, None]
            rest = rest - size * q
            column = column - size * cq
        left = np.linalg.norm(rest, axis=1)
        scale = np.where(keep(left, norm), 1.0 / np.where(left > 0, left, 1.0), 0.0)[:, None]
        self.pairs.append((rest * scale, column * scale))

    def __call__(self, y: FloatArray) -> FloatArray:
        """Return cells (k, c) evened out; `y` is 0 where there is no cell."""
        out = y
        for q, cq in self.pairs:
            out = out - np.einsum("kc,kc->k", q, y)[:, None] * cq
        return out


def even_cells(there: FloatArray, columns: Sequence[FloatArray], within: Callable[[FloatArray], FloatArray],
               room: FloatArray, *, always: Sequence[FloatArray] = (), when: BoolArray | None = None) -> Evener:
    """Prepare the evening out of the cells of k trials.

    Parameters
    ----------
    there : (k, c) float
        1 where the cell counts.
    columns : sequence of (k, c) or (c,) float
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
    for raw in columns:
        known = there * np.isfinite(raw)
        count = known.sum(axis=1, keepdims=True)
        value = np.where(known > 0, raw, 0.0)
        centred = np.where(known > 0, value - value.sum(axis=1, keepdims=True) / np.maximum(count, 1.0), 0.0)
        scale = np.sqrt((centred**2).sum(axis=1, keepdims=True) / cells)
        usable = (2 * count > there.sum(axis=1, keepdims=True)) & (scale > 1e-9)
        column = np.where(usable, centred / np.where(usable, scale, 1.0), 0.0)
        before = used.copy()

        def keep(left: FloatArray, norm: FloatArray, usable: BoolArray = usable,
                 before: FloatArray = before) -> BoolArray:
            out: BoolArray = usable[:, 0] & (left > TANGLED * norm) & ((before + 1) * UNITS_EACH <= room)
            return out

        out.add(within(column), column, keep)
        used = used + (np.abs(out.pairs[-1][0]).max(axis=1) > 0)
    return out


def even_units(first_play: FloatArray, present: BoolArray, block: IntArray,
               room: FloatArray) -> Callable[[FloatArray], FloatArray]:
    """Return the map of unit values (k, n) that evens out the first play: `analysis.units.adjust.unit_sweep`, batched.

    Values are 0 where the unit is missing.
    """
    known = present & np.isfinite(first_play)
    there = known.astype(float)
    value = np.where(known, first_play, 0.0)
    blocks = int(block.max()) + 1
    mean = group_means(there, block, blocks)(value)[:, block]
    largest = (present.astype(float) @ (block[:, None] == np.arange(blocks))).max(axis=1)
    filled = np.where(known, value - mean, 0.0)
    size = np.einsum("kn,kn->k", filled, filled)
    works = ((largest >= LEAST_SET) & (2 * known.sum(axis=1) > present.sum(axis=1)) & (size > 1e-9)
             & (room >= UNITS_EACH))
    part = filled * np.where(works, 1.0 / np.where(size > 0, size, 1.0), 0.0)[:, None]
    return lambda values: values - filled * np.einsum("kn,kn->k", part, values)[:, None]
