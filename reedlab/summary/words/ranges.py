"""A range with its level and its words, which cannot part: which true gaps the log leaves room for, and how surely."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from ...trial.outcomes import OUTCOMES, no_gap
from ...trial.result import Finding
from ...wording import language, tr
from .. import numbers
from ..case import Case

__all__ = ["Range", "same_numbers", "told_range"]

_NO_END: Final = tr("no upper end can be given")
# Both ends favour one habit; one end, or each end, favours its own; one end is no gap at all.
_GAP: Final = {
    "within": tr("{by}, the true gap{over} could be from {near} to {far} in favour of {name}."),
    "beyond": tr("{by}, the true gap{over} could be {near} or more in favour of {name}; {no_end}."),
    "both": tr("{by}, the true gap{over} could be up to {a_far} in favour of {a}, or up to {b_far} in favour of {b}."),
    "one_open": tr("{by}, the true gap{over} could be up to {far} in favour of {name}; in favour of {other}, "
                   "{no_end}."),
    "from_none": tr("{by}, the true gap{over} could be anything from none at all to {far} in favour of {name}."),
    "from_none_open": tr("{by}, there could be no gap at all{over}, or one in favour of {name}; for that one, "
                         "{no_end}."),
    "none": tr("{by}, there is no gap at all."),
    "open": tr("The range has no end on either side, so the size of the gap is open."),
}
_LIVES: Final = {
    "within": tr("{by}, reeds could {do} from {near} to {far} as long with {name}."),
    "beyond": tr("{by}, reeds could {do} {near} as long or more with {name}; {no_end}."),
    "both": tr("{by}, reeds could {do} up to {a_far} as long with {a}, or up to {b_far} as long with {b}."),
    "one_open": tr("{by}, reeds could {do} up to {far} as long with {name}; if they {do} longer with {other}, "
                   "{no_end}."),
    "from_none": tr("{by}, reeds could {do} anything from just as long to {far} as long with {name}."),
    "from_none_open": tr("{by}, reeds could {do} just as long either way, or longer with {name}; for that, {no_end}."),
    "none": _GAP["none"], "open": _GAP["open"],
}
_BY_LOG: Final = tr("Going by your log")


@dataclass(frozen=True)
class Range:
    """The gaps that are not ruled out, from `low` to `high` (own units, B minus A or B over A), and how surely.

    `level` is the share of such ranges that hold the true gap; what is said of it comes from here alone.
    """

    found: Finding
    low: float
    high: float
    level: float

    @classmethod
    def of(cls, found: Finding) -> Range:
        """Return the range that a winner is judged by."""
        return cls(found, found.low, found.high, found.level)

    @classmethod
    def of_sameness(cls, found: Finding) -> Range:
        """Return the range that "no difference that matters" is judged by: at 90 in 100, higher in a repeat."""
        return cls(found, found.low90, found.high90, found.same_level)

    @property
    def zero(self) -> float:
        """No gap: 0, or a ratio of 1."""
        return no_gap(self.found.scale)

    @property
    def open_low(self) -> bool:
        """Whether it has no lower end."""
        return self.low == 0 if self.found.scale == "ratio" else math.isinf(self.low)

    @property
    def open_high(self) -> bool:
        """Whether it has no upper end."""
        return math.isinf(self.high)

    @property
    def is_open(self) -> bool:
        """Whether it has no end on either side, so that not even a direction can be told."""
        return self.open_low and self.open_high

    @property
    def side(self) -> str | None:
        """The side that all of it favours; None where no gap, or either side, is possible."""
        if math.isnan(self.found.estimate):
            return None
        return "B" if self.low > self.zero else "A" if self.high < self.zero else None

    def inside(self, matters: float) -> bool:
        """Whether all of it is less than what matters (points, or a ratio above 1)."""
        low, high = (1 / matters, matters) if self.found.scale == "ratio" else (-matters, matters)
        return low < self.low and self.high < high

    @property
    def out_of(self) -> str:
        """The level as a count: "95 in 100"."""
        hits, of = numbers.out_of(self.level)
        return tr("{hits} in {of}").format(hits=hits, of=of)

    def cover(self, *, shown: bool = False) -> str:
        """Return what the level means; `shown`: of the gap as the ratings show it, which is not the true one."""
        hits, of = numbers.out_of(self.level)
        if shown:
            return tr("Ranges worked out like this one hold the gap, as your ratings show it, in about {hits} of {of} "
                      "trials.").format(hits=hits, of=of)
        return tr("Ranges worked out like this one hold the true gap in about {hits} of {of} trials.").format(
                   hits=hits, of=of)

    def sentence(self, case: Case, by: str = _BY_LOG, *, level: bool = False) -> str:
        """Return what true gaps are left room for; with `level`, a short sentence on how surely follows."""
        said = self._sentence(case, by)
        if not level or self.is_open or self.low == self.high:
            return said
        hits, of = numbers.out_of(self.level)
        return tr("{said} Such a range holds in about {hits} of {of} trials.").format(said=said, hits=hits, of=of)

    def _sentence(self, case: Case, by: str) -> str:
        shown = {
            "by": by, "no_end": _NO_END,
            "over": " " + tr("over {hours}").format(hours=numbers.hours(case.span))
                    if OUTCOMES[self.found.outcome].per_hour else "",
            "do": tr("stay good") if case.kind_of(self.found.outcome) == "good" else tr("last"),
        }
        return self.put(case, _LIVES if self.found.scale == "ratio" else _GAP, _short, **shown)

    def put(self, case: Case, said: Mapping[str, str], near_as: Callable[[str, str], str], **shown: str) -> str:
        """Return the one of the sentences `said` that fits how the range lies, `near_as` putting its near end."""
        if self.is_open:
            return said["open"]
        low, high, zero = self.low, self.high, self.zero
        if low > zero or high < zero:
            side, near, far = ("B", low, high) if low > zero else ("A", high, low)
            if self.open_low or self.open_high:
                return said["beyond"].format(near=self._told(case, near), name=case.name(side), **shown)
            told = self._told(case, far)
            return said["within"].format(near=near_as(self._told(case, near), told), far=told, name=case.name(side),
                                         **shown)
        if low == zero and high == zero:
            return said["none"].format(**shown)
        if low == zero or high == zero:
            side, end, is_open = ("B", high, self.open_high) if low == zero else ("A", low, self.open_low)
            return said["from_none_open" if is_open else "from_none"].format(
                far="" if is_open else self._told(case, end), name=case.name(side), **shown)
        if self.open_low or self.open_high:
            side, end = ("B", high) if self.open_low else ("A", low)
            return said["one_open"].format(far=self._told(case, end), name=case.name(side), other=case.other(side),
                                           **shown)
        return said["both"].format(a_far=self._told(case, low), b_far=self._told(case, high), a=case.name("A"),
                                   b=case.name("B"), **shown)

    def _told(self, case: Case, x: float) -> str:
        return case.size(self.found, x if self.found.scale == "ratio" else x * case.unit_scale(self.found.outcome))


def told_range(case: Case, found: Finding | None = None) -> Range:
    """Return the range that a finding, else the main one, is told by: the one that the verdict was judged by."""
    found = found or case.main
    assert found is not None
    return (Range.of_sameness if case.verdict == "no_real_difference" else Range.of)(found)


def same_numbers(one: Finding, other: Finding, *also: str) -> bool:
    """Say whether two readings come to the same gap and range, and to the same numbers of these names."""
    pairs = ((getattr(one, name), getattr(other, name)) for name in ("estimate", "low", "high", *also))
    return all((math.isnan(a) and math.isnan(b)) or a == b or math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
               for a, b in pairs)


def _short(near: str, far: str) -> str:
    """Return "0.3" before "2.1 points": in English the unit once, unless an end has its own way of being said."""
    if language() == "en" and far[0].isdigit() and not near.startswith(("half", "twice")):
        return near.rsplit(" ", 1)[0]
    return near
