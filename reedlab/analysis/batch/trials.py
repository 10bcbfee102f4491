"""What was written down in k trials of one plan, as arrays."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.protocol import Protocol

__all__ = ["BatchTrials"]



@dataclass(frozen=True)
class BatchTrials:
    """k trials of one plan. A reed sits at most once a day; sittings (s) are in playing order.

    Attributes
    ----------
    protocol : Protocol
        The plan; its own deal is not used.
    reed, day, order, unit : (s,) int
        Place of the reed in `protocol.reeds`, trial day, place in the day, and the unit the sitting counts for
        (-1: none).
    rating : (k, s) float
        Of the plan's rating column as written down; nan where not rated.
    play_min : (k, s) float
    counted : (k, s) bool
        Written down, and the player was sure of the reed.
    used_b : (k, s) bool
        The second habit was used.
    humidity : (k, days) float
        In %; nan where not written down.
    first_play : (k, reeds) float
        What each reed was worth before the trial, nan where that is not known.
    dealt_b : (k, units) bool
    left_day : (k, reeds) int
        Trial day the reed left service, 0: still going.
    left_why : (k, reeds) str
        In the logbook's words ("worn_out", "damaged" ...), "still_going" where it did not leave.
    """

    protocol: Protocol
    reed: IntArray
    day: IntArray
    order: IntArray
    unit: IntArray
    rating: FloatArray
    play_min: FloatArray
    counted: BoolArray
    used_b: BoolArray
    humidity: FloatArray
    first_play: FloatArray
    dealt_b: BoolArray
    left_day: IntArray
    left_why: npt.NDArray[np.str_]

    def __len__(self) -> int:
        return len(self.rating)

    @property
    def scores(self) -> FloatArray:
        """Ratings that count, (k, s), higher is better; nan where there is none."""
        y = -np.abs(self.rating) if self.protocol.rating == "stiffness" else self.rating
        return np.where(self.counted, y, np.nan)

    @property
    def minutes(self) -> FloatArray:
        """Minutes that count, (k, s); 0 where the sitting does not."""
        return np.where(self.counted, self.play_min, 0.0)

    @property
    def reed_of(self) -> IntArray:
        """Place of each unit's reed, (units,); reed by reed."""
        place = {r: i for i, r in enumerate(self.protocol.reeds)}
        return np.array([place[u.reeds[0]] for u in self.protocol.units])

    def take(self, which: IntArray) -> BatchTrials:
        """Return some of the trials, by their places."""
        names = ("rating", "play_min", "counted", "used_b", "humidity", "first_play", "dealt_b", "left_day", "left_why")
        return replace(self, **{n: getattr(self, n)[which] for n in names})

    def until(self, day: int) -> BatchTrials:
        """Return the same trials as they stood at the end of a trial day."""
        gone = self.left_day <= day
        return replace(
            self, counted=self.counted & (self.day <= day), left_day=np.where(gone, self.left_day, 0),
            left_why=np.where(gone, self.left_why, "still_going"))
