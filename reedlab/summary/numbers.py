"""Numbers as a player reads them: rounded to what the data can carry, chances as counts.

A rounded number never crosses a line that the exact one does not: 0.04 beside a line at 0 is not
shown as 0, and 0.48 beside a line at 0.5 is not shown as 0.5.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

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
    """Return a rounded number with its noun: "half a point", "1 point", "0.3 points"."""
    if text == "0.5":
        return f"half a {noun}"
    return f"{text} {noun}" if text == "1" else f"{text} {noun}s"


def size(x: float, noun: str = "point", step: float = 0.1, lines: Iterable[float] = ()) -> str:
    """Return a size in points or steps, without its sign; one too small to round is "almost 0 points"."""
    text = rounded(abs(x), step, [abs(v) for v in lines])
    return f"almost 0 {noun}s" if text == "0" and x != 0 else points(text, noun)


def times(ratio: float, lines: Iterable[float] = ()) -> str:
    """Return a ratio of 1 or more as "1.8 times", "twice"."""
    step = 0.1 if ratio < 4 else 0.5 if ratio < 10 else 1.0
    text = rounded(ratio, step, lines)
    return "twice" if text == "2" else f"{text} times"


def hours(h: float) -> str:
    """Return playing hours: "half an hour", "1 playing hour", "12 playing hours"."""
    if h <= 0:
        return "no playing"
    if h < 0.75:
        return "half an hour of playing" if h >= 0.25 else "a few minutes of playing"
    n = math.floor(h + 0.5) if h >= 3 else math.floor(h * 2 + 0.5) / 2
    return "1 playing hour" if n == 1 else f"{n:g} playing hours"


def chance(p: float) -> str:
    """Return how often, as a count out of 100; finer only below 1 in 1,000, where an early look is judged.

    Around 5 in 100, where a verdict turns, it says on which side of it the number lies.
    """
    if p <= 0.001:
        return "at most 1 time in 1,000"
    if p < 0.01:
        return "fewer than 1 time in 100"
    if p > 0.995:
        return "nearly every time" if p < 1 - 1e-12 else "every time"
    if 0.045 <= p < 0.05 - 1e-9:
        return "just under 5 times in 100"
    if 0.05 + 1e-9 < p < 0.055:
        return "just over 5 times in 100"
    n = min(99, max(1, round(100 * p)))
    return f"about {n} time{'s' if n != 1 else ''} in 100"


def rare(p: float) -> str:
    """Return a rare chance as a count: "at most once in 800 times"."""
    n = math.ceil(1 / p - 1e-9)
    return f"at most once in {n if n < 100 else math.ceil(n / 100) * 100:,} times"


def out_of(level: float) -> tuple[str, str]:
    """Return a level as "95", "100", or where that is too coarse as "951", "1,000"."""
    n = math.floor(1000 * level + 1e-9)
    return (f"{n:,}", "1,000") if n % 10 else (str(n // 10), "100")


def share(x: float) -> str:
    """Return a share as a count out of 100: "12 in 100"; tiny ones as "fewer than 1 in 100"."""
    if 0 < x < 0.01:
        return "fewer than 1 in 100"
    if 0.99 < x < 1:
        return "more than 99 in 100"
    return f"{round(100 * x)} in 100"


def times_over(n: float) -> str:
    """Return how often: "once", "twice", "3 times"."""
    whole = round(n)
    return {1: "once", 2: "twice"}.get(whole, f"{whole:,} times")


def weeks(n: float) -> str:
    """Return a length of time: "9 weeks", from two years on "3 years"."""
    return count(n / 52.18, "year") if n >= 100 else count(max(1.0, n), "week")


def count(n: float, noun: str, plural: str | None = None) -> str:
    """Return a count with its noun: "1 reed", "12 reeds", "no reeds"."""
    whole = round(n)
    said = "no" if whole == 0 else f"{whole:,}"
    return f"{said} {noun if whole == 1 else plural or noun + 's'}"
