"""Sentences on several trials put together: a whole one for each kind of outcome, never a rule for pupils."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from ...trial.result import Contribution, Progress, Together, TrialResult
from .. import numbers
from ..case import Case
from .lives import few_ends_sentence, too_few_ends
from .ranges import Range
from .together_remarks import named

__all__ = ["case_of", "differ_sentences", "headline", "legend", "limit_sentences", "next_sentences",
           "no_answer_at_large", "part_row", "share_sentences", "size_sentences", "sure_sentences"]

_MORE: Final = {
    "rating": "Over {trials} together, reeds rated {size} higher with {win} than with {lose}, {enough}.",
    "response": "Over {trials} together, response was rated {size} higher with {win} than with {lose}, {enough}.",
    "tone": "Over {trials} together, tone was rated {size} higher with {win} than with {lose}, {enough}.",
    "stiffness": "Over {trials} together, reeds felt {size} closer to just right with {win} than with {lose}, "
                 "{enough}.",
    "wear": "Over {trials} together, reeds kept {size} more in {span} with {win} than with {lose}, {enough}.",
    "life": "Over {trials} together, reeds lasted {size} as many playing hours with {win} as with {lose}, {enough}.",
    "good": "Over {trials} together, reeds stayed good for {size} as many playing hours with {win} as with "
            "{lose}, {enough}.",
}
_LONGER: Final = {
    "life": "Over {trials} together, reeds lasted longer with {win} than with {lose}, but by how much is open.",
    "good": "Over {trials} together, reeds stayed good for longer with {win} than with {lose}, but by how much is "
            "open.",
}
_SAME: Final = {
    "rating": "Over {trials} together, reeds rated about the same with {a} as with {b}: no difference that "
              "matters.",
    "response": "Over {trials} together, response was about the same with {a} as with {b}: no difference that "
                "matters.",
    "tone": "Over {trials} together, tone was about the same with {a} as with {b}: no difference that matters.",
    "stiffness": "Over {trials} together, reeds felt about as close to just right with {a} as with {b}: no "
                 "difference that matters.",
    "wear": "Over {trials} together, reeds faded at about the same pace with {a} as with {b}: no difference that "
            "matters.",
    "life": "Over {trials} together, reeds lasted about as long with {a} as with {b}: no difference that matters.",
    "good": "Over {trials} together, reeds stayed good for about as long with {a} as with {b}: no difference that "
            "matters.",
}
_OPEN: Final = {
    "rating": "Even together, these {n} trials can't tell yet whether reeds rate higher with {a} or with {b}.",
    "response": "Even together, these {n} trials can't tell yet whether response is better with {a} or with {b}.",
    "tone": "Even together, these {n} trials can't tell yet whether tone is better with {a} or with {b}.",
    "stiffness": "Even together, these {n} trials can't tell yet whether reeds feel closer to just right with {a} "
                 "or with {b}.",
    "wear": "Even together, these {n} trials can't tell yet whether reeds fade more slowly with {a} or with {b}.",
    "life": "Even together, these {n} trials can't tell yet whether reeds last longer with {a} or with {b}.",
    "good": "Even together, these {n} trials can't tell yet whether reeds stay good for longer with {a} or with "
            "{b}.",
}
_HELD: Final = {
    "ceiling": "The gap looks small, but too many ratings are at an end of the scale, where a gap can hide. So "
               "it can't be called no difference.",
    "all_alike": "The gap looks small, but hardly any different ratings were used, so it can't be called no "
                 "difference.",
    "as_done": "The gap looks small, but read by what was really done it may be bigger, so it can't be called no "
               "difference.",
    "early": "The gap looks small, but not every trial was played to its end, so it can't be called no "
             "difference.",
    "missing": "The ratings that are missing are not shared out evenly between the two ways. Had they been low ones, "
               "this answer would fall. So none is given.",
    "given_up": "Reeds were given up by choice more often with one way than with the other. That can make a way look "
                "better than it is, so no answer is given.",
    "leans": "The gap looks small, but ratings of a reed lean on the rating before, more than luck explains. That can "
             "hide a gap, so it can't be called no difference.",
    "players_differ": "On the whole the gap looks small, but it is not the same for each, so it can't be called "
                      "no difference.",
}


def case_of(together: Together) -> Case:
    """Return the combined answer in the shape that sizes and names are told from."""
    nothing = Progress(0, 0, together.protocol.start.isoformat(), 0, 0, 0, 0.0, 0, 0, None)
    plan = replace(together.protocol, matters=together.matters)
    return Case(TrialResult(plan, plan.sha256, "finished", nothing, main=together.main))


def headline(together: Together) -> str:
    """Return the answer in one sentence."""
    case, found, n = case_of(together), together.main, len(together.parts)
    names = {"a": case.name("A"), "b": case.name("B")}
    trials = numbers.count(n, "trial")
    if case.winner:
        win = case.winner
        gap = case.gap(found, win)
        said = _MORE[case.kind] if math.isfinite(gap.best) else _LONGER[case.kind]
        size = f"about {case.size(found, gap.best)}" if math.isfinite(gap.best) else ""
        enough = "and that is surely enough" if case.enough == "surely" else "but perhaps too little"
        return said.format(trials=trials, size=size, win=case.name(win), enough=f"{enough} to matter",
                           lose=case.name("A" if win == "B" else "B"), span=numbers.hours(case.span))
    if case.verdict == "no_real_difference":
        return _SAME[case.kind].format(trials=trials, **names)
    return _OPEN[case.kind].format(n=n, **names)


def size_sentences(together: Together) -> list[str]:
    """Return the combined range, set against what matters."""
    case, found = case_of(together), together.main
    if too_few_ends(found):
        return [few_ends_sentence(case, found)]
    if math.isnan(found.estimate):
        return ["There is no gap to tell of yet."]
    same = case.verdict == "no_real_difference"
    told_range = Range.of_sameness(found) if same else Range.of(found)
    said = [told_range.sentence(case, "Going by all the logs", level=True)]
    m = together.matters
    told = numbers.times(m) + " as long" if case.is_ratio else case.size(found, m * case.unit_scale(found.outcome))
    if same or told_range.inside(m):
        said.append(f"All of that is less than {told}, the gap that was said to matter.")
        side = Range.of(found).side
        if same and side:
            said.append(f"There may be a small gap in favour of {case.name(side)}.")
    elif found.exceeds == "surely":
        said.append(f"All of that is at least {told}, the gap that was said to matter.")
    else:
        said.append(f"A gap of {told} was said to matter." if not case.is_ratio else
                    f"A life {told} was said to matter.")
    return said


def sure_sentences(together: Together) -> list[str]:
    """Return how often shuffling alone would do this, and why sameness was held back."""
    case, found = case_of(together), together.main
    if math.isnan(found.estimate) or too_few_ends(found):
        return ["There is nothing to be sure of yet."]
    if case.verdict == "no_real_difference":
        return ["If the true gap were as big as what matters, trials as even as these would come up at most 5 "
                "times in 100."]
    said = ["If the habit made no difference to anyone, shuffling alone would give a gap this big "
            f"{numbers.chance(found.p_value)}.",
            "Each trial was shuffled by itself, so players who rate high or low do no harm."]
    if case.winner:
        said.append("Luck alone would seldom do that.")
    elif found.p_value > together.p_needed + 1e-12:
        said.append("That is too often to name a winner.")
    if together.players == 1:
        said += [f"These are {len(together.parts)} trials of one player, one after another.",
                 "Who tries until a winner turns up will find one by luck.",
                 "So together they name a winner only if shuffling alone would give such a gap "
                 f"{numbers.rare(together.p_needed)}."]
    if together.held and not case.winner:
        said.append(_HELD[together.held])
    return said


def differ_sentences(together: Together) -> list[str]:
    """Return how much players, or one player's trials, differ, and what one more may meet."""
    v = together.spread
    if v is None:
        return ["Too few of these trials have a gap of their own to say how much they differ."]
    case, found = case_of(together), together.main
    many = "players" if v.of == "player" else "trials"
    said = []
    if v.q_p <= 0.05:
        said.append(f"The gap is not the same for all {many}: they differ by more than chance.")
    else:
        said.append(f"There is no sign that the {many} differ, though small differences would not show.")
    if no_answer_at_large(together):
        said.append(f"So for {many} at large, these can't tell yet, even if they tell for themselves.")
    ranges = [Range(found, v.low, v.high, v.level)]
    said.append(ranges[0].sentence(case, f"On average over many {many} like these"))
    if not math.isnan(v.new_low):
        ranges.append(Range(found, v.new_low, v.new_high, v.level))
        said.append(ranges[1].sentence(case, f"For one more {v.of} like these"))
    said.append("This is a rough guide." if all(r.is_open for r in ranges) else
                f"{'These ranges' if len(ranges) > 1 else 'This range'} of {ranges[0].out_of} "
                f"{'are' if len(ranges) > 1 else 'is'} a rough guide.")
    if v.left_out:
        said.append(f"Too little to go by in this: {named(v.left_out)}.")
    return said


