"""`follow_lives` for thousands of simulated standing trials at once, each read again and again in calendar order.

A look in the calendar reads the lives as they stand that day: hours so far, who has come to the end. Blocks that are
done do not change any more, so only those in play are read anew. Times without ties only: those of a simulation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ..shuffling.always_valid import mixed
from ..shuffling.follow_lives import LOG_HAZARDS

__all__ = ["Looks", "Played", "looks"]

_CELLS = 4_000_000


@dataclass(frozen=True)
class Played:
    """k standing trials of b blocks of n reeds, all arrays (k, b, n).

    A reed is begun at `begun` (calendar, any unit), played at `pace` hours a unit, and ends after `hours` of play:
    worn out, or (where `worn_out` is False) lost to anything else. `is_b` says which way it was dealt.
    """

    begun: FloatArray
    pace: FloatArray
    hours: FloatArray
    worn_out: BoolArray
    is_b: BoolArray

    @property
    def ends(self) -> FloatArray:
        """When each reed comes to its end, (k, b, n)."""
        out: FloatArray = self.begun + self.hours / self.pace
        return out

    def part(self, rows: slice) -> Played:
        """Return some of the trials."""
        return Played(self.begun[rows], self.pace[rows], self.hours[rows], self.worn_out[rows], self.is_b[rows])


@dataclass(frozen=True)
class Looks:
    """What each look at each trial says, (k, looks).

    `e_value` is that of the day; `most` the highest point of its path, in the order of hours (None unless asked for);
    `up` says that bets on the second way (B) lead.
    """

    e_value: FloatArray
    up: BoolArray
    most: FloatArray | None = None


def looks(played: Played, at: FloatArray, *, ratio: float = 1.0, steps: bool = False) -> Looks:
    """Read every trial at every one of its times.

    Parameters
    ----------
    played : Played
    at : (k, looks) float
        Times of the calendar, rising in each row.
    ratio : float
        B's hours, those of reeds still going too, are divided by it: the test of that ratio of lives.
    steps : bool
        Also return `most`.

    Returns
    -------
    Looks
    """
    step = max(1, _CELLS // (played.hours[0].size * LOG_HAZARDS.size))
    parts = [_looks(played.part(slice(i, i + step)), at[i:i + step], ratio, steps) for i in range(0, len(at), step)]
    e, up, most = (np.concatenate(column) for column in zip(*parts, strict=True))
    return Looks(e, up, most if steps else None)


def _looks(played: Played, at: FloatArray, ratio: float, steps: bool) -> tuple[FloatArray, BoolArray, FloatArray]:
    k, b, n = played.hours.shape
    rows = np.arange(k)[:, None]
    done_at = np.maximum.accumulate(played.ends.max(axis=2), axis=1)  # a block is closed once all before it are
    starts_at = np.minimum.accumulate(played.begun.min(axis=2)[:, ::-1], axis=1)[:, ::-1]
    shrink = np.where(played.is_b, 1 / ratio, 1.0)
    sums = np.zeros((k, LOG_HAZARDS.size))  # of the closed blocks
    most = np.ones(k)
    closed = np.zeros(k, dtype=np.int64)
    e_values, leads, highest = np.empty(at.shape), np.empty(at.shape, dtype=bool), np.ones(at.shape)
    for j in range(at.shape[1]):
        now = at[:, j, None]
        while (behind := (closed < b) & (done_at[rows[:, 0], np.minimum(closed, b - 1)] <= now[:, 0])).any():
            which = np.flatnonzero(behind)
            own = _block(played, rows[which], closed[which][:, None], np.full((which.size, 1), np.inf), shrink)[:, 0]
            if steps:
                most[which] = np.maximum(most[which], mixed(sums[which, None] + own.cumsum(axis=1))[0].max(axis=1))
            sums[which] += own.sum(axis=1)
            closed[which] += 1
        width = int(max(0, ((starts_at <= now).sum(axis=1) - closed).max(initial=0)))
        window = closed[:, None] + np.arange(width)
        own = _block(played, rows, np.minimum(window, b - 1), now, shrink)
        own[window >= b] = 0.0
        own = own.reshape(k, width * n, LOG_HAZARDS.size)
        e_values[:, j], share = mixed(sums + own.sum(axis=1))
        leads[:, j] = share > 0.5
        if steps:
            path = mixed(sums[:, None] + own.cumsum(axis=1))[0]
            highest[:, j] = np.maximum(most, path.max(axis=1, initial=1.0))
    return e_values, leads, highest


def _block(played: Played, row: IntArray, block: IntArray, now: FloatArray, shrink: FloatArray) -> FloatArray:
    """Return the logarithms of the bets of some blocks (m, w) as they stand at `now` (m, 1), (m, w, n, h)."""
    begun, pace = played.begun[row, block], played.pace[row, block]
    so_far = np.clip((now[..., None] - begun) * pace, 0.0, played.hours[row, block])
    worn = played.worn_out[row, block] & (begun + played.hours[row, block] / pace <= now[..., None])
    time = np.where(so_far > 0, so_far * shrink[row, block], np.inf)
    # worn out first where a censored reed has the very same hours
    order = np.argsort(np.where(worn, time * (1 - 1e-12), time), axis=-1, kind="stable")
    here = np.take_along_axis(so_far > 0, order, axis=-1)
    is_b = np.take_along_axis(played.is_b[row, block], order, axis=-1) & here
    worn = np.take_along_axis(worn, order, axis=-1) & here
    n_b = is_b[..., ::-1].cumsum(axis=-1)[..., ::-1]
    left = here[..., ::-1].cumsum(axis=-1)[..., ::-1]
    share = np.where(left > 0, n_b / np.maximum(left, 1), 0.0)[..., None]
    bets: FloatArray = np.where(
        worn[..., None], is_b[..., None] * LOG_HAZARDS - np.log1p(share * np.expm1(LOG_HAZARDS)), 0.0)
    return bets
