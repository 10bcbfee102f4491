"""The name of a way inside a sentence: as it is where it reads like one of our own, else in quotes."""

from __future__ import annotations

import re
from typing import Final

from ..questions import CATALOGUE
from ..trial.protocol import Protocol

__all__ = ["of_reeds", "one_line", "spoken"]

_OURS: Final = frozenset(h.name for q in CATALOGUE.values() for h in q.habits)
#: "a short soak", "one minute in the mouth", "wetting in water": these follow "with" in any sentence.
_FORM: Final = re.compile(r"(a|an|the|my|no|one|two|three|four|five|\d+|reeds?|[a-z]{2,}ing)( [\w-]+)+|[a-z]{2,}ing")
_LONGEST: Final = 80
_QUOTES: Final = "[\"“”„«»]"


def of_reeds(plan: Protocol, ways: str, reeds: str) -> str:
    """Return a sentence about the two ways; of two reeds side by side, the one about reeds in its place."""
    return reeds if plan.two_reeds else ways


def one_line(name: str) -> str:
    """Return a name in one line and without a closing full stop."""
    return " ".join(name.split()).rstrip(".")


def spoken(name: str) -> str:
    """Return a name to stand inside a sentence; quotes within it become single ones."""
    plain = one_line(name)
    if plain in _OURS or (len(plain) <= _LONGEST and _FORM.fullmatch(plain)):
        return plain
    inner = re.sub(_QUOTES, "’", re.sub(rf"(?<!\w){_QUOTES}", "‘", plain))
    return f"“{inner}”"
