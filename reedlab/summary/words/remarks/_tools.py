"""What the sentences of remarks share: where they are kept, and counts and lists in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

from ....wording import all_of, tr, trn
from ... import numbers
from ...case import Case

__all__ = ["SENTENCES", "Facts", "Sentence", "confirmed", "hours", "listed", "reeds", "sittings", "told",
           "writes"]

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
        return tr("{names} and {n} more").format(names=", ".join(every[:most]), n=len(every) - most)
    return all_of(every) if every else tr("not named")


def told(value: Any, step: float = 0.1) -> str:
    """Return a rounded number; "no end" where it has none."""
    x = float(value)
    return numbers.rounded(x, step) if math.isfinite(x) else tr("no end")


def reeds(n: Any) -> str:
    """Return "1 reed", "3 reeds"."""
    return numbers.count(float(n), "reed")


def sittings(n: Any) -> str:
    """Return "1 sitting", "3 sittings"."""
    return numbers.count(float(n), "sitting")


def confirmed(f: Facts, of: str, c: Case) -> str:
    """Say how many odd things were confirmed when they were entered; while the trial runs, ask for the rest."""
    every, said = round(float(f[of])), round(float(f.get("confirmed", 0)))
    if said >= every:
        return " " + trn("You confirmed this.", "You confirmed each of them.", every)
    known = " " + tr("You confirmed {n} of them.").format(n=said) if said else ""
    if c.main is not None:
        return known
    look = tr("Please look at the others: a slip can still be put right.") if said else trn(
        "Please look at it: a slip can still be put right.", "Please look at them: a slip can still be put right.",
        every)
    return f"{known} {look}"


def hours(h: Any) -> str:
    """Return playing hours in words."""
    return numbers.hours(float(h))
