"""How far and how complete a trial is, and which ratings the plan asked for, blind to the habits."""

from __future__ import annotations

from datetime import date

import numpy as np

from ..result import Progress
from .blind import BlindTrial

__all__ = ["due_cells", "planned_cells", "progress_of"]


def planned_cells(trial: BlindTrial) -> list[tuple[str, int]]:
    """Return every planned (reed, trial day): the slots, else the cells dealt; empty if the plan names none."""
    if trial.slots:
        return [(reed, day) for day, reed in trial.slots]
    return [cell for u in trial.units for cell in u.cells]


def due_cells(trial: BlindTrial, today: date) -> tuple[set[tuple[str, int]], set[tuple[str, int]]]:
    """Return the (reed, day) cells that were due, and those of them that were rated.

    A slot of today is due once it is rated; a slot after the reed left service is not due.
    """
    rows = trial.sittings[trial.sittings["rated"].to_numpy()]
    rated = set(zip(rows["reed"], rows["day"], strict=True))
    due = set()
    for reed, day in planned_cells(trial):
        on = trial.calendar[day - 1]
        gone = reed in trial.retired and trial.retired[reed][0] < on
        if on <= trial.until and not gone and (on < today or (reed, day) in rated):
            due.add((reed, day))
    return due, due & rated


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
