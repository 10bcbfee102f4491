"""The rating outcomes of simulated trials: their cells handed to the one reckoning (`analysis.units.rating_values`)."""

from __future__ import annotations

import numpy as np

from ..units.adjust import allowed_for
from ..units.blind import playing_hours
from ..units.rating_values import Rated, Values, values_of
from .trials import BatchTrials

__all__ = ["batch_values"]


def batch_values(trials: BatchTrials) -> Values:
    """Return the plan's rating outcome for k trials, adjusted as the plan says; a cell is a sitting."""
    p = trials.protocol
    allowed = allowed_for(p)
    adjust = [a for a in p.adjust if a in allowed]
    n, unit = len(p.units), trials.unit
    hours, total, before = np.zeros((1, 1)), np.zeros((1, n)), np.zeros((1, n))
    if p.design == "reed_by_reed":
        place = {r: i for i, r in enumerate(p.reeds)}
        reed_of = np.array([place[u.reeds[0]] for u in p.units])
        unit = np.argsort(reed_of)[trials.reed]
        hours, after = playing_hours(trials.reed, trials.minutes)
        total = np.zeros((len(trials), n))
        for u in np.unique(unit):
            total[:, u] = after[:, unit == u][:, -1]
        before = trials.first_play[:, reed_of]
    elif "age_hours" in adjust:
        hours, _ = playing_hours(trials.reed, trials.minutes)
    facts = {"day": lambda: trials.day.astype(float), "order": lambda: trials.order.astype(float),
             "humidity": lambda: trials.humidity[:, trials.day - 1], "age_hours": lambda: hours}
    return values_of(Rated(
        units=p.units, squares=p.unit_kind == "diagonal", reed=trials.reed, unit=unit, rating=trials.scores,
        count=np.ones((1, 1)), hours=hours, total=total, before=before,
        facts={a: facts[a]() for a in adjust if a in facts},
        half=None if p.halves is None else p.halves.of(trials.day)), p.outcome, adjust)