def no_answer_at_large(together: Together) -> bool:
    """Whether a winner among these is none yet for others: the average over many may be no gap, or opposite."""
    v, case = together.spread, case_of(together)
    if v is None or not case.winner:
        return False
    zero = 1.0 if case.is_ratio else 0.0
    return v.low <= zero if case.winner == "B" else v.high >= zero


def share_sentences(together: Together) -> list[str]:
    """Return how much each trial adds, and whether the answer hangs on any one of them."""
    case = case_of(together)
    parts = [p for p in together.parts if sum(p.units)]
    said = []
    weighed = [p for p in parts if not math.isnan(p.weight)]
    if weighed:
        most = max(weighed, key=lambda p: p.weight)
        said.append(f"{most.label} adds the most: {round(100 * most.weight)} parts in 100 of the answer.")
    loose = [p.label for p in parts if not p.p_without <= together.p_needed + 1e-12]
    if case.winner and not loose:
        said.append("Leave out any one trial, and the winner is still the same.")
    elif case.winner:
        said.append(f"Without {named(loose, 'or')}, no winner could be named, so take the answer with care.")
    empty = [p.label for p in together.parts if not sum(p.units)]
    if empty:
        said.append(f"Nothing in {named(empty, 'or')} could be compared, so it adds nothing.")
    return said


