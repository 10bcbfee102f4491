"""Back to back: the words for a pair, the same on every face."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from ..rows.tables import RATING_WORDS, TABLES
from ..wording import tr
from .protocol import Habit, Protocol

__all__ = ["ASKED", "HOW", "answers_to", "choices", "first_then", "in_words", "of_ratings", "said", "told_steps",
           "told_way"]

#: What a difference of so many points is called: our assumption, as are the anchors of a rating.
WORDS: Final = MappingProxyType({0.5: tr("just"), 1.0: tr("a little"), 2.0: tr("clearly"), 3.0: tr("much")})
_OFFERED: Final = (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0)
#: What each rating is called where it is asked for.
ASKED: Final = MappingProxyType({**RATING_WORDS, "preference": tr("Which go was better?")})
#: How to say it, in one sentence.
HOW: Final = tr("Which go was better, and by how much: half a point is just better, 1 a little, 2 clearly, 3 much. No "
                "difference is an answer, too.")


def choices() -> tuple[tuple[str, float], ...]:
    """Return what may be answered, in words and as points: the first go far ahead on top, the second at the end."""
    first = [(_called(p, tr("first better by {points}"), tr("first {words} better ({points})")), p)
             for p in reversed(_OFFERED)]
    second = [(_called(p, tr("second better by {points}"), tr("second {words} better ({points})")), -p)
              for p in _OFFERED]
    return (*first, (tr("no difference"), 0.0), *second)


def answers_to(rating: str) -> list[tuple[str, str]]:
    """Return what may be answered by a rating, as value and text: which go was better, else points by halves."""
    if rating == "preference":
        return [(f"{points:g}", text) for text, points in choices()]
    field = TABLES["sittings"].field(rating)
    steps = range(int(2 * (field.low or 0)), int(2 * (field.high or 0)) + 1)
    return [(f"{n / 2:g}", f"{n / 2:g}") for n in steps]


def said(points: float) -> str:
    """Return an answer in a few words: "first a little better (1)", "no difference"."""
    if points == 0:
        return tr("no difference")
    if points > 0:
        return _called(points, tr("first better by {points}"), tr("first {words} better ({points})"))
    return _called(-points, tr("second better by {points}"), tr("second {words} better ({points})"))


def of_ratings(first: float, second: float) -> float:
    """Return what two ratings, one of each go, say as a preference: their difference, at most 5 either way."""
    return min(5.0, max(-5.0, first - second))


def in_words(first: float, second: float) -> str:
    """Return two ratings, one of each go, as they are kept beside the answer."""
    return tr("first go {first:g}, second go {second:g}").format(first=first, second=second)


def _called(points: float, plain: str, named: str) -> str:
    words = WORDS.get(points)
    number = "½" if points == 0.5 else f"{points:g}".replace(".5", "½")
    return plain.format(points=number) if words is None else named.format(words=words, points=number)


def first_then(protocol: Protocol, habit: Habit) -> str:
    """Return the two ways of a pair in their order."""
    return tr("first {one}, then {other}").format(one=habit.name, other=protocol.other_than(habit).name)


def told_way(protocol: Protocol, key: str) -> str:
    """Return in words what is to be done with a reed: its way, or both in their order; never what a helper hides."""
    if protocol.masked == "helper":
        return (tr("your helper hands you one of the two reeds, then the other") if protocol.two_reeds else
                tr("your helper sets it up one way, then the other") if protocol.pairs else
                tr("your helper makes it ready"))
    habit = protocol.habit(key)
    return first_then(protocol, habit) if protocol.pairs else habit.name


def told_steps(protocol: Protocol, key: str) -> str:
    """Return the steps of a way, or of both in their order."""
    habit = protocol.habit(key)
    if not protocol.pairs:
        return habit.steps
    other = protocol.other_than(habit)
    said = tr("First: {steps} Then: {others} Play the same few bars both times, then say which go was better.")
    if protocol.two_reeds:
        said += " " + tr("This line holds one pair of both reeds.")
    return said.format(steps=habit.steps or habit.name + ".", others=other.steps or other.name + ".")
