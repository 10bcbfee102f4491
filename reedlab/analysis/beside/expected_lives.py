"""Playing hours that each reed would reach if it went on fading as so far: for reeds that are not worn out yet.

Computed blind to the habits. A line through a reed's ratings on its playing hours (least squares) is followed to the
plan's mark. One reed's line is uncertain, so its slope and its level are held toward those of all reeds of the
trial, each by its own error (empirical Bayes: Morris 1983, J. Am. Stat. Assoc. 78, 47-55, from memory; the
spread between reeds by Paule & Mandel 1982, J. Res. Natl. Bur. Stand. 87, 377-385). A worn-out reed keeps its hours.

That is an extrapolation, so the reading made of it stands beside the test of lives and decides nothing. When it helps
(`tests/benchmarks/course.py`: 20 reeds, an hour a day, 4,000 trials a cell, our assumed worlds):

- after 14 or 42 days it does not: whatever the truth, it is called in fewer than 5 of 100 trials;
- after 120 days, with a fifth worn out, it is called in 5 to 18 of 100 where the lives alone are in 2 to 5; the fading
  itself does about as well, and that is the outcome to plan for;
- after 240 days it is called in 10 to 33 of 100, the lives alone in 5 to 28, the fading in 6 to 23;
- where a habit makes reeds fade less and yet end sooner it misleads: after 42 days it calls the wrong way three times
  as often as the right one, after 120 days as often; after 240 days it finds 7 in 100 where the lives alone find 13;
- without a difference it is called in no more than 5 of 100, within error, as the shuffling promises.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...trial.arrays import BoolArray, FloatArray
from ...trial.outcomes import OUTCOMES
from ...trial.practice import value
from ..units.blind import BlindTrial
from ..units.life_values import Lives
from ..units.rating_values import LEAST_HOURS

__all__ = ["MOST", "Courses", "ExpectedLives", "courses_of", "expected_hours", "expected_lives", "held"]


#: No reed is expected to last longer than this many times the most hours that any reed of the trial was played. Our
#: choice: a longer reach finds slower fading more often, and misleads more often.
MOST = 5.0
_HALVINGS = 60
_LEAST_NOISE = 1e-9  # variance of a rating, in squared points: ratings on a line leave none


@dataclass(frozen=True)
class Courses:
    """Lines through the ratings of n reeds on playing hours, all (..., n); one or many trials.

    `count` ratings, their mean hours `at` and mean rating `level`, `across` Σ(hours − at)², `slope` in points an hour,
    `rest` Σ(rating − line)². `enough` marks reeds with three ratings or more and half an hour of playing between the
    first and the last.
    """

    count: FloatArray
    at: FloatArray
    level: FloatArray
    across: FloatArray
    slope: FloatArray
    rest: FloatArray
    enough: BoolArray

    def over(self, ratio: FloatArray) -> Courses:
        """Return the courses with all playing hours divided by `ratio` (..., n)."""
        return Courses(self.count, self.at / ratio, self.level, self.across / ratio**2, self.slope * ratio, self.rest,
                       self.enough)


@dataclass(frozen=True)
class ExpectedLives:
    """Expected lives of n reeds, in the order of the plan's units.

    `hours` (n,) is nan where a reed leaves; `predicted` (n,) marks hours that are reckoned, not reached.
    """

    lives: Lives
    courses: Courses
    mark: float
    hours: FloatArray
    predicted: BoolArray


def expected_lives(trial: BlindTrial, lives: Lives) -> ExpectedLives:
    """Return each reed's expected playing hours until its ratings fall below the plan's mark.

    Parameters
    ----------
    trial : BlindTrial
    lives : Lives
        Of that trial. Their outcome says which mark: "worn out" for `life_hours` (under the player's own rule
        too), "good" for `good_hours`.

    Returns
    -------
    ExpectedLives
        A reed that is not worn out and has fewer than three ratings, or under half an hour of playing between the
        first and the last, leaves.
    """
    mark = float(getattr(trial, OUTCOMES[lives.outcome].mark))
    courses = courses_of(trial, lives)
    hours = expected_hours(courses, lives.hours, lives.worn_out, mark)
    return ExpectedLives(lives, courses, mark, hours, np.isfinite(hours) & ~lives.worn_out)


def courses_of(trial: BlindTrial, lives: Lives) -> Courses:
    """Return the reeds' lines through every overall rating that the rule reads, up to the end of their lives."""
    rows = trial.sittings
    unit = trial.unit_of_reed[rows["place"].to_numpy()]
    x, y = rows["hours_before"].to_numpy(dtype=float), rows["overall"].to_numpy(dtype=float)
    keep = np.isfinite(y) & (x < lives.hours[unit] - 1e-9)
    unit, x, y, n = unit[keep], x[keep], y[keep], len(trial.units)

    def total(v: FloatArray) -> FloatArray:
        return np.bincount(unit, weights=v, minlength=n).astype(float)

    count = total(np.ones(len(x)))
    some = np.maximum(count, 1.0)
    at, level = total(x) / some, total(y) / some
    dx, dy = x - at[unit], y - level[unit]
    across = total(dx**2)
    slope = total(dx * dy) / np.where(across > 0, across, 1.0)
    first, last = np.full(n, np.inf), np.full(n, -np.inf)
    np.minimum.at(first, unit, x)
    np.maximum.at(last, unit, x)
    enough = (count >= int(value("fewest_rated"))) & (last - first >= LEAST_HOURS - 1e-9)
    return Courses(count, at, level, across, slope, total((dy - slope[unit] * dx)**2), enough)


