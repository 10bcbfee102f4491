"""Dealing two habits to units within blocks, and every way it could have been dealt.

The planner deals with this module and the analysis reshuffles with it, so the test is the plan's own.
An arrangement says which units get habit B. Allowed arrangements: every way to deal the same number
of B's within each block, all equally likely.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Hashable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt
import pandas as pd

from ..errors import InputError
from ..wording import tr, trn
from .arrays import BoolArray, IntArray

__all__ = [
    "Layout",
    "all_arrangements",
    "deal",
    "deal_box",
    "draw_arrangements",
    "draw_by_unit",
    "draw_from",
    "even_counts",
    "layout_dealt",
    "layout_of",
    "least_p",
]

#: One label a unit: a list, array or column.
Labels: TypeAlias = Sequence[Any] | npt.NDArray[Any] | pd.Series
#: How many B's in each block: one number for all blocks, or a number by block label.
Counts: TypeAlias = int | Mapping[Hashable, int]

_LISTABLE = 2**32  # more than this is never written out in full
_AT_ONCE = 2**20  # random numbers held at once
_KNOWN_UP_TO = 20_000  # draws of a block that are worth keeping


@dataclass(frozen=True)
class Layout:
    """Units sorted into blocks, in order of first appearance.

    `members[b]` holds the positions of block b's units; `n_b[b]` how many of them get B.
    """

    labels: tuple[Hashable, ...]
    members: tuple[IntArray, ...]
    n_b: tuple[int, ...]

    @property
    def units(self) -> int:
        """Number of units in all."""
        return sum(len(m) for m in self.members)

    @property
    def count(self) -> int:
        """Number of allowed arrangements, a Python int of any size."""
        return math.prod(math.comb(len(m), k) for m, k in zip(self.members, self.n_b, strict=True))

    @property
    def least_p(self) -> float:
        """Smallest two-sided p any outcome could give: 2 / arrangements, at most 1.

        Proof: p is twice the smaller tail with the observed arrangement counted, so it is never below
        2 / N. Outcomes of 1 for the units dealt B and 0 for the others reach it, since within every
        block no other set of that size sums as high. With one arrangement p is 1.
        """
        return least_p(self.count)


def least_p(arrangements: int) -> float:
    """Return the smallest two-sided p that so many arrangements can give (`Layout.least_p`)."""
    return min(1.0, 2 / arrangements)


def _members(block: Labels) -> tuple[tuple[IntArray, ...], tuple[Hashable, ...]]:
    """Return the positions of each block's units, and its label."""
    labels = list(block)
    empty = [i for i, x in enumerate(labels, start=1) if x is None or x is pd.NA or x != x]
    if empty:
        raise InputError(tr("`block` is empty at row {where}; give every unit a block.").format(
                             where=", ".join(map(str, empty[:5]))))
    number = {x: i for i, x in enumerate(dict.fromkeys(labels))}
    codes = np.array([number[x] for x in labels], dtype=np.intp)
    return tuple(np.flatnonzero(codes == b) for b in range(len(number))), tuple(number)


def layout_of(block: Labels, n_b: Counts) -> Layout:
    """Sort units into blocks.

    Parameters
    ----------
    block : (n,) labels
        The block of each unit.
    n_b : int or mapping from block label to int
        How many units of each block get B.

    Raises
    ------
    InputError
        A block has no count, or a count does not fit its block.
    """
    members, labels = _members(block)
    faults, counts = [], []
    for label, m in zip(labels, members, strict=True):
        k = n_b.get(label) if isinstance(n_b, Mapping) else n_b
        if k is None:
            faults.append(tr("block {label!r} has no count").format(label=label))
        elif not 0 <= k <= len(m):
            faults.append(tr("block {label!r} has {n} units, so its count cannot be {k}").format(
                              label=label, n=len(m), k=k))
        counts.append(int(k or 0))
    if faults:
        raise InputError(tr("`n_b` does not fit: {faults}.").format(faults="; ".join(faults)))
    return Layout(labels, members, tuple(counts))


def layout_dealt(block: Labels, is_b: npt.ArrayLike) -> Layout:
    """Sort units into blocks, with as many B's in each as were dealt; `is_b` is (n,) bool."""
    members, labels = _members(block)
    flags = np.asarray(is_b, dtype=bool)
    if flags.shape != (len(block),):
        raise InputError(tr("`is_b` has {size} values and `block` {size2}; give one for each unit.").format(
                             size=flags.size, size2=len(block)))
    return Layout(labels, members, tuple(int(flags[m].sum()) for m in members))


def even_counts(block: Labels) -> dict[Hashable, int]:
    """Half of each block; blocks of odd size take turns to give B one fewer or one more."""
    out: dict[Hashable, int] = {}
    more = False
    for mine, label in zip(*_members(block), strict=True):
        n = len(mine)
        out[label] = (n + (n % 2 and more)) // 2
        more ^= bool(n % 2)
    return out


