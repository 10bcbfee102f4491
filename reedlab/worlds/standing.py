"""Boxes of a standing trial, played one after the other: a few reeds on the go, the next in its place as one ends."""

from __future__ import annotations

import numpy as np

from ..analysis.batch.standing_lives import Played
from ..trial.arrays import FloatArray

__all__ = ["play_boxes"]

ON_THE_GO = 4  # reeds in turn, each for the same minutes: common practice is three to five


def play_boxes(trials: int, boxes: int, reeds: int, *, ratio: float, shape: float, damage: float,
               seed: int) -> Played:
    """Play so many trials; the calendar counts playing hours of all reeds together.

    Parameters
    ----------
    trials, boxes, reeds : int
        `reeds` in a box, dealt half and half; of an odd box the ways get one more by turns.
    ratio : float
        Lives of the second way over the first.
    shape : float
        Weibull shape of lives; their median with the first way is 1.
    damage : float
        Share of reeds that are damaged somewhere on the way to the end of their life.
    seed : int
    """
    rng = np.random.default_rng(seed)
    size = (trials, boxes, reeds)
    odd = np.arange(boxes)[None, :, None] % 2
    is_b = np.argsort(np.argsort(rng.random(size), axis=2), axis=2) < (reeds + (reeds % 2) * odd) // 2
    life = rng.weibull(shape, size) / np.log(2) ** (1 / shape) * np.where(is_b, ratio, 1.0)
    hurt = rng.random(size) < damage
    hours = np.where(hurt, life * rng.random(size), life)
    return Played(_begun(hours * ON_THE_GO), np.full(size, 1 / ON_THE_GO), hours, ~hurt, is_b)


def _begun(takes: FloatArray) -> FloatArray:
    """Give each reed the place that is free first; return when each begins."""
    k, b, n = takes.shape
    free, flat, rows = np.zeros((k, ON_THE_GO)), takes.reshape(k, -1), np.arange(k)
    out = np.empty_like(flat)
    for i in range(b * n):
        at = free.argmin(axis=1)
        out[:, i] = free[rows, at]
        free[rows, at] += flat[:, i]
    return out.reshape(takes.shape)
