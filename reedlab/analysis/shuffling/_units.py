"""Input checks shared by `compare` and `compare_lives`: which units stay, who is B, which blocks hold."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...errors import InputError
from ...trial.arrays import BoolArray, IntArray
from ...wording import tr

__all__ = ["Units", "check_options", "column", "columns", "gather", "numbers", "rows"]


@dataclass(frozen=True)
class Units:
    """What is left to compare: `keep` positions into the input, `is_b` and `block` codes of those.

    `every_b` and `every_block` are the same for all units of the input; blocks are numbered as they first appear.
    """

    labels: tuple[Any, Any]
    keep: IntArray
    is_b: BoolArray
    block: IntArray
    blocks_used: int
    dropped: tuple[str, ...]
    every_b: BoolArray
    every_block: IntArray

    @property
    def counts(self) -> tuple[int, int]:
        """Units of A and of B."""
        b = int(self.is_b.sum())
        return self.is_b.size - b, b


def rows(where: npt.ArrayLike) -> str:
    """Name the first few places that are True, counted from 1."""
    at = [str(i + 1) for i in np.flatnonzero(np.asarray(where))]
    return ("row " if len(at) == 1 else "rows ") + ", ".join(at[:5]) + (", ..." if len(at) > 5 else "")


def column(values: Any, name: str, faults: list[str]) -> list[Any]:
    """Read one column of plain values; numpy scalars become Python's own, anything missing None."""
    try:
        if getattr(values, "ndim", 1) != 1:
            raise TypeError
        out = [x.item() if isinstance(x, np.generic) else x for x in values]
        empty = [pd.isna(x) is True for x in out]
        for x in out:
            hash(x)
    except TypeError:
        faults.append(tr("`{name}` must be one plain column, a value for each unit").format(name=name))
        return []
    return [None if e else x for x, e in zip(out, empty, strict=True)]


def columns(data: pd.DataFrame | None, faults: list[str], **named: Any) -> list[Any]:
    """Return arguments as they are or, where there is `data`, its columns of these names; None stays None."""
    if data is None:
        return list(named.values())
    if not isinstance(data, pd.DataFrame):
        raise InputError(tr("`data` must be a DataFrame with one row for each unit, got {name}.").format(
                             name=type(data).__name__))
    for argument, name in named.items():
        if name is not None and not (isinstance(name, str) and name in data.columns):
            faults.append(tr("`{argument}` must name a column of `data` ({map}), got {name!r}").format(
                              argument=argument, map=", ".join(map(str, data.columns)), name=name))
    if faults:
        raise InputError("; ".join(faults) + ".")
    return [None if name is None else data[name] for name in named.values()]


def numbers(values: Any, name: str, faults: list[str]) -> npt.NDArray[np.float64]:
    """Read a column of numbers, nan where empty; words and infinities are faults."""
    read = column(values, name, faults)
    out, words = np.full(len(read), np.nan), np.zeros(len(read), dtype=bool)
    for i, x in enumerate(read):
        try:
            out[i] = np.nan if x is None else float(x)
        except (TypeError, ValueError):
            words[i] = True
    if words.any():
        first = read[int(np.flatnonzero(words)[0])]
        faults.append(tr("`{name}` holds {first!r} at {rows}; wanted a number or an empty value").format(
                          name=name, first=first, rows=rows(words)))
    if np.isinf(out).any():
        faults.append(tr("`{name}` is without end at {rows}; wanted a number or an empty value").format(
                          name=name, rows=rows(np.isinf(out))))
    return out


def check_options(level: float, matters: float | None, least: float, seed: int | None,
                  faults: list[str]) -> None:
    """Check the options both comparisons share; `matters` must exceed `least`."""
    if not (isinstance(level, int | float | np.number) and 0 < level < 1):
        faults.append(tr("`level` is {level!r}; wanted between 0 and 1, such as 0.95").format(level=level))
    if matters is not None and not (
            isinstance(matters, int | float | np.number) and math.isfinite(matters) and matters > least):
        faults.append(tr("`matters` is {matters!r}; wanted a number above {least:g}, or None").format(
                          matters=matters, least=least))
    if seed is not None and not (isinstance(seed, int | np.integer) and seed >= 0):
        faults.append(tr("`seed` is {seed!r}; wanted a whole number from 0 up, or None").format(seed=seed))


def gather(present: BoolArray, arm: Any, block: Any, faults: list[str]) -> Units:
    """Sort out arms and blocks and leave out what cannot be compared.

    Units that are not `present` leave first; then every block that has lost an arm leaves.

    Raises
    ------
    InputError
        Names every fault found so far and here.
    """
    n = present.size
    arms = pd.Series(column(arm, "arm", faults), dtype=object)
    blocks = pd.Series([0] * n if block is None else column(block, "block", faults), dtype=object)
    for name, read in (("arm", arms), ("block", blocks)):
        if len(read) != n:
            faults.append(tr("`{name}` has {n} values for {n2} units; give one for each unit").format(
                              name=name, n=len(read), n2=n))
        if read.isna().any():
            faults.append(tr("`{name}` is empty at {rows}; every unit needs one").format(
                              name=name, rows=rows(read.isna())))
    labels = list(pd.unique(arms.dropna()))
    if len(labels) != 2:
        got = ", ".join(repr(x) for x in labels[:5]) or "none"
        faults.append(tr("`arm` must hold exactly two different labels, got {n} ({got})").format(
                          n=len(labels), got=got))
    try:
        labels = sorted(labels)
    except TypeError:
        faults.append(tr("`arm` mixes kinds of label ({x}); write both as words or both as numbers").format(
                          x=", ".join(repr(x) for x in labels[:5])))
    if faults:
        raise InputError("; ".join(faults) + ".")
    codes, names = pd.factorize(blocks)
    is_b = (arms == labels[1]).to_numpy(dtype=bool)
    size = np.bincount(codes[present], minlength=len(names))
    n_b = np.bincount(codes[present & is_b], minlength=len(names))
    whole = (n_b > 0) & (n_b < size)
    keep = np.flatnonzero(present & whole[codes]) if n else np.zeros(0, dtype=np.intp)
    dropped = tuple(sorted(str(x) for x, w, s in zip(names, whole, size, strict=True) if s and not w))
    return Units((labels[0], labels[1]), keep, is_b[keep], codes[keep].astype(np.intp),
                 int(whole.sum()), dropped, is_b, codes.astype(np.intp))
