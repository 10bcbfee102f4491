"""What the sentences of remarks share: where they are kept, and counts and lists in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

from ... import numbers
from ...case import Case

__all__ = ["SENTENCES", "Facts", "Sentence", "agree", "hours", "listed", "reeds", "sittings", "told", "writes"]

Facts = Mapping[str, Any]
Sentence = Callable[[Facts, Case], str]

SENTENCES: Final[dict[str, Sentence]] = {}


def writes(code: str) -> Callable[[Sentence], Sentence]:
    """Keep the function below as the sentence of this code."""
    def keep(sentence: Sentence) -> Sentence:
        SENTENCES[code] = sentence
        return sentence

    return keep


def listed(names: Any, most: int = 6) -> str:
    """Return joined names as they were given, cut after `most` of them."""
    every = [n.strip() for n in str(names).split(",") if n.strip()]
    if len(every) > most:
        return ", ".join(every[:most]) + f" and {len(every) - most} more"
    return " and ".join(", ".join(every).rsplit(", ", 1)) if every else "not named"


def told(value: Any, step: float = 0.1) -> str:
    """Return a rounded number; "no end" where it has none."""
    x = float(value)
    return numbers.rounded(x, step) if math.isfinite(x) else "no end"


def reeds(n: Any) -> str:
    """Return "1 reed", "3 reeds"."""
    return numbers.count(float(n), "reed")


def sittings(n: Any) -> str:
    """Return "1 sitting", "3 sittings"."""
    return numbers.count(float(n), "sitting")


def agree(n: Any, one: str, many: str) -> str:
    """Return the form that goes with the count."""
    return one if round(float(n)) == 1 else many


def hours(h: Any) -> str:
    """Return playing hours in words."""
    return numbers.hours(float(h))
