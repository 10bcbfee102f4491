"""The same trial read another way, and what else was seen. Neither carries the verdict."""

from __future__ import annotations

import math

from ...wording import tr
from ..case import Case
from . import measure
from .expected import expected_sentences
from .lives import too_few_ends
from .ranges import Range, same_numbers, told_range

__all__ = ["also_seen_sentences", "other_readings"]


def other_readings(case: Case) -> list[str]:
    """Return a paragraph each: by what was really done, with breakage counted, and if reeds faded on as so far."""
    main, result = case.main, case.result
    if main is None or case.is_diary or math.isnan(main.estimate):
        return []
    said = []
    for found, counted, intro in (
        (result.as_done, tr("Counting what you really did"), tr("Counted by what you really did")),
        (result.damage_counts, tr("Counting breakage as an end"), tr("If breakage counts as an end")),
    ):
        if found is None:
            continue
        if same_numbers(main, found, "p_value"):
            said.append(tr("{counted} gives the same answer.").format(counted=counted))
        elif too_few_ends(found):
            said.append(f"{intro}: {measure.inside(measure.gap_sentence(case, found))}")
        elif math.isnan(found.estimate):
            said.append(tr("{intro}, there is too little to tell of.").format(intro=intro))
        else:
            gap = measure.inside(measure.gap_sentence(case, found))
            read = told_range(case, found)
            said.append(" ".join([f"{intro}: {gap}", read.sentence(case, level=True), _agrees(case, read)]))
    return [*said, *expected_sentences(case)]


def also_seen_sentences(case: Case) -> list[str]:
    """Return a paragraph for each other outcome of the same log, without a verdict."""
    if case.main is None:
        return []
    said = []
    for found in case.result.also_seen:
        if math.isnan(found.estimate):
            continue
        hint = [] if case.is_diary or too_few_ends(found) else [Range.of(found).sentence(case, level=True)]
        said.append(" ".join([measure.gap_sentence(case, found), *hint]))
    if said:
        said.insert(0, tr("These stand beside the answer; the trial was not planned to judge them."))
    return said


def _agrees(case: Case, read: Range) -> str:
    side = read.side
    if case.winner:
        if side == case.winner:
            return tr("The answer stays the same.")
        return tr("Read this way, the trial can't tell, so take the answer with care.")
    if case.verdict == "no_real_difference":
        return (tr("The answer stays the same.") if read.inside(case.plan.matters)
                else tr("Read this way, a gap that matters is not ruled out."))
    if side:
        return tr("Read this way, {name} leads, but the plan decides, and by the plan it can't tell.").format(
                   name=case.name(side))
    return tr("Read this way, the trial can't tell either.")
