"""How little would undo the answer, and whether it changes when the same trial is read in other ways."""

from __future__ import annotations

import math

from ...trial.outcomes import no_gap
from ...trial.result import Finding, Fragile
from ...wording import tr
from .. import numbers
from ..case import Case
from .expected import READING as EXPECTED
from .guesses import hidden_sentence
from .lives import too_few_ends
from .ranges import Range, same_numbers, told_range

__all__ = ["ReadingRow", "changes_sentence", "fragile_sentences", "knowing_sentences", "readings_table",
           "shaky_sentences"]

ReadingRow = tuple[str, str, str, str]  # reading, gap, range, what it would say

_NAMES = {
    "as_planned": tr("as planned (this counts)"), "as_done": tr("by what you really did"),
    "damage_counts": tr("breakage counted as an end"), "complete": tr("only sets with nothing missing"),
    "no_memory": tr("without ratings from memory"),
    EXPECTED: tr("as if every reed went on fading as so far"),
}
_BETTER, _LEADS = tr("{name} is better"), tr("{name} would lead")  # a look ahead names no winner
_THE_SAME = tr("the same")


def fragile_sentences(case: Case) -> list[str]:
    """Return what would undo a winner, beyond what the first screen says; empty where none was named."""
    return [*knowing_sentences(case), *_sets(case)[1:]] if case.winner else []


def shaky_sentences(case: Case) -> list[str]:
    """Return whether a winner stands without the set that helps most; empty where none was named."""
    return _sets(case)[:1]


def knowing_sentences(case: Case) -> list[str]:
    """Return how small a lean of the ratings would undo what was claimed; empty for lives and without a claim."""
    found, f = case.main, case.result.fragile
    if found is None or f is None or f.shift is None or case.is_diary:
        return []
    shift = f.shift * case.unit_scale(found.outcome)
    size = _size(case, found, shift)
    if f.side is None:
        return [tr("A lean of {size} in your ratings could hide a gap that matters.").format(size=size)]
    name = case.name(f.side)
    said = [tr("If knowing which was which lifted your ratings with {name} by {size}, no winner could be "
               "named.").format(name=name, size=size)]
    if case.plan.masked == "helper":
        said.append(hidden_sentence(case))
        return said
    if f.expected is None:
        said.append(tr("You did not say before the start what you expected, so no one can tell which way you leaned."))
    elif f.expected == f.side:
        said.append(_beside(case, found, f, shift))
    elif f.expected == "same":
        said.append(tr("Before the start you expected no difference, so you leaned to no side at first."))
    else:
        said.append(tr("Before the start you expected {name} to be better, so your lean was more likely the "
                       "other way.").format(name=case.name(f.expected)))
    return said


def _beside(case: Case, found: Finding, f: Fragile, shift: float) -> str:
    name = case.name(f.side or "A")
    if f.expected_gap is None:
        return tr("Before the start you expected {name} to be better, so such a lean is possible.").format(name=name)
    gap = f.expected_gap * case.unit_scale(found.outcome)
    said = tr("Before the start you expected {name} to be better by {size}, and such a lean is more than that.")
    if shift < gap - 1e-9:
        said = tr("Before the start you expected {name} to be better by {size}, and such a lean is less than that.")
    elif shift <= gap + 1e-9:
        said = tr("Before the start you expected {name} to be better by {size}, and such a lean is as much as that.")
    return said.format(name=name, size=_size(case, found, gap))


def _size(case: Case, found: Finding, x: float) -> str:
    step = numbers.step_for(*(case.unit_scale(found.outcome) * e for e in (found.low, found.high)))
    text = numbers.size(x, case.noun, step, (case.matters,))
    if case.kind == "wear":
        return tr("{size} in {hours}").format(size=text, hours=numbers.hours(case.span))
    return text


