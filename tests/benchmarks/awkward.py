"""Worlds that are awkward in ways the simulator does not know: a simulated batch, changed afterwards.

Ratings are simulated without rounding or ends, changed, and only then put on the player's scale. All data are
invented; how strong each world is, is our assumption.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from reedlab.plan.forecast import with_effect
from reedlab.trial.protocol import Protocol
from reedlab.worlds import BY_CHOICE, GOING, WORN_OUT, Batch, World, simulate
from reedlab.worlds.reeds import to_scale

__all__ = ["AWKWARD", "Awkward", "given_up", "play", "unwritten"]

Rng = np.random.Generator
FloatArray = npt.NDArray[np.float64]
#: Changes ratings before they are put on the scale: (batch, true gap in points, rng) -> ratings (n, s).
Ratings = Callable[[Batch, float, Rng], FloatArray]
#: Changes what is written down afterwards.
Writing = Callable[[Batch, Rng], Batch]
_WIDE: Final = {"ends": (-100.0, 100.0), "step": 0.01}
_GOES_ON_MIN: Final = 30.0


@dataclass(frozen=True)
class Awkward:
    """A world: what it does to the ratings, to the writing, and in which designs or outcomes it makes sense."""

    ratings: Ratings | None = None
    writing: Writing | None = None
    where: tuple[str, ...] = ("day_rating", "mean_rating")


def play(plan: Protocol, world: World, trials: int, seed: int, awkward: Awkward, *, gap: float = 0.0) -> Batch:
    """Play trials of a plan in an awkward world; `gap` is the true one of ratings, in points."""
    rng = np.random.default_rng([seed, 77])
    if awkward.ratings is None:
        batch = simulate(plan, with_effect(world, plan.outcome, gap) if gap else world, trials, seed, fresh_deals=True)
    else:
        batch = simulate(plan, with_effect(world.but(**_WIDE), plan.outcome, gap), trials, seed, fresh_deals=True)
        rating = to_scale(awkward.ratings(batch, gap, rng), world.step, *world.ends)
        batch = dataclasses.replace(batch, rating=rating, world=world)
    return batch if awkward.writing is None else awkward.writing(batch, rng)


def _of_b(batch: Batch) -> npt.NDArray[np.bool_]:
    return batch.used_b & (batch.plan.slot_unit >= 0)


def _by_reed(batch: Batch) -> list[npt.NDArray[np.intp]]:
    """Return the places of each reed's sittings, in playing order."""
    return [np.flatnonzero(batch.plan.slot_reed == r) for r in range(len(batch.plan.reeds))]


def unwritten(below: float, share: float) -> Writing:
    """Return the world in which so large a share of the second way's ratings under a mark go unwritten.

    A reed that its written ratings never call worn out is played on, unrated.
    """
    def write(batch: Batch, rng: Rng) -> Batch:
        low = (batch.rating < below) & _of_b(batch)
        rating = np.where(low & (rng.random(low.shape) < share), np.nan, batch.rating)
        if batch.protocol.outcome not in ("life_hours", "good_hours"):
            return dataclasses.replace(batch, rating=rating)
        minutes, logged = batch.play_min.copy(), batch.logged.copy()
        day, why = batch.left_day.copy(), batch.left_why.copy()
        for r, mine in enumerate(_by_reed(batch)):
            lost = (why[:, r] == WORN_OUT) & (np.isnan(rating[:, mine]) & (batch.rating[:, mine] < below)).any(axis=1)
            later = lost[:, None] & (batch.plan.slot_day[mine] > day[:, r, None])
            minutes[:, mine] = np.where(later, _GOES_ON_MIN, minutes[:, mine])
            logged[:, mine] |= later
            day[lost, r], why[lost, r] = 0, GOING
        return dataclasses.replace(batch, rating=rating, play_min=minutes, logged=logged, left_day=day, left_why=why)

    return write


def given_up(below: float, share: float) -> Writing:
    """Return the world in which a reed of the second way is given up by choice at a first rating under a mark."""
    def write(batch: Batch, rng: Rng) -> Batch:
        rating, minutes, logged = batch.rating.copy(), batch.play_min.copy(), batch.logged.copy()
        day, why = batch.left_day.copy(), batch.left_why.copy()
        for r, mine in enumerate(_by_reed(batch)):
            low = (rating[:, mine] < below) & _of_b(batch)[:, mine]
            first = low.argmax(axis=1)
            at = batch.plan.slot_day[mine][first]
            gone = low.any(axis=1) & (rng.random(len(batch)) < share)
            gone &= (day[:, r] == 0) | (at < day[:, r])
            after = gone[:, None] & (np.arange(len(mine)) > first[:, None])
            rating[:, mine] = np.where(after, np.nan, rating[:, mine])
            minutes[:, mine] = np.where(after, 0.0, minutes[:, mine])
            logged[:, mine] &= ~after
            day[gone, r], why[gone, r] = at[gone], BY_CHOICE
        return dataclasses.replace(batch, rating=rating, play_min=minutes, logged=logged, left_day=day, left_why=why)

    return write


def at_random(share: float) -> Writing:
    """Return the world in which so large a share of all ratings goes unwritten, whatever the way."""
    def write(batch: Batch, rng: Rng) -> Batch:
        return dataclasses.replace(
            batch, rating=np.where(rng.random(batch.rating.shape) < share, np.nan, batch.rating))

    return write


