"""Sentences on several trials put together: a whole one for each kind of outcome, never a rule for pupils."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

from ...trial.instruments import INSTRUMENT_WORDS
from ...trial.result import Contribution, Progress, Together, TrialResult
from ...wording import tr, trn
from .. import numbers
from ..case import Case
from .lives import few_ends_sentence, too_few_ends
from .ranges import Range
from .together_remarks import named

__all__ = ["case_of", "differ_sentences", "headline", "legend", "limit_sentences", "next_sentences",
           "no_answer_at_large", "part_row", "share_sentences", "size_sentences", "sure_sentences"]

_MORE: Final = {
    "rating": tr("reeds rated {size} higher with {win} than with {lose}"),
    "response": tr("response was rated {size} higher with {win} than with {lose}"),
    "tone": tr("tone was rated {size} higher with {win} than with {lose}"),
    "stiffness": tr("reeds felt {size} closer to just right with {win} than with {lose}"),
    "pair": tr("reeds played {size} better with {win} than with {lose}"),
    "wear": tr("reeds kept {size} more in {span} with {win} than with {lose}"),
    "life": tr("reeds lasted {size} as many playing hours with {win} as with {lose}"),
    "good": tr("reeds stayed good for {size} as many playing hours with {win} as with {lose}"),
}
_LONGER: Final = {
    "life": tr("reeds lasted longer with {win} than with {lose}"),
    "good": tr("reeds stayed good for longer with {win} than with {lose}"),
}
_SAME: Final = {
    "rating": tr("reeds rated about the same with {a} as with {b}"),
    "response": tr("response was about the same with {a} as with {b}"),
    "tone": tr("tone was about the same with {a} as with {b}"),
    "stiffness": tr("reeds felt about as close to just right with {a} as with {b}"),
    "pair": tr("reeds played about the same with {a} as with {b}"),
    "wear": tr("reeds faded at about the same pace with {a} as with {b}"),
    "life": tr("reeds lasted about as long with {a} as with {b}"),
    "good": tr("reeds stayed good for about as long with {a} as with {b}"),
}
_WHETHER: Final = {
    "rating": tr("whether reeds rate higher with {a} or with {b}"),
    "response": tr("whether response is better with {a} or with {b}"),
    "tone": tr("whether tone is better with {a} or with {b}"),
    "stiffness": tr("whether reeds feel closer to just right with {a} or with {b}"),
    "pair": tr("whether reeds play better with {a} or with {b}"),
    "wear": tr("whether reeds fade more slowly with {a} or with {b}"),
    "life": tr("whether reeds last longer with {a} or with {b}"),
    "good": tr("whether reeds stay good for longer with {a} or with {b}"),
}
_HELD: Final = {
    "ceiling": tr("The gap looks small, but too many ratings are at an end of the scale, where a gap can hide. So it "
                  "can't be called no difference."),
    "all_alike": tr("The gap looks small, but hardly any different ratings were used, so it can't be called no "
                    "difference."),
    "as_done": tr("The gap looks small, but read by what was really done it may be bigger, so it can't be called no "
                  "difference."),
    "early": tr("The gap looks small, but not every trial was played to its end, so it can't be called no difference."),
    "missing": tr("The ratings that are missing are not shared out evenly between the two ways. Had they been low "
                  "ones, this answer would fall. So none is given."),
    "given_up": tr("Reeds were given up by choice more often with one way than with the other. That can make a way "
                   "look better than it is, so no answer is given."),
    "leans": tr("The gap looks small, but ratings of a reed lean on the rating before, more than luck explains. That "
                "can hide a gap, so it can't be called no difference."),
    "players_differ": tr("On the whole the gap looks small, but it is not the same for each, so it can't be called no "
                         "difference."),
}


def case_of(together: Together) -> Case:
    """Return the combined answer in the shape that sizes and names are told from."""
    nothing = Progress(0, 0, together.protocol.start.isoformat(), 0, 0, 0, 0.0, 0, 0, None)
    plan = replace(together.protocol, matters=together.matters)
    return Case(TrialResult(plan, plan.sha256, "finished", nothing, main=together.main))


def headline(together: Together, pupils: int | None = None) -> str:
    """Return the answer in one sentence; of so many `pupils`, where some of a class could not be compared.

    A trial without a set that holds both ways is none that could be compared.
    """
    case, found = case_of(together), together.main
    compared, all_of = sum(p.blocks > 0 for p in together.parts), max(pupils or 0, len(together.parts))
    n = f"{compared}" if compared == all_of else f"{compared} of {all_of}"
    trials = numbers.count(compared, "trial") if compared == all_of else f"{n} trials"
    if case.winner:
        names = {"win": case.name(case.winner), "lose": case.other(case.winner)}
        best = case.gap(found, case.winner).best
        enough = (tr("and that is surely enough to matter") if case.enough == "surely" else
                  tr("but perhaps too little to matter"))
        if math.isfinite(best):
            size = tr("about {size}").format(size=case.size(found, best))
            said = _MORE[case.kind].format(size=size, span=numbers.hours(case.span), **names)
        else:
            said, enough = _LONGER[case.kind].format(**names), tr("but by how much is open")
        return tr("Over {trials} together, {said}, {enough}.").format(trials=trials, said=said, enough=enough)
    names = {"a": case.name("A"), "b": case.name("B")}
    if case.verdict == "no_real_difference":
        return tr("Over {trials} together, {said}: no difference that matters.").format(
                   trials=trials, said=_SAME[case.kind].format(**names))
    return tr("Even together, these {n} trials can't tell yet {whether}.").format(
               n=n, whether=_WHETHER[case.kind].format(**names))


def size_sentences(together: Together) -> list[str]:
    """Return the combined range, set against what matters."""
    case, found = case_of(together), together.main
    if too_few_ends(found):
        return [few_ends_sentence(case, found)]
    if math.isnan(found.estimate):
        return [tr("There is no gap to tell of yet.")]
    same = case.verdict == "no_real_difference"
    told_range = Range.of_sameness(found) if same else Range.of(found)
    said = [told_range.sentence(case, tr("Going by all the logs"), level=True)]
    m = together.matters
    told = (tr("{times} as long").format(times=numbers.times(m)) if case.is_ratio else
            case.size(found, m * case.unit_scale(found.outcome)))
    if same or told_range.inside(m):
        said.append(tr("All of that is less than {told}, the gap that was said to matter.").format(told=told))
        side = Range.of(found).side
        if same and side:
            said.append(tr("There may be a small gap in favour of {name}.").format(name=case.name(side)))
    elif found.exceeds == "surely":
        said.append(tr("All of that is at least {told}, the gap that was said to matter.").format(told=told))
    else:
        said.append(tr("A gap of {told} was said to matter.").format(told=told) if not case.is_ratio else
                    tr("A life {told} was said to matter.").format(told=told))
    return said


def sure_sentences(together: Together) -> list[str]:
    """Return how often shuffling alone would do this, and why sameness was held back."""
    case, found = case_of(together), together.main
    if math.isnan(found.estimate) or too_few_ends(found):
        return [tr("There is nothing to be sure of yet.")]
    if case.verdict == "no_real_difference":
        return [tr("If the true gap were as big as what matters, trials as even as these would come up at most 5 times "
                   "in 100.")]
    said = [tr("If the habit made no difference to anyone, shuffling alone would give a gap this big {chance}.").format(
                chance=numbers.chance(found.p_value)),
            tr("Each trial was shuffled by itself, so players who rate high or low do no harm.")]
    if case.winner:
        said.append(tr("Luck alone would seldom do that."))
    elif found.p_value > together.p_needed + 1e-12:
        said.append(tr("That is too often to name a winner."))
    if together.players == 1:
        said += [tr("These are {n} trials of one player, one after another.").format(n=len(together.parts)),
                 tr("Who tries until a winner turns up will find one by luck."),
                 tr("So together they name a winner only if shuffling alone would give such a gap {rare}.").format(
                     rare=numbers.rare(together.p_needed))]
    if together.held and not case.winner:
        said.append(_HELD[together.held])
    return said


def differ_sentences(together: Together) -> list[str]:
    """Return how much players, or one player's trials, differ, and what one more may meet."""
    v = together.spread
    if v is None:
        return [tr("Too few of these trials have a gap of their own to say how much they differ.")]
    case, found = case_of(together), together.main
    players = v.of == "player"
    said = []
    if v.q_p <= 0.05:
        said.append(tr("The gap is not the same for all players: they differ by more than chance.") if players else
                    tr("The gap is not the same for all trials: they differ by more than chance."))
    else:
        said.append(tr("There is no sign that the players differ, though small differences would not show.") if players
                    else tr("There is no sign that the trials differ, though small differences would not show."))
    if no_answer_at_large(together):
        said.append(tr("So for players at large, these can't tell yet, even if they tell for themselves.") if players
                    else tr("So for trials at large, these can't tell yet, even if they tell for themselves."))
    ranges = [Range(found, v.low, v.high, v.level)]
    said.append(ranges[0].sentence(case, tr("On average over many players like these") if players
                                   else tr("On average over many trials like these")))
    if not math.isnan(v.new_low):
        ranges.append(Range(found, v.new_low, v.new_high, v.level))
        said.append(ranges[1].sentence(case, tr("For one more player like these") if players
                                       else tr("For one more trial like these")))
    said.append(tr("This is a rough guide.") if all(r.is_open for r in ranges) else
                trn("This range of {level} is a rough guide.", "These ranges of {level} are a rough guide.",
                    len(ranges)).format(level=ranges[0].out_of))
    if v.left_out:
        said.append(tr("Too little to go by in this: {named}.").format(named=named(v.left_out)))
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
        said.append(tr("{label} adds the most: {weight} parts in 100 of the answer.").format(
                        label=most.label, weight=round(100 * most.weight)))
    loose = [p.label for p in parts if not p.p_without <= together.p_needed + 1e-12]
    if case.winner and not loose:
        said.append(tr("Leave out any one trial, and the winner is still the same."))
    elif case.winner:
        said.append(tr("Without {named}, no winner could be named, so take the answer with care.").format(
                        named=named(loose, "or")))
    empty = [p.label for p in together.parts if not sum(p.units)]
    if empty:
        said.append(tr("Nothing in {named} could be compared, so it adds nothing.").format(named=named(empty, "or")))
    return said


