"""What may have bent one of several trials put together: a sentence for each kind, naming trials by their code."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from ...trial.result import Remark, Together
from ...wording import all_of, one_of, tr
from .. import numbers
from ..names import spoken

__all__ = ["more_and_less", "named", "warnings"]

_SHOWN: Final = 6  # codes named in one sentence; a class has more
_SAID: Final = {
    "worked_on": ("reeds", "reed", tr("Reeds were sanded, scraped or clipped in {where} ({many}). That may change how "
                                      "a reed plays more than the habit does.")),
    "setup_changed": ("sittings", "sitting", tr("Another mouthpiece or ligature was used in {where} ({many}). It may "
                                                "have changed the ratings.")),
    "plan_not_followed": ("sittings", "sitting", tr("In {where}, the other way than planned was often used ({many}). "
                                                    "That can make a true gap look smaller.")),
    "missing_days": ("missing", "rating", tr("Three in ten or more of the ratings are missing in {where} ({many}). If "
                                             "bad days were the ones left out, the answer may be off.")),
}

_UNEVEN: Final = {
    "missing": tr("Missing: {many} ratings with {more}, and {few} with {less}."),
    "memory": tr("Written later, from memory: {many} ratings with {more}, and {few} with {less}."),
    "given_up": tr("Given up by choice: {many} reeds with {more}, and {few} with {less}."),
}


def warnings(together: Together) -> tuple[dict[str, str], ...]:
    """Return one {"code", "text"} for each kind of remark that a trial carries, in a fixed order."""
    out = []
    for code, (fact, noun, text) in _SAID.items():
        mine = [(label, r) for label, r in together.remarks if r.code == code]
        if mine:
            many = numbers.count(sum(float(r.fact(fact)) for _, r in mine), noun)
            out.append({"code": code, "text": text.format(where=named([label for label, _ in mine]), many=many)})
    out += [{"code": "uneven", "text": _uneven(together, r)} for _, r in together.remarks if r.code == "uneven"]
    return tuple(out)


def _uneven(together: Together, said: Remark) -> str:
    f = dict(said.facts)
    told = _UNEVEN[str(f["kind"])].format(**more_and_less(f, *(spoken(h.name) for h in together.protocol.habits)))
    return tr("{told} In all trials together, shuffling alone would do that {chance}.").format(
               told=told, chance=numbers.chance(float(f["p"])))


def more_and_less(facts: Mapping[str, Any], a: str, b: str) -> dict[str, str]:
    """Return which of two ways has `more` of what is uneven and which `less`, and how `many` and how `few`."""
    ways = [(name, float(facts[f"count_{x}"]), float(facts[f"of_{x}"])) for x, name in (("a", a), ("b", b))]
    less, more = sorted(ways, key=lambda way: way[1] / max(1.0, way[2]))
    many, few = (tr("{n} of {of}").format(n=round(n), of=round(of)) for _, n, of in (more, less))
    return {"more": more[0], "less": less[0], "many": many, "few": few}


def named(names: Sequence[str], word: str = "and") -> str:
    """Return the trials' codes in a list, cut after the first few of a large class."""
    if len(names) > _SHOWN:
        names = [*names[:_SHOWN], tr("{n} more").format(n=len(names) - _SHOWN)]
    return one_of(names) if word == "or" else all_of(names)