def both_unwritten(below: float) -> Writing:
    """Return the world in which ratings under a mark go unwritten with both ways."""
    def write(batch: Batch, rng: Rng) -> Batch:
        return dataclasses.replace(batch, rating=np.where(batch.rating < below, np.nan, batch.rating))

    return write


def anchored(share: float) -> Ratings:
    """Return the world in which a reed is rated this much by its last rating."""
    def rate(batch: Batch, gap: float, rng: Rng) -> FloatArray:
        out = batch.rating.copy()
        for mine in _by_reed(batch):
            last = np.full(len(batch), np.nan)
            for s in mine:
                now = np.where(np.isnan(last), out[:, s], share * last + (1 - share) * out[:, s])
                out[:, s] = now
                last = np.where(np.isnan(now), last, now)
        return out

    return rate


def carried(share: float) -> Ratings:
    """Return the world in which so much of the gap stays until the reed's next sitting."""
    def rate(batch: Batch, gap: float, rng: Rng) -> FloatArray:
        out = batch.rating.copy()
        played = batch.play_min > 0
        for mine in _by_reed(batch):
            last = np.zeros(len(batch), dtype=bool)
            for s in mine:
                out[:, s] += share * gap * last
                last = np.where(played[:, s], _of_b(batch)[:, s], last)
        return out

    return rate


def expected(points: float) -> Ratings:
    """Return the world in which the second way, expected to be better, is rated so much higher."""
    return lambda batch, gap, rng: batch.rating + points * _of_b(batch)


def learning(points: float) -> Ratings:
    """Return the world in which all ratings rise by so much over the trial."""
    return lambda batch, gap, rng: batch.rating + points * batch.plan.slot_day / batch.plan.n_days


def weekday(sd: float) -> Ratings:
    """Return the world in which weekdays differ by so much."""
    def rate(batch: Batch, gap: float, rng: Rng) -> FloatArray:
        out: FloatArray = batch.rating + rng.normal(0, sd, (len(batch), 7))[:, batch.plan.slot_day % 7]
        return out

    return rate


def drifting(sd: float) -> Ratings:
    """Return the world in which each reed drifts its own way, by a spread of so much over the trial."""
    def rate(batch: Batch, gap: float, rng: Rng) -> FloatArray:
        slope = rng.normal(0, sd, (len(batch), len(batch.plan.reeds)))
        at = batch.plan.slot_day / batch.plan.n_days - 0.5
        out: FloatArray = batch.rating + slope[:, batch.plan.slot_reed] * at
        return out

    return rate


def heavy_tails(size: float) -> Ratings:
    """Return the world with more noise, of Student's t with two degrees of freedom."""
    def rate(batch: Batch, gap: float, rng: Rng) -> FloatArray:
        out: FloatArray = batch.rating + size * rng.standard_t(2, batch.rating.shape)
        return out

    return rate


def noisy_way(sd: float) -> Ratings:
    """Return the world in which the second way's ratings scatter more."""
    def rate(batch: Batch, gap: float, rng: Rng) -> FloatArray:
        out: FloatArray = batch.rating + _of_b(batch) * rng.normal(0, sd, batch.rating.shape)
        return out

    return rate


_BOTH: Final = ("day_rating", "mean_rating", "life_hours")
AWKWARD: Final[Mapping[str, Awkward]] = {
    "as assumed": Awkward(where=_BOTH),
    "3 in 10 more missing, whatever the way": Awkward(writing=at_random(0.3), where=_BOTH),
    "ratings under 6 unwritten, both ways alike": Awkward(writing=both_unwritten(6)),
    "ratings under 6 unwritten with one way": Awkward(writing=unwritten(6, 1.0)),
    "half the ratings under 6 unwritten with one way": Awkward(writing=unwritten(6, 0.5)),
    "ratings under 4 unwritten with one way": Awkward(writing=unwritten(4, 1.0), where=("life_hours",)),
    "half the ratings under 4 unwritten with one way": Awkward(writing=unwritten(4, 0.5), where=("life_hours",)),
    "reeds given up at a first rating under 6, one way": Awkward(writing=given_up(6, 1.0), where=("mean_rating",)),
    "reeds given up at a first rating under 4, one way": Awkward(writing=given_up(4, 1.0), where=("life_hours",)),
    "half of them given up so": Awkward(writing=given_up(4, 0.5), where=("life_hours",)),
    "anchoring: half of the reed's last rating": Awkward(ratings=anchored(0.5)),
    "carry-over: half stays until the next sitting": Awkward(ratings=carried(0.5), where=("day_rating",)),
    "expectation: one way rated half a point higher": Awkward(ratings=expected(0.5)),
    "learning: ratings rise by 1.5 points": Awkward(ratings=learning(1.5)),
    "weekdays differ (spread 1 point)": Awkward(ratings=weekday(1.0)),
    "each reed drifts its own way (spread 2 points)": Awkward(ratings=drifting(2.0)),
    "heavy tails": Awkward(ratings=heavy_tails(0.7)),
    "one way's ratings scatter more (1.5 points)": Awkward(ratings=noisy_way(1.5)),
}
