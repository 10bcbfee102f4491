"""What plain data from a file must look like, before anybody asks what they mean. Pure.

A shape says of one value what is wrong with it and where, in words. A file that has the right shape holds texts
where texts belong, numbers of a sensible size, and nothing that is not known; its meaning is checked afterwards.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any, Final, NamedTuple, NoReturn, Protocol

from ..errors import ExchangeError, Fault
from ..wording import tr

__all__ = ["Either", "Flag", "Many", "Maybe", "Misfit", "Named", "Number", "Row", "Shape", "Text", "Thing", "be_like",
           "read_json", "unlike"]

_BAD_LETTERS: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\ud800-\udfff]")
_TOLD: Final = 20  # faults named of one file; a file with more is another kind of file


class Misfit(NamedTuple):
    """One value at fault: its place such as ``habits[2].name``, what was found and what is wanted."""

    place: str
    found: str
    wanted: str

    def __str__(self) -> str:
        return tr("`{place}`: found {found}; wanted {wanted}").format(
                   place=self.place, found=self.found, wanted=self.wanted)


class Shape(Protocol):
    """What one value must look like."""

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong with a value, and where."""
        ...


@dataclass(frozen=True)
class Text:
    """A text of at most `longest` characters, without control characters or halves of characters."""

    longest: int = 200
    choices: tuple[str, ...] = ()
    pattern: str | None = None
    words: str = tr("a text")

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if not isinstance(value, str):
            yield Misfit(place, _kind(value), self.words)
        elif len(value) > self.longest:
            yield Misfit(place, tr("{n} characters").format(
                                    n=len(value)), tr("at most {longest}").format(longest=self.longest))
        elif _BAD_LETTERS.search(value):
            yield Misfit(place, tr("characters that no text has"), self.words)
        elif self.choices and value not in self.choices:
            yield Misfit(place, _short(value), tr("one of {choices}").format(choices=", ".join(self.choices)))
        elif self.pattern is not None and not re.fullmatch(self.pattern, value):
            yield Misfit(place, _short(value), self.words)


@dataclass(frozen=True)
class Number:
    """A number from `low` to `high`; `whole` where it has no fraction."""

    low: float
    high: float
    whole: bool = False

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        want = tr("a whole number from {low:g} to {high:g}") if self.whole else tr("a number from {low:g} to {high:g}")
        want = want.format(low=self.low, high=self.high)
        if isinstance(value, bool) or not isinstance(value, int if self.whole else int | float):
            yield Misfit(place, _kind(value), want)
        elif not self.low <= value <= self.high:
            yield Misfit(place, _kind(value) if _huge(value) else f"{value:g}", want)


@dataclass(frozen=True)
class Flag:
    """True or false."""

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if not isinstance(value, bool):
            yield Misfit(place, _kind(value), tr("true or false"))


@dataclass(frozen=True)
class Maybe:
    """Nothing, or a value of another shape."""

    of: Shape

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if value is not None:
            yield from self.of.faults(value, place)


@dataclass(frozen=True)
class Many:
    """A list of values of one shape, from `least` to `most` of them."""

    of: Shape
    least: int = 0
    most: int = 100_000

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if not isinstance(value, list):
            yield Misfit(place, _kind(value), tr("a list"))
        elif not self.least <= len(value) <= self.most:
            want = f"{self.least}" if self.least == self.most else f"{self.least} to {self.most}"
            yield Misfit(place, tr("a list of {n}").format(n=len(value)), want)
        else:
            for n, one in enumerate(value, start=1):
                yield from self.of.faults(one, f"{place}[{n}]")


@dataclass(frozen=True)
class Row:
    """A list with one value for each of these shapes, in order."""

    of: tuple[Shape, ...]

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if not isinstance(value, list):
            yield Misfit(place, _kind(value), tr("a list of {n}").format(n=len(self.of)))
        elif len(value) != len(self.of):
            yield Misfit(place, tr("a list of {n}").format(n=len(value)), tr("a list of {n}").format(n=len(self.of)))
        else:
            for n, (shape, one) in enumerate(zip(self.of, value, strict=True), start=1):
                yield from shape.faults(one, f"{place}[{n}]")


@dataclass(frozen=True)
class Thing:
    """Named values, each of its own shape. Those in `may_lack` may be left out; no others may stand there."""

    of: Mapping[str, Shape]
    may_lack: frozenset[str] = frozenset()

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if not isinstance(value, dict):
            yield Misfit(place, _kind(value), tr("named values"))
            return
        before = f"{place}." if place else ""
        for name in value:
            if name not in self.of:
                yield Misfit(f"{before}{_short(name)[1:-1]}", tr("a field that is not known"), tr("none of this name"))
        for name, shape in self.of.items():
            if name in value:
                yield from shape.faults(value[name], f"{before}{name}")
            elif name not in self.may_lack:
                yield Misfit(f"{before}{name}", tr("nothing"), tr("this field"))


@dataclass(frozen=True)
class Named:
    """Values of one shape under any names, at most `most` of them."""

    of: Shape
    most: int = 5_000

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if not isinstance(value, dict):
            yield Misfit(place, _kind(value), tr("named values"))
        elif len(value) > self.most:
            yield Misfit(place, tr("{n} values").format(n=len(value)), tr("at most {n}").format(n=self.most))
        else:
            for name, one in value.items():
                yield from self.of.faults(one, f"{place}.{_short(name)[1:-1]}")


@dataclass(frozen=True)
class Either:
    """A value of one of two shapes; what is wrong is told as for the first."""

    one: Shape
    other: Shape

    def faults(self, value: Any, place: str) -> Iterator[Misfit]:
        """Yield what is wrong."""
        if any(True for _ in self.other.faults(value, place)):
            yield from self.one.faults(value, place)


def unlike(shape: Shape, value: Any) -> list[Misfit]:
    """Return what is wrong with a value, the first twenty faults; an empty list if nothing is."""
    return list(islice(shape.faults(value, ""), _TOLD))


def be_like(shape: Shape, value: Any, file: str) -> None:
    """Raise ExchangeError, with every fault by the file's name and the place in it, unless a value has a shape."""
    bad = unlike(shape, value)
    if bad:
        raise ExchangeError([Fault(file, None, f.place, f.found, f.wanted) for f in bad])


def read_json(text: str) -> Any:
    """Read a JSON text; ValueError where it is none, nests without end, or holds numbers that are none."""
    def no_number(word: str) -> NoReturn:
        raise ValueError(f"{word} is no number")

    def number(digits: str) -> float:
        found = float(digits)
        if not math.isfinite(found):
            no_number(digits[:20])
        return found

    try:
        return json.loads(text, parse_constant=no_number, parse_float=number)
    except RecursionError:
        raise ValueError("it nests without end") from None


def _huge(value: float) -> bool:
    return abs(value) > 1e15


def _kind(value: Any) -> str:
    if value is None:
        return tr("nothing")
    if isinstance(value, bool):
        return tr("true") if value else tr("false")
    if isinstance(value, int | float):
        return tr("a very large number") if _huge(value) else tr("the number {value:g}").format(value=value)
    if isinstance(value, str):
        return tr("the text {short}").format(short=_short(value))
    return tr("a list") if isinstance(value, list) else tr("named values")


def _short(text: str) -> str:
    text = text if len(text) <= 30 else text[:27] + "..."
    return "'" + "".join(c if c.isprintable() else "?" for c in text) + "'"
