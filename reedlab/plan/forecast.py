"""What a plan can show: the very plan, played and judged many times over in simulated worlds.

Every sitting is simulated (`worlds`) and every trial goes through the outcome, test, guards and verdict rule
that will be used at the end (`analysis.batch`). Numbers about the player and the reeds are our assumptions
until the player's own replace them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import numpy.typing as npt

from ..analysis.batch import judge_batch
from ..errors import InputError
from ..trial.arrays import FloatArray
from ..trial.outcomes import OUTCOMES
from ..trial.outlook import Odds, Outlook
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import WORN_OUT, World, batch_trials, simulate
from ._bar import Progress, bar

__all__ = ["VERDICTS", "forecast", "odds_of", "usual_gaps", "usual_trials", "with_effect"]

#: The order in which verdicts are counted.
VERDICTS: Final = ("b_better", "a_better", "no_real_difference", "cannot_tell")
#: True differences tried, in steps of what matters: our choice.
_STEPS: Final = (0.0, 0.5, 1.0, 1.5, 2.0)
_MOST_TRIALS, _FEWEST_TRIALS, _SITTINGS = 1000, 300, 400_000
_BYTES: Final = 32_000_000  # held at once by simulated sittings
_BYTES_A_SITTING: Final = 320
_SAMPLES: Final = 4_000  # arrangements drawn where there are more than four million; a sampled test is valid too


def odds_of(gap: float, counts: Sequence[int] | npt.NDArray[np.int_]) -> Odds:
    """Return the odds at a true gap from the trials that ended with each verdict, in the order of `VERDICTS`."""
    trials = int(sum(counts))
    return Odds(gap, trials=trials, **{v: float(n / trials) for v, n in zip(VERDICTS, counts, strict=True)})


def usual_gaps(protocol: Protocol) -> tuple[float, ...]:
    """Return no difference, half of what matters, what matters, and half as much and as much again."""
    if protocol.card.lives:
        return tuple(float(protocol.matters**s) for s in _STEPS)
    return tuple(float(protocol.matters * s) for s in _STEPS)


def usual_trials(protocol: Protocol) -> int:
    """Return how many trials to simulate at each gap: 1000, fewer for long plans, for an answer in seconds."""
    return int(min(_MOST_TRIALS, max(_FEWEST_TRIALS, _SITTINGS // max(1, len(protocol.slots)))))


def with_effect(world: World, outcome: str, gap: float) -> World:
    """Return the world in which the second habit is truly ahead by `gap`, in the outcome's unit.

    Wear rates differ by `effect_wear`; lives and good hours by the ratio `effect_life`.
    """
    return world.but(**{OUTCOMES[outcome].effect: float(gap)})


def wearing_off(world: World, protocol: Protocol) -> World:
    """Return the world in which a way of a crossover wears off as the player says, unless the world says how it does.

    Gone after so many days is taken as sinking to half four times, to a sixteenth.
    """
    if not protocol.crossover or world.effect_days or world.effect_half_life:
        return world
    return world.but(effect_half_life=protocol.effect_days / 4)


def forecast(protocol: Protocol, *, world: World | None = None, gaps: Sequence[float] | None = None,
             trials: int | None = None, seed: int = 1, progress: Progress = False,
             samples: int = _SAMPLES) -> Outlook:
    """Forecast what a plan will show, by simulating it: the odds at each gap, by rising gap.

    Parameters
    ----------
    protocol : Protocol
        The plan, drawn up or already frozen.
    world : World, optional
        The player and the reeds; the default assumptions if not given. Its own effects are replaced by `gaps`.
    gaps : sequence of float, optional
        True differences; default `usual_gaps`. All gaps are tried on the same players, reeds and days.
    trials : int, optional
        Simulated trials at each gap; default `usual_trials`.
    seed : int
        Same seed, same forecast.
    progress : bool or callable
        True shows a bar; a callable is given the number of trials done since it was last called.
    samples : int
        Arrangements drawn where a plan has too many to count.

    Raises
    ------
    InputError
        Nothing was dealt, a gap is out of range, or `trials` is below 1.

    Notes
    -----
    The habits are dealt anew in each simulated trial, as the plan could have, except where the deal itself sets
    which reed is played when. Where a plan has more than 2^22 arrangements the forecast draws 4000 of them,
    the final analysis 100,000: both tests are valid, and the chances differ by less than the error. A plan that may be
    read early is played to its end and judged there as one that may not: its own two ways to name a winner do so as
    often, give or take a point (tests/benchmarks/early_looks.py), and take many times as long to play.
    """
    protocol = replace(protocol, read_early=False)
    world = wearing_off(World() if world is None else world, protocol)
    gaps = usual_gaps(protocol) if gaps is None else tuple(float(g) for g in gaps)
    trials = usual_trials(protocol) if trials is None else int(trials)
    _check(protocol, gaps, trials, seed)
    card = protocol.card
    plain = min(range(len(gaps)), key=lambda i: abs(gaps[i] - card.none))
    parts = list(_parts(protocol, trials, seed))
    counts = np.zeros((len(gaps), len(VERDICTS)), dtype=int)
    totals, reach = np.zeros(3), []
    with bar(progress, trials * len(gaps), "forecast") as tick:
        for i, gap in enumerate(gaps):
            truth = with_effect(world, protocol.outcome, gap)
            for n, part_seed in parts:
                found, kept, least = _play(protocol, truth, n, part_seed, samples)
                counts[i] += found
                if i == plain:
                    totals += kept
                    reach.append(least)
                tick(n)
    least_p = float(np.median(np.concatenate(reach))) if card.lives else protocol.layout.least_p
    per_reed = totals / (trials * len(protocol.reeds))
    return Outlook(
        protocol=protocol, odds=tuple(odds_of(gaps[i], counts[i]) for i in np.argsort(gaps, kind="stable")),
        least_p=least_p, sittings=float(per_reed[0]), hours=float(per_reed[1]), worn_out=float(totals[2] / trials))


def _check(protocol: Protocol, gaps: Sequence[float], trials: int, seed: int) -> None:
    faults = []
    if protocol.how_dealt == "not":
        faults.append(tr("this plan is an old diary: nothing was dealt, so nothing can be forecast"))
    if trials < 1:
        faults.append(tr("`trials` is {trials}, wanted at least 1").format(trials=trials))
    if not gaps or not all(math.isfinite(g) for g in gaps):
        faults.append(tr("`gaps` needs at least one number, and no empty ones"))
    if isinstance(seed, bool) or not isinstance(seed, int) or seed < 0:
        faults.append(tr("`seed` is {seed!r}, wanted a whole number, 0 or more").format(seed=seed))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))


def _parts(protocol: Protocol, trials: int, seed: int) -> list[tuple[int, int]]:
    """Cut the trials into parts that fit into memory: (trials, seed) of each. Depends on the plan only."""
    sittings = max(len(protocol.slots), protocol.days)
    size = max(50, _BYTES // (_BYTES_A_SITTING * sittings))
    parts = -(-trials // size)
    seeds = np.random.SeedSequence([seed, 31]).generate_state(parts, dtype=np.uint64)
    return [(min(size, trials - k * size), int(s)) for k, s in enumerate(seeds)]


def _play(protocol: Protocol, world: World, n: int, seed: int,
          samples: int) -> tuple[npt.NDArray[np.int_], FloatArray, FloatArray]:
    """Return verdict counts, sums of ratings, hours and worn-out reeds, and each trial's least p."""
    batch = simulate(protocol, world, n, seed, fresh_deals=protocol.same_days)
    judged = judge_batch(batch_trials(batch), samples=samples, seed=seed % 2**32)
    counts = np.array([(judged.verdict == v).sum() for v in VERDICTS])
    rated = np.isfinite(batch.rating) & ~batch.unsure_reed
    kept = np.array([rated.sum(), batch.hours.sum(), (batch.left_why == WORN_OUT).sum()], dtype=float)
    return counts, kept, judged.least_p
