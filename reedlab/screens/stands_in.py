"""A reed has left service: who stands in for it, and what nobody can take over.

A plan is frozen with its reeds, so no reed can take the ways dealt to another. What the schedule can do is to let the
next reed of the same way go on (one reed at a time), to name another reed for a concert, and to carry on with the
rest of a matched set. It is asked as it would be without the loss and as it is: the difference is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from datetime import date

from ..rows.tables import CHOICE_WORDS, Frames
from ..schedule import Schedule, schedule
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol
from ..wording import all_of, spoken_date, tr, trn

__all__ = ["stands_in"]

_AHEAD = 4  # days looked ahead for the one that takes its place


def stands_in(frames: Frames, plans: Mapping[str, Protocol], reed: str, today: date) -> list[str]:
    """Return sentences on who stands in for a reed that has left service, and on what is lost with it.

    Parameters
    ----------
    frames : Frames
        As the logbook stands, the reed's leaving in it.
    plans : mapping
        The plans in `frames`, by name.
    reed : str
    today : date
    """
    row = frames.retirements[frames.retirements["reed"] == reed]
    if not len(row):
        return []
    before = replace(frames, retirements=frames.retirements[frames.retirements["reed"] != reed])
    why = CHOICE_WORDS[str(row["reason"].iloc[-1])].lower()
    out: list[str] = []
    for name, plan in plans.items():
        if plan.how_dealt == "not" or calendar_of(plan, frames).over(today):
            continue
        then, now = (schedule(plan, f, today=today, days=_AHEAD) for f in (before, frames))
        told = (*_next(reed, then, now, today), *_concerts(reed, then, now), *_lost(reed, name, plan, frames, today))
        out += [text for text in told if text not in out]
    return [tr("{reed} is gone ({why}). {out}").format(reed=reed, why=why, out=out[0]), *out[1:]] if out else []


def _next(reed: str, then: Schedule, now: Schedule, today: date) -> Iterator[str]:
    """Yield who is played from its next day on in its place, where the schedule has anyone."""
    for old, new in zip(then.days, now.days, strict=False):
        mine = [x for x in old.owed if x.reed == reed]
        if not mine:
            continue
        came = [x.reed for x in new.owed if x.habit == mine[0].habit and old.line(x.reed) is None]
        if came:
            yield tr("{came} stands in from {when}.").format(came=came[0], when=_when(new.on, today))
        return


def _concerts(reed: str, then: Schedule, now: Schedule) -> Iterator[str]:
    for on, names in then.concerts.items():
        if reed not in names:
            continue
        came = [r for r in now.concerts.get(on, ()) if r not in names]
        yield (tr("{came} takes its place at the concert on {spoken_date}.").format(
                   came=came[0], spoken_date=spoken_date(on)) if came else
               tr("No other reed can be ready for the concert on {spoken_date}. Break in another soon.").format(
                   spoken_date=spoken_date(on)))


def _lost(reed: str, name: str, plan: Protocol, frames: Frames, today: date) -> Iterator[str]:
    """Yield what of a trial goes with the reed."""
    if reed not in plan.reeds:
        return
    dates = calendar_of(plan, frames).dates()
    to_come = sum(r == reed and dates[d - 1] > today for u in plan.units for r, d in u.cells)
    if plan.two_reeds:
        yield tr("{name} compares two reeds, and one of them is gone: it has nothing more to ask. What it has so far "
                 "counts. You may end it on the page Plan.").format(name=name)
        return
    block = next((u.block for u in plan.units if u.reeds == (reed,) and not u.cells), None)
    if to_come:
        yield trn("{name} has no spare for it: its {n} rating to come is lost, and the other reeds go on as planned.",
                  "{name} has no spare for it: its {n} ratings to come are lost, and the other reeds go on as planned.",
                  to_come).format(name=name, n=to_come)
    elif block is not None:
        left = [r for u in plan.units if u.block == block for r in u.reeds
                if r != reed and r not in set(frames.retirements["reed"])]
        rest = trn("{reeds} of its set goes on", "{reeds} of its set go on", len(left)).format(
            reeds=all_of(left)) if left else tr("none of its set is left")
        yield tr("{name} goes on without it; {rest}. What it gave so far counts.").format(name=name, rest=rest)


def _when(on: date, today: date) -> str:
    days = (on - today).days
    return tr("today") if days == 0 else tr("tomorrow") if days == 1 else spoken_date(on)
