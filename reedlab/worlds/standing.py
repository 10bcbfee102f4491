"""Boxes of a standing trial, played one after the other: a few reeds on the go, the next in its place as one ends."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ..trial.arrays import BoolArray, FloatArray

__all__ = ["Boxes", "play_boxes"]

ON_THE_GO = 4  # reeds in turn, each for the same minutes: common practice is three to five


@dataclass(frozen=True)
class Boxes:
    """k trials of b boxes of n reeds, arrays (k, b, n): when each is begun, in playing hours of all reeds together; how
    long it lasts; whether it wears out (else it is damaged); whether it was dealt the second way. `pace` is a reed's
    part of all play.
    """

    begun: FloatArray
    hours: FloatArray
    worn_out: BoolArray
    is_b: BoolArray
    pace: float


def play_boxes(trials: int, boxes: int, reeds: int, *, ratio: float, shape: float, damage: float, seed: int,
               fours: bool = False) -> Boxes:
    """Play so many trials.

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
    fours : bool
        Boxes are sets of four instead.
    """
    rng = np.random.default_rng(seed)
    n = 4 if fours else reeds
    size = (trials, boxes, n)
    odd = np.arange(boxes)[None, :, None] % 2
    is_b = np.argsort(np.argsort(rng.random(size), axis=2), axis=2) < (n + (n % 2) * odd) // 2
    life = rng.weibull(shape, size) / np.log(2) ** (1 / shape) * np.where(is_b, ratio, 1.0)
    hurt = rng.random(size) < damage
    hours = np.where(hurt, life * rng.random(size), life)
    return Boxes(_begun(hours * ON_THE_GO), hours, ~hurt, is_b, 1 / ON_THE_GO)


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
