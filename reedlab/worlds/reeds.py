"""Simulated reeds: how good, how stiff, how long they last. Arrays are (reeds, n)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import brentq

from ..trial.arrays import FloatArray
from ..trial.world import World

__all__ = ["Reeds", "damage_rate", "draw_reeds", "sunk", "to_scale"]



@dataclass(frozen=True)
class Reeds:
    """Reeds of `n` players, every array (reeds, n): level and first play in points, life and damage in hours.

    `life_h` counts playing hours from new, as worn by the first habit; `damage_h` those until an accident,
    from whenever one begins to watch (accidents do not age).
    """

    level: FloatArray
    first_play: FloatArray
    stiffness: FloatArray
    first_stiffness: FloatArray
    wear: FloatArray
    life_h: FloatArray
    damage_h: FloatArray

    def take(self, which: Sequence[int]) -> Reeds:
        """Return some of the reeds, in the order asked for."""
        k = np.asarray(which, dtype=int)
        return Reeds(*(getattr(self, name)[k] for name in self.__dataclass_fields__))


@lru_cache(maxsize=64)
def damage_rate(share: float, scale_h: float, shape: float) -> float:
    """Return the accidents per playing hour that befall this share of reeds before their life ends.

    Lives are Weibull(`shape`, `scale_h`), accidents come at a constant rate and strike a reed once.
    """
    if share <= 0:
        return 0.0

    def struck(rate: float) -> float:
        # chance that an exponential time comes before a Weibull life, over x = (life / scale) ** shape
        area, _ = quad(lambda x: np.exp(-x - rate * scale_h * x ** (1 / shape)), 0, np.inf)
        return 1 - area

    top = 1 / scale_h
    while struck(top) < share:
        top *= 2
    return float(brentq(lambda rate: struck(rate) - share, 0, top))


def to_scale(x: FloatArray, step: float, low: float = 0, high: float = 10) -> FloatArray:
    """Return `x` rounded to `step` and held between the ends of the scale."""
    out: FloatArray = np.minimum(np.maximum(np.rint(x / step) * step, low), high)
    return out


def sunk(world: World, level: FloatArray, wear: FloatArray, life_h: FloatArray, hours: FloatArray) -> FloatArray:
    """Return how many points a reed has sunk after `hours` of wear from new.

    Gentle at first (`wear` points an hour), then failing with the power `failing_bend` of the share of
    its life that is gone; at the end of its life it stands at `worn_level`, and goes on sinking.
    """
    left_to_fall = np.maximum(level - wear * life_h - world.worn_level, 0)
    gone = np.minimum(hours / life_h, 1.5)
    return wear * hours + left_to_fall * gone**world.failing_bend


def draw_reeds(world: World, n: int, boxes: Sequence[str], rng: np.random.Generator, *,
               blocks: Sequence[str] | None = None) -> Reeds:
    """Draw reeds for `n` players.

    Parameters
    ----------
    boxes : sequence of str
        The box of each reed, as many as there are reeds.
    blocks : sequence of str, optional
        The matched set of each reed. When given, the reeds drawn for a box are put in order of their
        first play and handed to its sets in turn, by chance within a set: as a plan does that
        matches on the first play.
    """
    reeds = len(boxes)
    names = list(dict.fromkeys(boxes))
    box_of = np.array([names.index(b) for b in boxes])
    box = world.box_sd * rng.standard_normal((len(names), n))[box_of]
    own = world.reed_sd * rng.standard_normal((reeds, n))
    # first play = level - loss + noise, the noise such that the correlation within a box is as wished
    r = world.first_play_r
    noise_sd = world.reed_sd * np.sqrt(1 / r**2 - 1)
    first = own + noise_sd * rng.standard_normal((reeds, n))
    if blocks is not None:
        _match(own, first, box_of, np.asarray(blocks), rng)
    level = world.level + box + own
    raw_first = level - own + first - world.first_play_loss
    steps = world.stiffness_cv / world.stiffness_step
    stiffness = steps * rng.standard_normal((reeds, n))
    first_stiffness = to_scale(stiffness + 0.5 + 0.5 * rng.standard_normal((reeds, n)), 0.5, -3, 3)
    wear = np.maximum(world.wear_per_hour + world.wear_sd * rng.standard_normal((reeds, n)), 0)
    life = world.life_scale_h * rng.standard_exponential((reeds, n)) ** (1 / world.life_shape)
    life = np.maximum(life, 0.05)  # a reed that is dead at once still has a life
    rate = damage_rate(world.damage_share, world.life_scale_h, world.life_shape)
    damage = rng.standard_exponential((reeds, n)) / rate if rate > 0 else np.full((reeds, n), np.inf)
    return Reeds(level, to_scale(raw_first, 0.5), stiffness, first_stiffness, wear, life, damage)


def _match(own: FloatArray, first: FloatArray, box_of: NDArray[np.int_], blocks: NDArray[np.str_],
           rng: np.random.Generator) -> None:
    """Hand the reeds of each box, best first play first, to its sets in order of appearance; in place."""
    for b in np.unique(box_of):
        here = np.flatnonzero(box_of == b)
        sets = list(dict.fromkeys(blocks[here].tolist()))
        of_set = np.array([sets.index(x) for x in blocks[here].tolist()])
        places = here[np.argsort(of_set, kind="stable")]  # the box's places, set by set
        best_first = np.argsort(-first[here], axis=0)
        # by chance within a set: else the better reed of a set would always take the same place
        shaken = np.argsort(np.sort(of_set)[:, None] + rng.random(best_first.shape), axis=0)
        order = here[np.take_along_axis(best_first, shaken, axis=0)]
        own[places] = np.take_along_axis(own, order, axis=0)
        first[places] = np.take_along_axis(first, order, axis=0)
