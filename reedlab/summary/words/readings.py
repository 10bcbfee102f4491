"""The same trial read another way, and what else was seen. Neither carries the verdict."""

from __future__ import annotations

import math

from ...result import Finding
from ..case import Case
from . import measure
from .size import range_sentence

__all__ = ["also_seen_sentences", "other_readings"]


def other_readings(case: Case) -> list[str]:
    """Return what the reading by what was really done, and the one that counts breakage, come to."""
    main, result = case.main, case.result
    if main is None:
        return []
    said = []
    for found, intro, same_again in ((result.as_done, "Here is the reading by what you really did.",
                          "Read by what you really did, the answer is the very same."),
                         (result.damage_counts, "Here is the reading that counts breakage as an end.",
                          "Read with breakage counted as an end, the answer is the very same.")):
        if found is not None and _equal(main, found):
            said.append(same_again)
        elif found is not None:
            said += [intro, *_told(case, found), _agrees(case, main, found)]
    return said


def _equal(one: Finding, other: Finding) -> bool:
    """Whether two readings come to the same numbers."""
    return all(
        (math.isnan(a) and math.isnan(b)) or a == b or math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
        for a, b in ((one.estimate, other.estimate), (one.low, other.low), (one.high, other.high),
                     (one.p_value, other.p_value)))


def also_seen_sentences(case: Case) -> list[str]:
    """Return the other outcomes of the same data, without a verdict."""
    if case.main is None:
        return []
    said: list[str] = []
    for found in case.result.also_seen:
        said += _told(case, found)
    if said:
        said.append("These stand beside the answer; the trial was not planned to judge them.")
    return said


def _told(case: Case, found: Finding) -> list[str]:
    if math.isnan(found.estimate):
        return ["There is too little to tell of."]
    side = case.leaning(found)
    first = f"{measure.same(case, found)}." if side is None else measure.more(case, found, side)
    return [first, range_sentence(case, found, found.low, found.high)]


def _beyond(found: Finding) -> str | None:
    """Return the side that the whole range favours, or None."""
    zero = 1.0 if found.scale == "ratio" else 0.0
    if math.isnan(found.estimate):
        return None
    return "B" if found.low > zero else "A" if found.high < zero else None


def _agrees(case: Case, main: Finding, found: Finding) -> str:
    side = _beyond(found)
    if case.winner:
        if side == case.winner:
            return "The answer stays the same."
        return "Read like this, it can't tell, so take the answer with care."
    if case.verdict == "no_real_difference":
        m = case.plan.matters
        low, high = (1 / m, m) if found.scale == "ratio" else (-m, m)
        inside = low < found.low90 and found.high90 < high
        return "The answer stays the same." if inside else "Read like this, a gap that matters is not ruled out."
    if side:
        return f"Read like this, {case.name(side)} leads, but the plan decides, and it can't tell."
    return "It can't tell either."