def expected_hours(courses: Courses, hours: FloatArray, worn_out: BoolArray, mark: float, *,
                   most: float = MOST) -> FloatArray:
    """Return the expected playing hours, (..., n), nan where a reed leaves.

    Parameters
    ----------
    courses : Courses
    hours : (..., n) float
        Playing hours reached; a reed at 0 leaves.
    worn_out : (..., n) bool
        These keep their hours.
    mark : float
        Points; a reed whose held line already lies at or below it is expected to end now.
    most : float
        Never more than this many times the most hours reached by a reed that counts. A held line that does
        not fall gives just that.
    """
    c, there = courses, courses.enough
    left = np.where(there, c.count - 2, 0.0).sum(axis=-1, keepdims=True)
    noise = np.maximum(np.where(there, c.rest, 0.0).sum(axis=-1, keepdims=True) / np.maximum(left, 1.0), _LEAST_NOISE)
    slope, open_slope = held(c.slope, noise / np.where(there, c.across, 1.0), there)
    start, _ = held(c.level - slope * c.at, noise / np.maximum(c.count, 1.0) + open_slope * c.at**2, there)

    known = (hours > 0) & (worn_out | there)
    top = most * np.where(known, hours, 0.0).max(axis=-1, keepdims=True)
    now = start + slope * hours
    falls = slope < 0
    with np.errstate(over="ignore"):
        meets = np.where(falls, (mark - start) / np.where(falls, slope, -1.0), np.inf)
    ahead = np.where(now > mark, np.clip(meets, hours, top), hours)
    return np.where(known, np.where(worn_out, hours, ahead), np.nan)


def held(values: FloatArray, variance: FloatArray, there: BoolArray) -> tuple[FloatArray, FloatArray]:
    """Hold estimates toward their pooled mean, each by its own error.

    Parameters
    ----------
    values, variance : (..., n) float
        Estimates and their error variances, above 0.
    there : (..., n) bool
        Which estimates there are.

    Returns
    -------
    held : (..., n) float
        mean + (1 − (k − 3)/(k − 1)·V/(V + τ²))·(value − mean) for k estimates; nothing is held with three or fewer.
    variance : (..., n) float
        What is left open of each: V times the factor of (value − mean).
    """
    k = there.sum(axis=-1, keepdims=True).astype(float)
    values = np.where(there, values, 0.0)

    def pooled(tau2: FloatArray) -> tuple[FloatArray, FloatArray]:
        w = np.where(there, 1.0 / (variance + tau2), 0.0)
        mean = (w * values).sum(axis=-1, keepdims=True) / np.maximum(w.sum(axis=-1, keepdims=True), 1e-300)
        return mean, (w * (values - mean)**2).sum(axis=-1, keepdims=True)

    plain = values.sum(axis=-1, keepdims=True) / np.maximum(k, 1.0)
    spread = np.where(there, (values - plain)**2, 0.0).sum(axis=-1, keepdims=True)
    low, high = np.zeros_like(k), spread / np.maximum(k - 1, 1.0)  # the root lies at or below this
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        more = pooled(middle)[1] > k - 1
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    tau2 = np.where(pooled(np.zeros_like(k))[1] > k - 1, (low + high) / 2, 0.0)
    mean = pooled(tau2)[0]
    factor = np.where(k > 3, (k - 3) / np.maximum(k - 1, 1.0), 0.0) * variance / (variance + tau2)
    return mean + (1 - factor) * (values - mean), variance * (1 - factor)