def limit_sentences(together: Together) -> list[str]:
    """Return for whom it holds, and what could have bent it."""
    found = together.main
    said = [trn("This holds for this one player, these reeds and these weeks.",
                "This holds for these {n} players, these reeds and these weeks.",
                together.players).format(n=together.players),
            tr("It is no rule for anyone else."),
            tr("It rests on {counted}.").format(counted=_counted(together, sum(found.units), found.blocks)),
            tr("It knows nothing of trials that were not handed in, so ask for all of them, liked or not.")]
    if together.protocol.masked == "none":
        said.append(tr("The players knew which way was which, and that can sway a rating."))
        said.append(tr("Putting trials together does not undo that."))
    if together.ended_early:
        said.append(tr("Ended before the planned day: {named}. A winner needs a bit more for that.").format(
                        named=named(together.ended_early)))
    if together.looks:
        said.append(tr("Someone looked early {times_over}, and a winner needs a bit more for that.").format(
                        times_over=numbers.times_over(together.looks)))
    if len(together.instruments) > 1:
        said.append(tr("More than one kind of instrument is in it: {instruments}.").format(
                        instruments=", ".join(INSTRUMENT_WORDS[i] for i in together.instruments)))
    if found.blocks_dropped:
        lost = numbers.count(len(found.blocks_dropped), "set")
        said.append(tr("Left out, for all of one way was lost: {lost}.").format(lost=lost))
    return said


