"""What the closed forms say of a plan: a check that stands beside the forecast, never the answer."""

from __future__ import annotations

import math

from ..analysis.player.sample_size import lives_chance, pairs_chance, two_groups_chance
from ..trial.protocol import Protocol
from ..worlds import World

__all__ = ["closed_form_chance"]


def closed_form_chance(protocol: Protocol, world: World, gap: float, *, sittings: float, hours: float,
                       worn_out: float) -> float:
    """Return the chance that a textbook test of this size finds a true gap.

    Paired t for days, two-sample t for reeds, log-rank (Schoenfeld) for lives. Forgotten days, slips, the
    ends of the scale and lost reeds are unknown to it, so it is too hopeful.

    Parameters
    ----------
    gap : float
        In the outcome's own unit; a ratio for lives.
    sittings, hours : float
        Rated sittings and playing hours of one reed.
    worn_out : float
        Reeds worn out by the end.
    """
    p = protocol
    if p.card.lives:
        return lives_chance(worn_out, gap, world.life_shape, level=p.level)
    noise = world.noise_sd**2 + world.step**2 / 12
    blocks = len({u.block for u in p.units})
    if p.design == "day_by_day":
        return pairs_chance(max(2, blocks), gap, math.sqrt(_pair_variance(p, world, noise)), level=p.level)
    if p.crossover:  # half of the difference of two means, each of half of the ratings; what a reed is worth falls out
        return two_groups_chance(max(2.0, len(p.units) / 2), gap, math.sqrt(noise / max(sittings, 2.0)), level=p.level)
    known = world.break_in_r if "break_in" in p.adjust else world.first_play_r if "first_play" in p.adjust else 0.0
    level = world.reed_sd**2 * (1 - known**2)
    rated = max(sittings, 1.0)
    # evenly spread hours have the variance (their span)^2 / 12
    variance = level + noise / rated if p.card.of_points else (
        world.wear_sd**2 + 12 * noise / (rated * max(hours, 0.1) ** 2))
    return two_groups_chance(max(2.0, len(p.units) / 2), gap, math.sqrt(variance), level=p.level)


def _pair_variance(p: Protocol, world: World, noise: float) -> float:
    """Return the variance of B - A within one block."""
    if p.two_reeds:  # a day's pairs: they share what the reeds are apart that day
        a_day = len(p.units) / len({d for u in p.units for _, d in u.cells})
        day = 2 * world.reed_day_sd**2
        of_set = max(1, len(p.units) / len({u.block for u in p.units}) / a_day)  # days in a set
        return (2 * noise * world.pair_noise**2 / a_day + day) / of_set
    if p.pairs:  # a set of eight: the mean of four halved pairs less that of four others
        return noise * world.pair_noise**2 / 4
    if p.unit_kind == "diagonal":  # means of two ratings; reeds and days cancel
        return noise
    one_reed = all(len({r for u in p.units if u.block == b for r in u.reeds}) == 1 for b in
                   {u.block for u in p.units})
    # one reed on two days: the days' moods differ; two reeds on one day: the reeds do
    return 2 * (noise + (world.mood_sd**2 if one_reed else world.reed_sd**2))