def limit_sentences(together: Together) -> list[str]:
    """Return for whom it holds, and what could have bent it."""
    found = together.main
    who = f"these {together.players} players" if together.players > 1 else "this one player"
    said = [f"This holds for {who}, these reeds and these weeks.", "It is no rule for anyone else.",
            f"It rests on {_counted(together, sum(found.units), found.blocks)}.",
            "It knows nothing of trials that were not handed in, so ask for all of them, liked or not."]
    if together.protocol.masked == "none":
        said.append("The players knew which way was which, and that can sway a rating.")
        said.append("Putting trials together does not undo that.")
    if together.ended_early:
        said.append(f"Ended before the planned day: {named(together.ended_early)}. A winner needs a bit more "
                    "for that.")
    if together.looks:
        said.append(f"Someone looked early {numbers.times_over(together.looks)}, and a winner needs a bit more "
                    "for that.")
    if len(together.instruments) > 1:
        said.append(f"More than one kind of instrument is in it: {', '.join(together.instruments)}.")
    if found.blocks_dropped:
        lost = numbers.count(len(found.blocks_dropped), "set")
        said.append(f"Left out, for all of one way was lost: {lost}.")
    return said


def _counted(together: Together, units: int, blocks: int) -> str:
    """Return what was counted: reeds or days of play in matched sets, or swaps of two reeds over two days."""
    case = case_of(together)
    sets = case.sets(blocks)
    return sets if together.protocol.unit_kind == "diagonal" else f"{case.counted_units(units)} in {sets}"


def next_sentences(together: Together) -> list[str]:
    """Return what to do now."""
    case = case_of(together)
    if case.winner:
        said = [f"Whoever wants to know for themselves can try {case.name(case.winner)} in a trial of their own."]
        if together.spread is not None and together.spread.q_p <= 0.05:
            said.append("As players differ, a trial of one's own tells more than this page.")
        return said
    if case.verdict == "no_real_difference":
        return ["Use whichever way is easier."]
    return ["More trials of the same plan can be added. Settle first how many more, and then put all of them "
            "together once.", "Meanwhile, use whichever way is easier."]


def legend(together: Together) -> str:
    """Return which way the numbers of the table point."""
    case = case_of(together)
    zero, a, b = "1" if case.is_ratio else "0", case.name("A"), case.name("B")
    what = "Lives as a ratio" if case.is_ratio else "Steps" if case.noun == "step" else "Points"
    if case.kind == "wear":
        what = f"Points kept in {numbers.hours(case.span)}"
    return f"{what}: above {zero} in favour of {b}, below {zero} in favour of {a}."


def part_row(together: Together, part: Contribution) -> dict[str, str]:
    """Return one trial's line in the table: code, gap, range, what it rests on, share of the answer in 100."""
    case = case_of(together)

    def told(x: float) -> str:
        if math.isnan(x):
            return "none"
        if math.isinf(x) or (case.is_ratio and x == 0):
            return "no end"
        if case.is_ratio:
            return numbers.rounded(x, 0.01)
        text = numbers.rounded(abs(x * case.unit_scale(together.main.outcome)), 0.1)
        return text if text == "0" else f"{'+' if x > 0 else '−'}{text}"

    low, high = told(part.low), told(part.high)
    return {"label": part.label, "gap": told(part.estimate),
            "range": "no end either side" if low == high == "no end" else f"{low} to {high}",
            "rests_on": _counted(together, sum(part.units), part.blocks).replace("matched ", ""),
            "share": "" if math.isnan(part.weight) else f"{round(100 * part.weight)}"}
