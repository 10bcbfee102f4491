"""The full report, from the first day on: items 13 to 22 of the reporting list, in our own words."""

from __future__ import annotations

from typing import Final

from ...wording import all_of, tr, trn
from .. import numbers
from ..case import Case, long_date
from . import front, limits, next_steps, readings, size, surety
from .headline import headline

__all__ = ["ENDED", "at_the_start", "became_of", "counted", "dates", "for_whom", "harm", "limited", "means", "result",
           "side_readings"]

_SEALED: Final = tr("Not yet: the answer is still sealed.")
ENDED: Final = {
    "worn_out": tr("worn out"), "damaged": tr("broken"), "mouldy": tr("mouldy"), "lost": tr("lost"),
    "given_away": tr("given away"),
    "still_going": tr("still going"), "cap": tr("played to the most hours in the plan"),
    "by_choice": tr("retired by choice"),
}


def became_of(case: Case) -> str:
    """Item 13: what became of the reeds, and what was left out."""
    p, found = case.result.progress, case.main
    said = []
    if p.sittings_planned:
        said.append(trn("Of {ratings} due, {n} is in.", "Of {ratings} due, {n} are in.", p.sittings_rated).format(
            ratings=numbers.count(p.sittings_planned, "rating"), n=p.sittings_rated))
    played = tr(", with {hours}").format(hours=numbers.hours(p.play_hours)) if p.play_hours > 0 else ""
    said.append(tr("In all, the log holds {sittings}{played}.").format(
                    sittings=numbers.count(p.sittings_logged, "sitting"), played=played))
    said.append(tr("No reed left service.") if not p.reeds_retired else
                tr("{reeds} left service.").format(reeds=numbers.count(p.reeds_retired, "reed")))
    if found is None:
        return " ".join(said)
    planned, used = len(case.plan.units), sum(found.units)
    said.append(trn("Of {units} in the plan, {n} counts.", "Of {units} in the plan, {n} count.", used).format(
        units=case.counted_units(planned), n=used))
    if found.blocks_dropped:
        said.append(tr("Left out, as one way was lost: {sets}.").format(sets=case.sets(len(found.blocks_dropped))))
    if not case.is_diary:
        said.append(tr("The table of what was planned and what came adds it up."))
    units = case.result.units
    if case.is_ratio and units is not None and "ended" in units:
        ends = units["ended"].astype(str).value_counts()
        told = [tr("{what} {n}").format(what=ENDED.get(str(end), tr("left service")), n=n) for end, n in ends.items()]
        said.append(tr("How the reeds ended: {told}.").format(told=", ".join(told)))
    return " ".join(said)


def dates(case: Case) -> str:
    """Item 14: from when to when, and why it ended."""
    p = case.result.progress
    last = case.opens.toordinal() - 1
    start = long_date(case.plan.start)
    if case.is_diary:
        return tr("The diary runs from {start}, over {days}.").format(start=start, days=numbers.count(p.days, "day"))
    until = "" if case.until_done else " " + tr("The last planned day is {date}.").format(
                                                 date=long_date(type(case.opens).fromordinal(last)))
    if case.plan.standing:
        going = (tr("The trial began on {start}. It goes on.") if case.result.state == "running" else
                 tr("The trial began on {start}. It was ended by hand; no end was planned."))
        return going.format(start=start)
    state = {
        "running": tr("It is on day {day} of {days}.").format(
                       day=p.day, days=p.days), "finished": tr("It ran to its end."),
        "opened_early": tr("It was opened early, on day {day} of {days}.").format(day=p.day, days=p.days),
        "ended_early": tr("It was ended before its last day; the remarks say why."),
    }.get(case.result.state, "")
    return tr("The trial began on {start}.{until} {state}").format(start=start, until=until, state=state).strip()


def at_the_start(case: Case) -> str:
    """Item 15: the reeds at the start."""
    boxes = sorted({r.rsplit("-", 1)[0] for r in case.plan.reeds})
    if not boxes:
        return tr("No box has been dealt yet.")
    said = [trn("The reeds came from box {boxes}.", "The reeds came from boxes {boxes}.", len(boxes)).format(
        boxes=all_of(boxes))]
    if not case.is_diary:
        said.append(tr("By the plan, each box entered the trial when it was opened.") if case.plan.standing else
                    tr("By the plan, they entered the trial new.") if case.plan.from_new else
                    tr("By the plan, they were broken in before day 1."))
    return " ".join([*said, tr("First-play ratings and stiffness stand in the logbook.")])


def counted(case: Case) -> str:
    """Item 16: how many were counted."""
    if case.main is None:
        return _SEALED
    if case.is_diary:
        return tr("Each reed or day is counted once, however often it was rated.")
    return limits.counted(case)


def result(case: Case) -> str:
    """Item 17: the answer with its size and range."""
    if case.main is None:
        return _SEALED
    first = front.lines(case)[0][1]
    return " ".join(s for s in (headline(case), first, size.usual_hours(case)) if s)


def side_readings(case: Case) -> str:
    """Item 18: the other readings and outcomes, which decide nothing."""
    if case.main is None:
        return _SEALED
    said = [*readings.other_readings(case), *readings.also_seen_sentences(case)]
    return "\n\n".join(said) if said else tr("None.")


def harm(case: Case) -> str:
    """Item 19: harm to the player."""
    mould = case.remark("mouldy")
    first = (tr("No reed of the trial was retired as mouldy.") if mould is None else
             tr("Mould ended {reeds}.").format(reeds=numbers.count(float(str(mould.fact("reeds"))), "reed")))
    return tr("{first} The log does not ask about other harm, so none can be told of.").format(first=first)


def limited(case: Case) -> str:
    """Item 20: what limits the answer."""
    if case.main is None:
        return tr("What may limit the answer so far stands among the remarks.")
    return " ".join([*limits.limit_sentences(case), tr("The remarks below say what else may bend it.")])


def for_whom(case: Case) -> str:
    """Item 21: for whom it holds."""
    return tr("{personal} Another player may find another answer, and so may you with other reeds.").format(
               personal=limits.PERSONAL)


def means(case: Case) -> str:
    """Item 22: what it means, how sure it is, and what to do next."""
    if case.main is None:
        return _SEALED
    return " ".join([*surety.surety_sentences(case), *surety.still_true_sentences(case),
                     *next_steps.next_sentences(case)])
