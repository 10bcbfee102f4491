"""What a plan can show, told from one set of simulated trials wherever it is told: on any page and on the command line.

A plan is played through in the shape that stands in for it (`stand_in`), always as often and from the same seed, so
that one plan has one chance. What was once played through is remembered.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from functools import lru_cache
from typing import Final

from ..trial.outlook import Outlook
from ..trial.protocol import Protocol
from ..worlds import World
from ._bar import Progress, bar
from .forecast import forecast, odds_of, usual_gaps
from .known import known

__all__ = ["LOOK_SEED", "LOOK_TRIALS", "fingerprint", "outlook", "samples_for"]

LOOK_TRIALS: Final = 300  # simulated trials at each true gap: a chance of half is then told to 3 in 100
LOOK_SEED: Final = 1
_SAMPLES: Final = 1_000  # arrangements drawn where there are too many to count: a coarser test, but as fair
_PLAIN: Final = 0.97  # above it, as in a repeat, so few do not tell a clear gap from a clearer one:
_FINE_SAMPLES: Final = 20_000


def samples_for(level: float) -> int:
    """Return how many arrangements a forecast draws where there are too many to count."""
    return _SAMPLES if level <= _PLAIN else _FINE_SAMPLES


def outlook(protocol: Protocol, *, shown: Protocol | None = None, world: World | None = None,
            gaps: Sequence[float] | None = None, trials: int = LOOK_TRIALS, seed: int = LOOK_SEED,
            progress: Progress = False) -> Outlook:
    """Return what a plan can show.

    Parameters
    ----------
    protocol : Protocol
        The plan, at the level that it will be judged at.
    shown : Protocol, optional
        What is played through in its place (`Draft.shown`); the plan itself if not given.
    world : World, optional
        The player and the reeds; our assumptions if not given.
    gaps : sequence of float, optional
        True gaps beside none and what matters, which are always tried; default `usual_gaps`.
    trials, seed, progress
        As for `forecast`.
    """
    played = dataclasses.replace(protocol if shown is None else shown, level=protocol.level)
    more = usual_gaps(protocol) if gaps is None else tuple(float(g) for g in gaps)
    every = sorted({*more, protocol.card.none, protocol.matters})
    world = World() if world is None else world
    found = {}
    with bar(progress, trials * len(every), "forecast") as tick:
        for gap in every:
            found[gap] = _at(played, world, gap, trials, seed)
            tick(trials)
    return dataclasses.replace(found[protocol.card.none], protocol=protocol,
                               odds=tuple(o for g in every for o in found[g].odds))


@lru_cache(maxsize=4096)
def _at(protocol: Protocol, world: World, gap: float, trials: int, seed: int) -> Outlook:
    found = None
    if (trials, seed) == (LOOK_TRIALS, LOOK_SEED) and world.but(minutes_a_day=World().minutes_a_day) == World():
        found = known().odds.get((fingerprint(protocol), world.minutes_a_day))
    if found is None or gap not in (protocol.card.none, protocol.matters):
        return forecast(protocol, world=world, gaps=(gap,), trials=trials, seed=seed,
                        samples=samples_for(protocol.level))
    counts = found.alike if gap == protocol.card.none else found.matters
    return Outlook(protocol=protocol, odds=(odds_of(gap, counts),), least_p=found.least_p, sittings=found.sittings,
                   hours=found.hours, worn_out=found.worn_out)


def fingerprint(protocol: Protocol) -> str:
    """Return how a plan that is played through is found among those known beforehand."""
    return protocol.sha256[:16]
