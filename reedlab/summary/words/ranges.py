"""The range in a sentence: which true gaps the log leaves room for, and where no end can be given."""

from __future__ import annotations

import math
from typing import Final

from ...result import Finding
from .. import numbers
from ..case import Case, Gap

__all__ = ["range_sentence"]

_NO_END: Final = "no upper end can be given"
# Both ends favour one habit; one end, or each end, favours its own; one end is no gap at all.
_GAP: Final = {
    "within": "Going by your log, the true gap{over} could be from {near} to {far} in favour of {name}.",
    "beyond": "Going by your log, the true gap{over} is at least {near} in favour of {name}; " + _NO_END + ".",
    "both": "Going by your log, the true gap{over} could be up to {a_far} in favour of {a}, or up to {b_far} in "
            "favour of {b}.",
    "one_open": "Going by your log, the true gap{over} could be up to {far} in favour of {name}; in favour of "
                "{other}, " + _NO_END + ".",
    "from_none": "Going by your log, the true gap{over} could be anything from none at all to {far} in favour of "
                 "{name}.",
    "from_none_open": "Going by your log, there could be no gap at all{over}, or one in favour of {name}; for "
                      "that one, " + _NO_END + ".",
}
_LIVES: Final = {
    "within": "Going by your log, reeds could {do} from {near} to {far} as long with {name}.",
    "beyond": "Going by your log, reeds {do} at least {near} as long with {name}; " + _NO_END + ".",
    "both": "Going by your log, reeds could {do} up to {a_far} as long with {a}, or up to {b_far} as long with "
            "{b}.",
    "one_open": "Going by your log, reeds could {do} up to {far} as long with {name}; if they {do} longer with "
                "{other}, " + _NO_END + ".",
    "from_none": "Going by your log, reeds could {do} anything from just as long to {far} as long with {name}.",
    "from_none_open": "Going by your log, reeds could {do} just as long either way, or longer with {name}; for "
                      "that, " + _NO_END + ".",
}
_OPEN: Final = "The range has no end on either side, so the size of the gap is open."


def range_sentence(case: Case, found: Finding, low: float, high: float) -> str:
    """Return what true gaps the log leaves room for, from `low` to `high` (own units, B minus A or B over A)."""
    ratio = found.scale == "ratio"
    zero = 1.0 if ratio else 0.0
    open_low, open_high = (low == 0) if ratio else math.isinf(low), math.isinf(high)
    if open_low and open_high:
        return _OPEN
    names = {"a": case.name("A"), "b": case.name("B")}
    shown = {
        "over": f" over {numbers.hours(case.span)}" if found.outcome == "wear_rate" else "",
        "do": "stay good" if case.kind_of(found.outcome) == "good" else "last",
    }
    ends = {"A": _End(case, found, low, open_low), "B": _End(case, found, high, open_high)}
    said = _LIVES if ratio else _GAP
    if low > zero or high < zero:
        side = "B" if low > zero else "A"
        gap = Gap(math.nan, low, high) if side == "B" else Gap(math.nan, high, low)
        near = _told(case, found, gap.low)
        if open_low or open_high:
            return said["beyond"].format(near=near, name=case.name(side), **shown)
        far = _told(case, found, gap.high)
        return said["within"].format(near=_short(near, far), far=far, name=case.name(side), **shown)
    if low == zero and high == zero:
        return "Going by your log, there is no gap at all."
    if low == zero or high == zero:
        side = "B" if low == zero else "A"
        key = "from_none_open" if ends[side].is_open else "from_none"
        return said[key].format(far=ends[side].told, name=case.name(side), **shown)
    if open_low or open_high:
        side, other = ("B", "A") if open_low else ("A", "B")
        return said["one_open"].format(far=ends[side].told, name=case.name(side), other=case.name(other), **shown)
    return said["both"].format(a_far=ends["A"].told, b_far=ends["B"].told, **names, **shown)


class _End:
    """One end of a range: told as a size, or open."""

    def __init__(self, case: Case, found: Finding, x: float, is_open: bool) -> None:
        self.is_open = is_open
        self.told = "" if is_open else _told(case, found, x)


def _told(case: Case, found: Finding, x: float) -> str:
    return case.size(found, x if found.scale == "ratio" else x * case.unit_scale(found.outcome))


def _short(near: str, far: str) -> str:
    """Return "0.3" before "2.1 points": the unit once, unless an end has its own way of being said."""
    if far[0].isdigit() and not near.startswith(("half", "twice")):
        return near.rsplit(" ", 1)[0]
    return near
