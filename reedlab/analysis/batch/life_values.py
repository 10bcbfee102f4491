"""Lives of simulated trials: their sittings handed to the one reckoning (`analysis.units.life_values`)."""

from __future__ import annotations

import numpy as np

from ..units.blind import playing_hours
from ..units.life_values import Ends, Rule, ends_of
from .trials import BatchTrials

__all__ = ["batch_lives"]


def batch_lives(trials: BatchTrials) -> Ends:
    """Return the playing hours until worn out, or while good, by the plan's rule."""
    p = trials.protocol
    place = {r: i for i, r in enumerate(p.reeds)}
    reed_of = np.array([place[u.reeds[0]] for u in p.units])
    # the rule reads the overall rating, whatever the plan rates besides
    reads = p.ends_by_ratings and p.rating == "overall"
    return ends_of(
        np.argsort(reed_of)[trials.reed], playing_hours(trials.reed, trials.minutes)[1],
        np.where(trials.counted, trials.rating, np.nan) if reads else None, trials.left_why[:, reed_of],
        [u.block for u in p.units],
        Rule(p.life_mark, p.in_a_row, p.worn_out_rule == "player", p.cap_hours, p.same_days))
