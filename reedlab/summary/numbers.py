"""Numbers as a player reads them: rounded to what the data can carry, chances as counts.

A rounded number never crosses a line that the exact one does not: 0.04 beside a line at 0 is not
shown as 0, and 0.48 beside a line at 0.5 is not shown as 0.5.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Final

from ..wording import tr, trn

__all__ = [
    "chance",
    "count",
    "hours",
    "out_of",
    "points",
    "rare",
    "rounded",
    "share",
    "size",
    "step_for",
    "times",
    "times_in_100",
    "times_over",
    "weeks",
]


def _side(x: float, line: float) -> int:
    return (x > line + 1e-12) - (x < line - 1e-12)


def rounded(x: float, step: float = 0.1, lines: Iterable[float] = ()) -> str:
    """Return `x` rounded to `step`, more finely where rounding would put it on or across one of `lines`.

    No trailing zeros; at most three decimals.
    """
    lines = tuple(lines)
    for finer in (step, 0.1, 0.05, 0.01, 0.001):
        if finer > step:
            continue
        y = math.copysign(math.floor(abs(x) / finer + 0.5 + 1e-9), x) * finer  # halves away from 0
        if all(_side(y, v) == _side(x, v) for v in lines):
            break
    text = f"{y:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def step_for(low: float, high: float) -> float:
    """Return how finely a size may be told, from the width of its range: 0.1, or 0.5 where that is wide."""
    width = high - low
    if math.isfinite(width) and width < 0.2:
        return 0.01
    return 0.1 if not math.isfinite(width) or width <= 4 else 0.5


def points(text: str, noun: str = "point") -> str:
    """Return a rounded number with its noun, a "point" or a "step": "half a point", "1 point", "0.3 points"."""
    if text == "0.5":
        return tr("half a step") if noun == "step" else tr("half a point")
    n = 1 if text == "1" else 2
    said = trn("{n} step", "{n} steps", n) if noun == "step" else trn("{n} point", "{n} points", n)
    return said.format(n=text)


def size(x: float, noun: str = "point", step: float = 0.1, lines: Iterable[float] = ()) -> str:
    """Return a size in points or steps, without its sign; one too small to round is "almost 0 points"."""
    text = rounded(abs(x), step, [abs(v) for v in lines])
    return points(tr("almost 0") if text == "0" and x != 0 else text, noun)


def times(ratio: float, lines: Iterable[float] = ()) -> str:
    """Return a ratio of 1 or more as "1.8 times", "twice"."""
    step = 0.1 if ratio < 4 else 0.5 if ratio < 10 else 1.0
    text = rounded(ratio, step, lines)
    return tr("twice") if text == "2" else tr("{n} times").format(n=text)


def hours(h: float) -> str:
    """Return playing hours: "half an hour", "1 playing hour", "12 playing hours"."""
    if h <= 0:
        return tr("no playing")
    if h < 0.75:
        return tr("half an hour of playing") if h >= 0.25 else tr("a few minutes of playing")
    n = math.floor(h + 0.5) if h >= 3 else math.floor(h * 2 + 0.5) / 2
    return tr("1 playing hour") if n == 1 else tr("{n:g} playing hours").format(n=n)


def chance(p: float) -> str:
    """Return how often, as a count out of 100; finer only below 1 in 1,000, where an early look is judged.

    Around 5 in 100, where a verdict turns, it says on which side of it the number lies.
    """
    if p <= 0.001:
        return tr("at most 1 time in 1,000")
    if p < 0.01:
        return tr("fewer than 1 time in 100")
    if p > 0.995:
        return tr("nearly every time") if p < 1 - 1e-12 else tr("every time")
    if 0.045 <= p < 0.05 - 1e-9:
        return tr("just under 5 times in 100")
    if 0.05 + 1e-9 < p < 0.055:
        return tr("just over 5 times in 100")
    n = min(99, max(1, round(100 * p)))
    return times_in_100(n)


def times_in_100(n: int) -> str:
    """Return "about 3 times in 100"."""
    return trn("about {n} time in 100", "about {n} times in 100", n).format(n=n)


def rare(p: float) -> str:
    """Return a rare chance as a count: "at most once in 800 times"."""
    n = math.ceil(1 / p - 1e-9)
    return tr("at most once in {n:,} times").format(n=n if n < 100 else math.ceil(n / 100) * 100)


def out_of(level: float) -> tuple[str, str]:
    """Return a level as "95", "100", or where that is too coarse as "951", "1,000"."""
    n = math.floor(1000 * level + 1e-9)
    return (f"{n:,}", "1,000") if n % 10 else (str(n // 10), "100")


def share(x: float) -> str:
    """Return a share as a count out of 100: "12 in 100"; tiny ones as "fewer than 1 in 100"."""
    if 0 < x < 0.01:
        return tr("fewer than 1 in 100")
    if 0.99 < x < 1:
        return tr("more than 99 in 100")
    return tr("{x} in 100").format(x=round(100 * x))


def times_over(n: float) -> str:
    """Return how often: "once", "twice", "3 times"."""
    whole = round(n)
    return {1: tr("once"), 2: tr("twice")}.get(whole, tr("{n} times").format(n=f"{whole:,}"))


def weeks(n: float) -> str:
    """Return a length of time: "9 weeks", from two years on "3 years"."""
    return count(n / 52.18, "year") if n >= 100 else count(max(1.0, n), "week")


def count(n: float, noun: str) -> str:
    """Return a count with its noun, one of those below: "1 reed", "12 reeds", "no reeds"."""
    whole = round(n)
    return _COUNTED[noun](whole).format(n=tr("no") if whole == 0 else f"{whole:,}")


_COUNTED: Final[Mapping[str, Callable[[int], str]]] = {
    "box": lambda n: trn("{n} box", "{n} boxes", n),
    "day": lambda n: trn("{n} day", "{n} days", n),
    "day of play": lambda n: trn("{n} day of play", "{n} days of play", n),
    "draw": lambda n: trn("{n} draw", "{n} draws", n),
    "entry": lambda n: trn("{n} entry", "{n} entries", n),
    "matched set": lambda n: trn("{n} matched set", "{n} matched sets", n),
    "month": lambda n: trn("{n} month", "{n} months", n),
    "more reed": lambda n: trn("{n} more reed", "{n} more reeds", n),
    "pair": lambda n: trn("{n} pair", "{n} pairs", n),
    "pair of days": lambda n: trn("{n} pair of days", "{n} pairs of days", n),
    "pair of ratings": lambda n: trn("{n} pair of ratings", "{n} pairs of ratings", n),
    "planned pair": lambda n: trn("{n} planned pair", "{n} planned pairs", n),
    "planned rating": lambda n: trn("{n} planned rating", "{n} planned ratings", n),
    "rating": lambda n: trn("{n} rating", "{n} ratings", n),
    "reed": lambda n: trn("{n} reed", "{n} reeds", n),
    "reed and day": lambda n: trn("{n} reed and day", "{n} times a reed", n),
    "set": lambda n: trn("{n} set", "{n} sets", n),
    "pair set": lambda n: trn("{n} set of pairs", "{n} sets of pairs", n),
    "sitting": lambda n: trn("{n} sitting", "{n} sittings", n),
    "swap": lambda n: trn("{n} swap", "{n} swaps", n),
    "trial": lambda n: trn("{n} trial", "{n} trials", n),
    "value": lambda n: trn("{n} value", "{n} values", n),
    "week": lambda n: trn("{n} week", "{n} weeks", n),
    "year": lambda n: trn("{n} year", "{n} years", n),
}