def _counted(together: Together, units: int, blocks: int) -> str:
    """Return what was counted: reeds or days of play in matched sets, or swaps of two reeds over two days."""
    case = case_of(together)
    sets = case.sets(blocks)
    if together.protocol.unit_kind == "diagonal":
        return sets
    return tr("{units} in {sets}").format(units=case.counted_units(units), sets=sets)


def next_sentences(together: Together) -> list[str]:
    """Return what to do now."""
    case = case_of(together)
    if case.winner:
        said = [tr("Whoever wants to know for themselves can try {name} in a trial of their own.").format(
                    name=case.name(case.winner))]
        if together.spread is not None and together.spread.q_p <= 0.05:
            said.append(tr("As players differ, a trial of one's own tells more than this page."))
        return said
    if case.verdict == "no_real_difference":
        return [tr("Use whichever way is easier.")]
    return [tr("More trials of the same plan can be added. Settle first how many more, and then put all of them "
               "together once."), tr("Meanwhile, use whichever way is easier.")]


def legend(together: Together) -> str:
    """Return which way the numbers of the table point."""
    case = case_of(together)
    zero, a, b = "1" if case.is_ratio else "0", case.name("A"), case.name("B")
    what = tr("Lives as a ratio") if case.is_ratio else tr("Steps") if case.noun == "step" else tr("Points")
    if case.kind == "wear":
        what = tr("Points kept in {hours}").format(hours=numbers.hours(case.span))
    return tr("{what}: above {zero} in favour of {b}, below {zero} in favour of {a}.").format(
               what=what, zero=zero, b=b, a=a)


_SHORT: Final = (tr("matched set"), tr("set"))  # the table has little room


def part_row(together: Together, part: Contribution) -> dict[str, str]:
    """Return one trial's line in the table: code, gap, range, what it rests on, share of the answer in 100."""
    case = case_of(together)

    def told(x: float) -> str:
        if math.isnan(x):
            return tr("none")
        if math.isinf(x) or (case.is_ratio and x == 0):
            return tr("no end")
        if case.is_ratio:
            return numbers.rounded(x, 0.01)
        text = numbers.rounded(abs(x * case.unit_scale(together.main.outcome)), 0.1)
        return text if text == "0" else f"{'+' if x > 0 else '−'}{text}"

    low, high = told(part.low), told(part.high)
    return {"label": part.label, "gap": told(part.estimate),
            "range": (tr("no end either side") if low == high == tr("no end") else
                      tr("{low} to {high}").format(low=low, high=high)),
            "rests_on": _counted(together, sum(part.units), part.blocks).replace(*_SHORT),
            "share": "" if math.isnan(part.weight) else f"{round(100 * part.weight)}"}
