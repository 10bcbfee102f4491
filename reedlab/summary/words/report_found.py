"""The full report, from the first day on: items 13 to 22 of the reporting list, in our own words."""

from __future__ import annotations

from typing import Final

from .. import numbers
from ..case import Case, long_date
from . import limits, next_steps, readings, size, surety
from .headline import headline

__all__ = ["at_the_start", "became_of", "counted", "dates", "for_whom", "harm", "limited", "means", "result",
           "side_readings"]

_SEALED: Final = "Not yet: the answer is still sealed."
_ENDED: Final = {
    "worn_out": "worn out", "damaged": "broken", "mouldy": "mouldy", "lost": "lost", "given_away": "given away",
    "still_going": "still going", "cap": "played to the most hours in the plan", "by_choice": "retired by choice",
}


def became_of(case: Case) -> str:
    """Item 13: what became of the reeds, and what was left out."""
    p, found = case.result.progress, case.main
    said = []
    if p.sittings_planned:
        said.append(f"Of {numbers.count(p.sittings_planned, 'rating')} due, {p.sittings_rated} "
                    f"{'is' if p.sittings_rated == 1 else 'are'} in.")
    played = f", with {numbers.hours(p.play_hours)}" if p.play_hours > 0 else ""
    said.append(f"In all, the log holds {numbers.count(p.sittings_logged, 'sitting')}{played}.")
    said.append("No reed left service." if not p.reeds_retired else
                f"{numbers.count(p.reeds_retired, 'reed')} left service.")
    if found is None:
        return " ".join(said)
    planned, used = len(case.plan.units), sum(found.units)
    said.append(f"Of {case.counted_units(planned)} in the plan, {used} count{'s' if used == 1 else ''}.")
    if found.blocks_dropped:
        said.append(f"Left out, as one way was lost: {case.sets(len(found.blocks_dropped))}.")
    units = case.result.units
    if case.is_ratio and units is not None and "ended" in units:
        ends = units["ended"].astype(str).value_counts()
        told = [f"{_ENDED.get(str(end), 'left service')} {n}" for end, n in ends.items()]
        said.append(f"How the reeds ended: {', '.join(told)}.")
    return " ".join(said)


def dates(case: Case) -> str:
    """Item 14: from when to when, and why it ended."""
    p = case.result.progress
    last = case.opens.toordinal() - 1
    start = long_date(case.plan.start)
    if case.is_diary:
        return f"The diary runs from {start}, over {numbers.count(p.days, 'day')}."
    until = "" if case.until_done else f" The last planned day is {long_date(type(case.opens).fromordinal(last))}."
    state = {
        "running": f"It is on day {p.day} of {p.days}.", "finished": "It ran to its end.",
        "opened_early": f"It was opened early, on day {p.day} of {p.days}.",
        "ended_early": "It was ended before its last day; the remarks say why.",
    }.get(case.result.state, "")
    return f"The trial began on {start}.{until} {state}".strip()


def at_the_start(case: Case) -> str:
    """Item 15: the reeds at the start."""
    boxes = sorted({r.rsplit("-", 1)[0] for r in case.plan.reeds})
    named = f"box {boxes[0]}" if len(boxes) == 1 else f"boxes {' and '.join(', '.join(boxes).rsplit(', ', 1))}"
    said = [f"The reeds came from {named}."]
    if not case.is_diary:
        said.append("By the plan, they entered the trial new." if case.plan.from_new else
                    "By the plan, they were broken in before day 1.")
    return " ".join([*said, "First-play ratings and stiffness stand in the logbook."])


def counted(case: Case) -> str:
    """Item 16: how many were counted."""
    if case.main is None:
        return _SEALED
    if case.is_diary:
        return "Each reed or day is counted once, however often it was rated."
    return limits.counted(case)


def result(case: Case) -> str:
    """Item 17: the answer with its size and range."""
    if case.main is None:
        return _SEALED
    return " ".join(s for s in (headline(case), *size.size_sentences(case), size.usual_hours(case)) if s)


def side_readings(case: Case) -> str:
    """Item 18: the other readings and outcomes, which decide nothing."""
    if case.main is None:
        return _SEALED
    said = [*readings.other_readings(case), *readings.also_seen_sentences(case)]
    return "\n\n".join(said) if said else "None."


def harm(case: Case) -> str:
    """Item 19: harm to the player."""
    mould = case.remark("mouldy")
    first = ("No reed of the trial was retired as mouldy." if mould is None else
             f"Mould ended {numbers.count(float(str(mould.fact('reeds'))), 'reed')}.")
    return f"{first} The log does not ask about other harm, so none can be told of."


def limited(case: Case) -> str:
    """Item 20: what limits the answer."""
    if case.main is None:
        return "What may limit the answer so far stands among the remarks."
    return " ".join([*limits.limit_sentences(case), "The remarks below say what else may bend it."])


def for_whom(case: Case) -> str:
    """Item 21: for whom it holds."""
    return f"{limits.PERSONAL} Another player may find another answer, and so may you with other reeds."


def means(case: Case) -> str:
    """Item 22: what it means, how sure it is, and what to do next."""
    if case.main is None:
        return _SEALED
    return " ".join([*surety.surety_sentences(case), *surety.still_true_sentences(case),
                     *next_steps.next_sentences(case)])