def _sets(case: Case) -> list[str]:
    f = case.result.fragile
    by = {} if f is None or case.is_diary else {w.kind: w.stands for w in f.what_ifs}
    if not by:
        return []
    one = case.set_noun
    if not by["left_out"]:
        said = [tr("Without the {one} that helps most, no winner could be named.").format(one=one)]
    elif not by["turned"]:
        said = [tr("Without the {one} that helps most, the winner stays.").format(one=one),
                tr("Had that {one} come out the other way round, no winner could be named.").format(one=one)]
    else:
        said = [tr("Even if the {one} that helps most had come out the other way round, the winner would stay.").format(
                    one=one)]
    added = (tr("One more {one} that goes as far the other way would not undo it.") if by["added"] else
             tr("One more {one} that goes as far the other way would undo it."))
    return [*said, added.format(one=one)]


def readings_table(case: Case) -> list[ReadingRow]:
    """Return one row for every way the main outcome was read, as planned first; empty with nothing to compare.

    Readings that come to the same numbers as the plan's are told as "the same".
    """
    main = case.main
    if main is None or case.is_diary or len(case.result.readings) < 2 or (
            math.isnan(main.estimate) and not case.is_ratio):
        return []
    first = case.result.readings[0]
    rows = []
    for f in case.result.readings:
        name = _NAMES[f.reading]
        if f is not first and same_numbers(first, f):
            rows.append((name, _THE_SAME, _THE_SAME, _THE_SAME))
        else:
            rows.append((name, _gap(case, f), _range(case, f), _says(case, f)))
    return rows


def changes_sentence(case: Case) -> str:
    """Return whether any reading would say another thing; "" with nothing to compare."""
    rows = readings_table(case)
    if not rows:
        return ""
    fine = {_THE_SAME, rows[0][3]} | {_LEADS.format(name=case.name(x)) for x in "AB"
                                      if _BETTER.format(name=case.name(x)) == rows[0][3]}
    others = [name for name, _, _, says in rows[1:] if says not in fine]
    if not others:
        return tr("Read in each of these ways, it says the same.")
    return tr("It would say something else if read like this: {others}.").format(others="; ".join(others))


def _told(case: Case, f: Finding, x: float) -> str:
    if math.isnan(x):
        return tr("too little to tell")
    if math.isinf(x) or (f.scale == "ratio" and x == 0):
        return tr("no end")
    zero = no_gap(f.scale)
    if x == zero:
        return tr("none")
    size = case.size(f, x if f.scale == "ratio" else x * case.unit_scale(f.outcome))
    return f"{size}, {case.name('B' if x > zero else 'A')}"


def _gap(case: Case, f: Finding) -> str:
    """Return the best guess; open where the range has no end on either side, or nothing of one way ended."""
    if too_few_ends(f):
        return tr("too few came to their end")
    if not math.isnan(f.estimate) and Range.of(f).is_open:
        return tr("open")
    side = case.leaning(f)
    if side and not math.isfinite(case.gap(f, side).best):
        return tr("longer with {name}, by how much is open").format(name=case.name(side))
    return _told(case, f, f.estimate)


def _range(case: Case, f: Finding) -> str:
    """Return the range that the reading is told by, with its level."""
    if too_few_ends(f) or math.isnan(f.estimate):
        return tr("no range")
    told = told_range(case, f)
    if told.is_open:
        return tr("no end on either side")
    side, level = told.side, f"({told.out_of})"
    if side and (told.open_low or told.open_high):
        return tr("{size} or more, {name} {level}").format(
                   size=case.size(f, told.low if side == "B" else told.high), name=case.name(side), level=level)
    return tr("{low} to {high} {level}").format(
        low=_told(case, f, told.low), high=_told(case, f, told.high), level=level)


def _says(case: Case, f: Finding) -> str:
    """Return what a reading would say by its ranges alone; the verdict itself is the plan's."""
    if f.verdict in ("a_better", "b_better", "no_real_difference", "cannot_tell"):
        side = {"a_better": "A", "b_better": "B"}.get(f.verdict)
        if side:
            return _BETTER.format(name=case.name(side))
        return tr("no difference that matters") if f.verdict == "no_real_difference" else tr("can't tell")
    if math.isnan(f.estimate) or too_few_ends(f):
        return tr("can't tell")
    ahead = f.reading == EXPECTED
    if case.verdict == "no_real_difference" and not ahead and Range.of_sameness(f).inside(case.plan.matters):
        return tr("no difference that matters")
    side = Range.of(f).side
    return (_LEADS if ahead else _BETTER).format(name=case.name(side)) if side else tr("can't tell")
