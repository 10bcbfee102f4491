"""How far and how complete a trial is, and which ratings the plan asked for, blind to the habits."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from ...trial.crossover import Halves
from ...trial.result import Progress
from .blind import BlindTrial

__all__ = ["due_cells", "planned_cells", "progress_of"]

Cell = tuple[str, int]  # (reed, trial day)


def planned_cells(trial: BlindTrial) -> list[tuple[str, int]]:
    """Return every planned (reed, trial day): the slots, else the cells dealt; empty if the plan names none."""
    if trial.slots:
        return [(reed, day) for day, reed in trial.slots]
    return [cell for u in trial.units for cell in u.cells]


def due_cells(trial: BlindTrial, today: date) -> tuple[set[tuple[str, int]], set[tuple[str, int]]]:
    """Return the (reed, day) cells that were due, and those of them that were rated or made up.

    A slot of today is due once it is rated; a slot after the reed left service, or after it reached the cap of
    hours, is not due; of two reeds side by side either one ends both. Day by day a rating belongs to its own day, so
    nothing can be made up. Reed by reed a missed rating is made up by one on a later day that has none of that reed;
    where the ways set the hours, by any reed's, for there the plan names the order of the reeds and not their days.
    """
    rows = trial.sittings[trial.sittings["rated"].to_numpy()]
    rated = set(zip(rows["reed"], rows["day"], strict=True))
    planned = planned_cells(trial)
    full = _full_since(trial)
    both = trial.reeds if trial.unit_kind == "pair" and len(trial.units[0].reeds) == 2 else ()
    due = set()
    for reed, day in planned:
        on = trial.calendar[day - 1]
        gone = any(r in trial.retired and trial.retired[r][0] < on for r in (both or (reed,)))
        if on <= trial.until and not gone and (on < today or (reed, day) in rated) and day <= full.get(reed, day):
            due.add((reed, day))
    done = due & rated
    if trial.design != "day_by_day":
        more = sorted(rated - set(planned), key=lambda c: (c[1], c[0]))
        done |= _made_up(due - done, more, trial.same_days, trial.halves)
    return due, done


def _full_since(trial: BlindTrial) -> dict[str, int]:
    """Return the trial day on which a reed reached the cap of hours."""
    if trial.cap_hours is None:
        return {}
    rows = trial.sittings[trial.sittings["hours_after"].to_numpy() >= trial.cap_hours - 1e-6]
    return {str(r): int(d) for r, d in rows.groupby("reed")["day"].min().items()}


def _made_up(missed: set[Cell], more: Sequence[Cell], same_days: bool, halves: Halves | None) -> set[Cell]:
    """Match ratings beyond the plan, in the order of days, with the missed ones they stand for.

    Of a crossover only one on a day that counts of the same half does.
    """
    left, found = set(missed), set()
    for reed, day in more:
        own = [c for c in left if c[0] == reed and c[1] < day]
        if halves is not None:
            own = [c for c in own if halves.makes_up(day, c[1])]
        if not same_days:  # another reed in its turn that day, else the pace moved along
            own = [c for c in left if c[1] == day] or own or [c for c in left if c[1] < day]
        if own:
            cell = min(own, key=lambda c: (c[1], c[0]))
            left.remove(cell)
            found.add(cell)
    return found


def progress_of(trial: BlindTrial, *, today: date, as_planned_share: float | None, all_sittings: int) -> Progress:
    """Return the progress on a day.

    Parameters
    ----------
    trial : BlindTrial
    today : date
    as_planned_share : float or None
        Share of the sittings with a logged habit that used the dealt one.
    all_sittings : int
        Sittings of the trial's reeds in its time, those marked "not sure which reed" included.
    """
    planned = planned_cells(trial)
    due, done = due_cells(trial, today)
    rows = trial.sittings
    passed = sum(d <= today for d in trial.calendar)
    return Progress(
        day=passed, days=trial.planned_days, last_day=trial.calendar[trial.planned_days - 1].isoformat(),
        sittings_planned=len(due) if planned else int(rows["rated"].sum()),
        sittings_rated=len(done) if planned else int(rows["rated"].sum()),
        sittings_logged=all_sittings, play_hours=float(np.round(rows["play_min"].sum() / 60.0, 6)),
        reeds=len(trial.reeds), reeds_retired=len(trial.retired), as_planned_share=as_planned_share)
