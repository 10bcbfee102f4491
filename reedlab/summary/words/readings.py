"""The same trial read another way, and what else was seen. Neither carries the verdict."""

from __future__ import annotations

import math

from ...result import Finding
from ..case import Case
from . import measure
from .expected import expected_sentences
from .ranges import range_sentence

__all__ = ["also_seen_sentences", "other_readings"]


def other_readings(case: Case) -> list[str]:
    """Return a paragraph each: by what was really done, with breakage counted, and if reeds faded on as so far."""
    main, result = case.main, case.result
    if main is None or case.is_diary:
        return []
    said = []
    for found, counted, intro in (
        (result.as_done, "Counting what you really did", "Counted by what you really did"),
        (result.damage_counts, "Counting breakage as an end", "If breakage counts as an end"),
    ):
        if found is None:
            continue
        if _equal(main, found):
            said.append(f"{counted} gives the same answer.")
        elif math.isnan(found.estimate):
            said.append(f"{intro}, there is too little to tell of.")
        else:
            gap = measure.inside(_gap_told(case, found))
            said.append(" ".join([f"{intro}: {gap}", range_sentence(case, found, found.low, found.high),
                                  _agrees(case, main, found)]))
    return [*said, *expected_sentences(case)]


def _equal(one: Finding, other: Finding) -> bool:
    """Whether two readings come to the same numbers."""
    return all(
        (math.isnan(a) and math.isnan(b)) or a == b or math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-12)
        for a, b in ((one.estimate, other.estimate), (one.low, other.low), (one.high, other.high),
                     (one.p_value, other.p_value)))


def also_seen_sentences(case: Case) -> list[str]:
    """Return a paragraph for each other outcome of the same log, without a verdict."""
    if case.main is None:
        return []
    said = []
    for found in case.result.also_seen:
        if math.isnan(found.estimate):
            continue
        hint = [] if case.is_diary else [range_sentence(case, found, found.low, found.high)]
        said.append(" ".join([_gap_told(case, found), *hint]))
    if said:
        said.insert(0, "These stand beside the answer; the trial was not planned to judge them.")
    return said


def _gap_told(case: Case, found: Finding) -> str:
    side = case.leaning(found)
    return f"{measure.same(case, found)}." if side is None else measure.more(case, found, side)


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
        return "Read this way, the trial can't tell, so take the answer with care."
    if case.verdict == "no_real_difference":
        m = case.plan.matters
        low, high = (1 / m, m) if found.scale == "ratio" else (-m, m)
        inside = low < found.low90 and found.high90 < high
        return "The answer stays the same." if inside else "Read this way, a gap that matters is not ruled out."
    if side:
        return f"Read this way, {case.name(side)} leads, but the plan decides, and by the plan it can't tell."
    return "Read this way, the trial can't tell either."
