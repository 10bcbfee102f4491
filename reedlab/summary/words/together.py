"""Sentences on several trials put together: a whole one for each kind of outcome, never a rule for pupils."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from ...result import Contribution, Progress, Together, TrialResult
from .. import numbers
from ..case import Case
from .ranges import range_sentence
from .together_remarks import named

__all__ = ["case_of", "differ_sentences", "headline", "legend", "limit_sentences", "next_sentences",
           "no_answer_at_large", "part_row", "share_sentences", "size_sentences", "sure_sentences"]

_MORE: Final = {
    "rating": "Over {trials} together, reeds rated {size} higher with {win} than with {lose}.",
    "response": "Over {trials} together, response was rated {size} higher with {win} than with {lose}.",
    "tone": "Over {trials} together, tone was rated {size} higher with {win} than with {lose}.",
    "stiffness": "Over {trials} together, reeds felt {size} closer to just right with {win} than with {lose}.",
    "wear": "Over {trials} together, reeds kept {size} more in {span} with {win} than with {lose}.",
    "life": "Over {trials} together, reeds lasted {size} as many playing hours with {win} as with {lose}.",
    "good": "Over {trials} together, reeds stayed good for {size} as many playing hours with {win} as with "
            "{lose}.",
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
        size = f"about {case.size(found, gap.best)}" if 0 < gap.best < math.inf else "much"
        return _MORE[case.kind].format(trials=trials, size=size, win=case.name(win),
                                       lose=case.name("A" if win == "B" else "B"), span=numbers.hours(case.span))
    if case.verdict == "no_real_difference":
        return _SAME[case.kind].format(trials=trials, **names)
    return _OPEN[case.kind].format(n=n, **names)


def size_sentences(together: Together) -> list[str]:
    """Return the combined range, set against what matters."""
    case, found = case_of(together), together.main
    if math.isnan(found.estimate):
        return ["There is no gap to tell of yet."]
    same = case.verdict == "no_real_difference"
    low, high = (found.low90, found.high90) if same else (found.low, found.high)
    said = [range_sentence(case, found, low, high).replace("your log", "all the logs", 1)]
    m = together.matters
    none, edge = (1.0, (1 / m, m)) if case.is_ratio else (0.0, (-m, m))
    told = numbers.times(m) + " as long" if case.is_ratio else case.size(found, m * case.unit_scale(found.outcome))
    if same or (edge[0] < low and high < edge[1]):
        said.append(f"All of that is less than {told}, the gap that was said to matter.")
        side = "B" if found.low > none else "A" if found.high < none else None
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
    if math.isnan(found.estimate):
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
    said.append(range_sentence(case, found, v.low, v.high).replace(
        "Going by your log", f"On average over many {many} like these", 1))
    if not math.isnan(v.new_low):
        said.append(range_sentence(case, found, v.new_low, v.new_high).replace(
            "Going by your log", f"For one more {v.of} like these", 1))
    said.append("This is a rough guide.")
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
    """Return what was counted: reeds or days of play in matched sets, or squares of two reeds and two days."""
    kind = together.protocol.unit_kind
    if kind == "diagonal":
        return numbers.count(blocks, "square")
    noun = ("reed", "reeds") if kind == "reed" else ("day of play", "days of play")
    return f"{numbers.count(units, *noun)} in {numbers.count(blocks, 'matched set')}"


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
