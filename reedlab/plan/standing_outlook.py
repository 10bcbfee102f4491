"""When a standing trial is likely to be settled: in boxes and months, before it begins.

What a box tells does not depend on how fast it is played. So the chance of being settled by each box is worked out
once, for lives of one shape, and the player's own hours only stretch it over the months.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Final

import numpy as np
import numpy.typing as npt

from ..analysis.batch.standing_lives import looks
from ..trial.outlook import SettledBy, StandingOutlook
from ..worlds import World
from ..worlds.standing import play_boxes

__all__ = ["RATIOS", "Course", "courses", "known_courses", "standing_outlook"]

#: True ratios of lives that are forecast.
RATIOS: Final = (1.25, 1.5, 2.0, 3.0)
BOXES: Final = 24
_A_BOX: Final = 4  # looks at each box
_BAR: Final = 20.0
_TRIALS: Final = 400
_STANDARD: Final = (2.0, 0.15, 10)  # shape of lives, share damaged, reeds in a box: what the grid is for
_BEYOND: Final = (1.0, 1.5)  # what matters, and ratios beyond it, must all be ruled out before ways are called alike
_DAYS_A_MONTH: Final = 365.25 / 12


@dataclass(frozen=True)
class Course:
    """One true ratio: the share of trials settled rightly, and wrongly, by each look; four looks a box.

    `hours` is what a box takes of play, in median lives of the first way.
    """

    ratio: float
    right: tuple[float, ...]
    wrong: tuple[float, ...]
    hours: float


def standing_outlook(world: World, *, minutes_a_day: float, matters: float = 1.5, reeds: int = 10,
                     months: float = 24.0) -> StandingOutlook:
    """Say when a standing trial is likely to be settled, for one player's hours.

    Parameters
    ----------
    world : World
        How long reeds last: median, shape of lives, share damaged; days off.
    minutes_a_day : float
        On a day of play, all of it on reeds of the trial.
    matters : float
        Smallest ratio of lives that matters, above 1.
    reeds : int
        Reeds dealt of a box.
    months : float
        By which `right` and `same` are told.

    Returns
    -------
    StandingOutlook
        Pure: the same arguments give the same. The usual case is read off a table; any other is played through, 400
        trials a ratio with a fixed seed.
    """
    shape, damage = round(world.life_shape, 1), round(world.damage_share, 2)
    month = minutes_a_day / 60 * (1 - world.day_off) * _DAYS_A_MONTH / world.life_median_h  # in median lives
    by = {r: _course(shape, damage, reeds, r, matters) for r in (1.0, *RATIOS, matters)}
    return StandingOutlook(
        rows=tuple(_settled(by[r], month) for r in RATIOS), alike=_settled(by[1.0], month), matters=matters,
        minutes_a_day=minutes_a_day, box_months=by[1.0].hours / month,
        right=_by(by[matters], months * month), same=_by(by[1.0], months * month))


def _course(shape: float, damage: float, reeds: int, ratio: float, matters: float) -> Course:
    key = (ratio, matters if ratio == 1 else 0.0)
    if (shape, damage, reeds) == _STANDARD and key in known_courses():
        return known_courses()[key]
    return courses(shape, damage, reeds, ratio, matters, trials=_TRIALS)


@cache
def known_courses() -> Mapping[tuple[float, float], Course]:
    """Return the courses played through beforehand, by true ratio and what matters (0 where the ratio is not 1).

    They are in `standing_grid.csv`, made by `python -m tests.benchmarks.standing_grid`; a test plays some of it again.
    """
    rows = csv.DictReader(files(__package__).joinpath("standing_grid.csv").read_text(encoding="utf8").splitlines())
    return {(float(r["ratio"]), float(r["matters"])): Course(
        float(r["ratio"]), _numbers(r["right"]), _numbers(r["wrong"]), float(r["hours"])) for r in rows}


def _numbers(text: str) -> tuple[float, ...]:
    return tuple(map(float, text.split()))


@lru_cache(maxsize=256)
def courses(shape: float, damage: float, reeds: int, ratio: float, matters: float, *, trials: int, boxes: int = BOXES,
            seed: int = 1) -> Course:
    """Play trials through; at a ratio of 1, right is "no difference that matters", else the better way named."""
    played = play_boxes(trials, boxes, reeds, ratio=ratio, shape=shape, damage=damage, seed=seed)
    hours = float(played.hours.sum(axis=2).mean())
    at = np.broadcast_to(hours / _A_BOX * np.arange(1, _A_BOX * boxes + 1), (trials, _A_BOX * boxes))
    found = looks(played, at)
    over = np.maximum.accumulate(found.e_value >= _BAR, axis=1)
    first = over.argmax(axis=1)
    up = np.where(over.any(axis=1), found.up[np.arange(trials), first], False)[:, None]
    if ratio == 1:
        alike = np.ones(at.shape, dtype=bool)
        for r in (x for k in _BEYOND for x in (matters * k, 1 / (matters * k))):
            alike &= np.maximum.accumulate(looks(played, at, ratio=r).e_value >= _BAR, axis=1)
        right, wrong = alike, over & ~alike
    else:
        right, wrong = over & up, over & ~up
    return Course(ratio, _shares(right), _shares(wrong), hours)


def _shares(which: npt.NDArray[np.bool_]) -> tuple[float, ...]:
    return tuple(round(float(x), 4) for x in which.mean(axis=0))


def _settled(course: Course, month: float) -> SettledBy:
    """Return when half and 80 in 100 are settled; `month` is a month's play in median lives."""
    half, most = (_boxes(course.right, share) for share in (0.5, 0.8))
    return SettledBy(course.ratio, half, _months(half, course, month), most, _months(most, course, month))


def _boxes(right: Sequence[float], share: float) -> float | None:
    """Return after how many boxes so many are settled, between looks by a straight line."""
    before = 0.0
    for i, now in enumerate(right):
        if now >= share:
            part = (share - before) / (now - before)
            return (i + part) / _A_BOX
        before = now
    return None


def _months(boxes: float | None, course: Course, month: float) -> float | None:
    return None if boxes is None else boxes * course.hours / month


def _by(course: Course, hours: float) -> float:
    """Return the share settled rightly by so many hours of play, in median lives."""
    at = hours / course.hours * _A_BOX
    if math.isnan(at):
        return math.nan
    return float(np.interp(at, np.arange(len(course.right) + 1), [0.0, *course.right]))
