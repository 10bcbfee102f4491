"""What may have bent one of several trials put together: a sentence for each kind, naming trials by their code."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ...trial.result import Together
from .. import numbers

__all__ = ["named", "warnings"]

_SHOWN: Final = 6  # codes named in one sentence; a class has more
_SAID: Final = {
    "worked_on": ("reeds", "reed", "Reeds were sanded, scraped or clipped in {where} ({many}). That may change how "
                                   "a reed plays more than the habit does."),
    "setup_changed": ("sittings", "sitting", "Another mouthpiece or ligature was used in {where} ({many}). It may "
                                             "have changed the ratings."),
    "plan_not_followed": ("sittings", "sitting", "In {where}, the other way than planned was often used ({many}). "
                                                 "That can make a true gap look smaller."),
    "missing_days": ("missing", "rating", "Three in ten or more of the ratings are missing in {where} ({many}). If "
                                          "bad days were the ones left out, the answer may be off."),
}


def warnings(together: Together) -> tuple[dict[str, str], ...]:
    """Return one {"code", "text"} for each kind of remark that a trial carries, in a fixed order."""
    out = []
    for code, (fact, noun, text) in _SAID.items():
        mine = [(label, r) for label, r in together.remarks if r.code == code]
        if mine:
            many = numbers.count(sum(float(r.fact(fact)) for _, r in mine), noun)
            out.append({"code": code, "text": text.format(where=named([label for label, _ in mine]), many=many)})
    return tuple(out)


def named(names: Sequence[str], word: str = "and") -> str:
    """Return the trials' codes in a list, cut after the first few of a large class."""
    if len(names) > _SHOWN:
        return f"{', '.join(names[:_SHOWN])} {word} {len(names) - _SHOWN} more"
    return f" {word} ".join(", ".join(names).rsplit(", ", 1))