def all_arrangements(lay: Layout, *, chunk: int = 65_536) -> Iterator[BoolArray]:
    """Yield every allowed arrangement once, as bool matrices of up to `chunk` rows and n columns.

    Raises
    ------
    InputError
        There are more than 2^32 of them; draw instead.
    """
    total = lay.count
    if total > _LISTABLE:
        raise InputError(tr("There are {total} arrangements, too many to list; use `draw_arrangements`.").format(
                             total=total))
    ways = [_block_ways(len(m), k) for m, k in zip(lay.members, lay.n_b, strict=True)]
    for start in range(0, total, chunk):
        rest = np.arange(start, min(start + chunk, total))
        out = np.zeros((rest.size, lay.units), dtype=bool)
        for m, w in zip(lay.members, ways, strict=True):
            rest, pick = np.divmod(rest, len(w))
            out[:, m] = w[pick]
        yield out


def _block_ways(size: int, k: int) -> BoolArray:
    picks = np.array(list(itertools.combinations(range(size), k)), dtype=np.intp).reshape(math.comb(size, k), k)
    ways = np.zeros((len(picks), size), dtype=bool)
    np.put_along_axis(ways, picks, True, axis=1)
    return ways


def draw_arrangements(block: Labels, n_b: Counts, m: int, seed: int | Sequence[int]) -> BoolArray:
    """Draw m allowed arrangements, independent and equally likely, as a bool matrix (m, n)."""
    return draw_from(layout_of(block, n_b), m, seed)


def draw_from(lay: Layout, m: int, seed: int | Sequence[int]) -> BoolArray:
    """Draw m arrangements of a layout, (m, n); the same seed, a number or several, gives the same draws."""
    return np.ascontiguousarray(draw_by_unit(lay, m, seed).T)


def draw_by_unit(lay: Layout, m: int, seed: int | Sequence[int]) -> BoolArray:
    """Draw the same, unit by unit, (n, m)."""
    key = tuple(seed) if isinstance(seed, Sequence) else int(seed)
    out = np.zeros((lay.units, m), dtype=bool)
    used = 0  # random numbers, so far
    for members, k in zip(lay.members, lay.n_b, strict=True):
        size = len(members)
        block = (key, used, m, size, k)
        out[members] = _block(*block).T if m > _KNOWN_UP_TO else np.unpackbits(_packed_block(*block), axis=1, count=m)
        used += m if (size, k) == (2, 1) else m * size
    return out


def _block(seed: int | tuple[int, ...], used: int, m: int, size: int, k: int) -> BoolArray:
    """Draw m arrangements of one block, (m, size), once so many random numbers of the seed are used up."""
    rng = np.random.Generator(np.random.PCG64(seed).advance(used))
    if (size, k) == (2, 1):  # a pair needs one coin
        coin = rng.random(m) < 0.5
        return np.stack([coin, ~coin], axis=1)
    step = max(1, _AT_ONCE // size)
    # a uniform permutation holds 0..k-1 at k random places
    return np.concatenate([np.argsort(rng.random((min(step, m - start), size)), axis=1) < k
                           for start in range(0, m, step)])


@lru_cache(maxsize=1024)
def _packed_block(seed: int | tuple[int, ...], used: int, m: int, size: int, k: int) -> npt.NDArray[np.uint8]:
    """The same in bits, unit by unit, kept: thousands of simulated trials that lost other units often share blocks."""
    return np.packbits(_block(seed, used, m, size, k).T, axis=1)


def deal(block: Labels, n_b: Counts | None = None, *, seed: int) -> BoolArray:
    """Deal B at random within blocks.

    Parameters
    ----------
    block : (n,) labels
        The block of each unit.
    n_b : int, mapping or None
        How many B's a block gets; None: half (`even_counts`).
    seed : int
        Stored with the plan, so that the deal can be repeated.

    Returns
    -------
    (n,) bool
        True where the unit is dealt B.
    """
    return draw_arrangements(block, even_counts(block) if n_b is None else n_b, 1, seed)[0]


def deal_box(reeds: int, how: str, *, seed: int, number: int) -> tuple[tuple[str, ...], BoolArray]:
    """Deal one box of a standing trial: all follows from the seed of the plan and the number of the box.

    Parameters
    ----------
    reeds : int
        Reeds dealt, in the order of their first play; at least two.
    how : {"box", "fours"}
        One matched set, or fours of neighbours; one, two or three left over join the last four.
    seed : int
    number : int
        Which box of the trial, 1 first. Of an odd set the first way gets one more in boxes 1, 3, 5, ..., the second
        in the others.

    Returns
    -------
    the matched set of each reed, and (reeds,) True where it is dealt the second way
    """
    if reeds < 2:
        raise InputError(trn("There is {n} reed to deal; a box needs at least two, one for each way.",
                             "There are {n} reeds to deal; a box needs at least two, one for each way.",
                             reeds).format(n=reeds))
    sets = 1 if how == "box" else max(1, reeds // 4)
    labels = tuple(f"{number}.{min(i // 4, sets - 1) + 1}" if how == "fours" else str(number) for i in range(reeds))
    sizes = {label: labels.count(label) for label in labels}
    counts: dict[Hashable, int] = {label: (n + (n % 2) * (number % 2 == 0)) // 2 for label, n in sizes.items()}
    return labels, draw_arrangements(labels, counts, 1, (seed, number))[0]
