"""Sample size both ways, by the forecast: how many reeds or days, and what difference can be found."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import pandas as pd

from ..analysis.player.sample_size import lives_chance, pairs_chance, two_groups_chance
from ..errors import InputError, PlanRefused
from ..questions import Question
from ..trial.outlook import Outlook
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import World
from ._bar import Progress
from .draw_up import draw_up
from .forecast import forecast
from .imagined import with_more_reeds

__all__ = ["Found", "Need", "closed_form_chance", "how_many", "what_difference"]

_MOST_DAYS, _MOST_REEDS = 364, 100  # beyond it a trial is not sensible: our assumption
_FEWEST_REEDS = 8
_MOST_POINTS = 4.0  # larger differences do not fit on the scale, above the reeds that are dealt
_FAR = 0.2  # a first guess this far below the wanted chance is not played: it errs less, and mostly upwards
_SAMPLES = 1_000


@dataclass(frozen=True)
class Need:
    """The smallest plan that finds `gap` with the wanted chance.

    `days` and `reeds` are None where even the largest plan tried falls short; `chance` is then its own.
    `closed_form` is what a textbook formula says of the same plan: a check only.
    """

    vary: str
    gap: float
    wanted: float
    days: int | None
    reeds: int | None
    chance: float
    error: float
    closed_form: float


@dataclass(frozen=True)
class Found:
    """The smallest true difference found with the wanted chance; inf where none of those tried is."""

    difference: float
    wanted: float
    chance: float
    error: float
    closed_form: float


def how_many(question: str | Question, reeds: pd.DataFrame, *, vary: str, chance: float = 0.8, seed: int,
             gap: float | None = None, world: World | None = None, minutes_a_day: float = 60,
             trials: int = 300, progress: Progress = False, **more: Any) -> Need:
    """Return the fewest days, or reeds, with which a true gap is found with the wanted chance.

    Plans are drawn up by `draw_up` and played through by the forecast, halving the range each time.

    Parameters
    ----------
    question, reeds, seed, minutes_a_day
        As for `draw_up`.
    vary : {"days", "reeds"}
        Days: the reeds at hand, for longer. Reeds: more of them, imagined, over as many days as the planner
        gives them.
    chance : float
        Wanted chance that the better way is named.
    gap : float, optional
        True gap in the outcome's own unit; default what matters. A smaller one would count as none.
    trials : int
        Simulated trials of each plan tried.
    more
        Further wishes for `draw_up`; `start` and `instrument` are needed.

    Raises
    ------
    InputError
        `vary` or `chance` is out of range, or `gap` is less than what matters.
    PlanRefused
        No plan of any size tried is fair.
    """
    if vary not in ("days", "reeds"):
        raise InputError(tr("`vary` is {vary!r}, wanted \"days\" or \"reeds\".").format(vary=vary))
    _check_chance(chance)
    world = (World() if world is None else world).but(minutes_a_day=minutes_a_day)
    refused: list[PlanRefused] = []

    first, most = (14, _MOST_DAYS) if vary == "days" else (_FEWEST_REEDS, _MOST_REEDS)

    def play(size: float) -> _Played | None:
        extra = int(size) - len(reeds) if vary == "reeds" else 0
        if extra < 0:
            table = reeds.sort_values("first_play", ascending=False, kind="stable").head(int(size))
        else:
            table = with_more_reeds(reeds, extra, world, seed) if extra else reeds
        length: dict[str, Any] = {"days": int(size)} if vary == "days" else {}
        try:
            draft = draw_up(question, table, seed=seed, minutes_a_day=minutes_a_day, world=world, simulations=100,
                            **{**more, **length})
        except PlanRefused as no:
            refused.append(no)
            return None
        size_of = draft.protocol.matters if gap is None else gap
        if size_of < draft.protocol.matters:
            raise InputError(tr("`gap` is {size_of:g}, less than what matters ({matters:g}): so small a difference "
                                "counts as none. Lower `matters` to look for it.").format(
                                 size_of=size_of, matters=draft.protocol.matters))
        if gap is None and size < most and draft.chance < chance - _FAR:
            return None  # the first guess is for what matters
        return _play(draft.protocol, world, size_of, trials, seed, progress)

    found = _least(play, first, most, 2, chance)
    if found is None:
        raise refused[-1]
    met, p = found.chance >= chance, found.protocol
    return Need(vary, found.gap, chance, p.days if met else None, len(p.reeds) if met else None, found.chance,
                found.error, _closed(found, world))


def what_difference(protocol: Protocol, *, chance: float = 0.8, world: World | None = None, trials: int = 400,
                    seed: int = 1, progress: Progress = False) -> Found:
    """Return the smallest true difference that a plan finds with the wanted chance, by halving.

    A difference is in the outcome's own unit, or a ratio above 1; told to a fiftieth of what matters. In points
    it goes up to 4: more does not fit on the scale above the reeds that are dealt.
    """
    _check_chance(chance)
    world = World() if world is None else world
    ratio = protocol.card.lives

    def gap_of(x: float) -> float:  # x counts what matters: once, twice, ...
        return protocol.matters**x if ratio else protocol.matters * x

    def play(x: float) -> _Played:
        return _play(protocol, world, gap_of(x), trials, seed, progress)

    if ratio:
        most = math.log(20) / math.log(protocol.matters)
    elif protocol.card.per_hour:
        most = 20.0
    else:
        most = _MOST_POINTS / protocol.matters
    found = _least(play, min(1.0, most), most, 0.02, chance)
    assert found is not None
    return Found(found.gap if found.chance >= chance else math.inf, chance, found.chance, found.error,
                 _closed(found, world))


def _least(play: Callable[[float], _Played | None], first: float, most: float, step: float,
           chance: float) -> _Played | None:
    """Return the least that has the wanted chance, by doubling and then halving; where none has, the most there is.

    From a step of 1 on, sizes are told in whole steps.
    """
    def enough(found: _Played | None) -> bool:
        return found is not None and found.chance >= chance

    low, high, found = 0.0, first, play(first)
    while not enough(found):
        if high >= most:
            return found
        low, high = high, min(most, 2 * high)
        found = play(high)
    while high - low > step:
        middle = (low + high) / 2 if step < 1 else (low + high) // (2 * step) * step
        if middle in (low, high):
            break
        tried = play(middle)
        low, high, found = (low, middle, tried) if enough(tried) else (middle, high, found)
    return found


@dataclass(frozen=True)
class _Played:
    protocol: Protocol
    gap: float
    outlook: Outlook

    @property
    def chance(self) -> float:
        return self.outlook.odds[0].b_better

    @property
    def error(self) -> float:
        return self.outlook.odds[0].error(self.chance)


def _play(protocol: Protocol, world: World, gap: float, trials: int, seed: int, progress: Progress) -> _Played:
    return _Played(protocol, gap, forecast(protocol, world=world, gaps=(gap,), trials=trials, seed=seed,
                                           progress=progress, samples=_SAMPLES))


def _check_chance(chance: float) -> None:
    if not 0.05 < chance < 1:
        raise InputError(tr("`chance` is {chance!r}, wanted between 0.05 and 1, as 0.8.").format(chance=chance))


def _closed(found: _Played, world: World) -> float:
    return closed_form_chance(found.protocol, world, found.gap, sittings=found.outlook.sittings,
                              hours=found.outlook.hours, worn_out=found.outlook.worn_out)


def closed_form_chance(protocol: Protocol, world: World, gap: float, *, sittings: float, hours: float,
                       worn_out: float) -> float:
    """Return the chance that a textbook test of this size finds a true gap.

    Paired t for days, two-sample t for reeds, log-rank (Schoenfeld) for lives. Forgotten days, slips, the
    ends of the scale and lost reeds are unknown to it, so it is too hopeful.

    Parameters
    ----------
    gap : float
        In the outcome's own unit; a ratio for lives.
    sittings, hours : float
        Rated sittings and playing hours of one reed.
    worn_out : float
        Reeds worn out by the end.
    """
    p = protocol
    if p.card.lives:
        return lives_chance(worn_out, gap, world.life_shape, level=p.level)
    noise = world.noise_sd**2 + world.step**2 / 12
    blocks = len({u.block for u in p.units})
    if p.design == "day_by_day":
        return pairs_chance(max(2, blocks), gap, math.sqrt(_pair_variance(p, world, noise)), level=p.level)
    if p.crossover:  # half of the difference of two means, each of half of the ratings; what a reed is worth falls out
        return two_groups_chance(max(2.0, len(p.units) / 2), gap, math.sqrt(noise / max(sittings, 2.0)), level=p.level)
    known = world.break_in_r if "break_in" in p.adjust else world.first_play_r if "first_play" in p.adjust else 0.0
    level = world.reed_sd**2 * (1 - known**2)
    rated = max(sittings, 1.0)
    # evenly spread hours have the variance (their span)^2 / 12
    variance = level + noise / rated if p.card.of_points else (
        world.wear_sd**2 + 12 * noise / (rated * max(hours, 0.1) ** 2))
    return two_groups_chance(max(2.0, len(p.units) / 2), gap, math.sqrt(variance), level=p.level)


def _pair_variance(p: Protocol, world: World, noise: float) -> float:
    """Return the variance of B - A within one block."""
    if p.two_reeds:  # a day's pairs: they share what the reeds are apart that day
        a_day = len(p.units) / len({d for u in p.units for _, d in u.cells})
        day = 2 * world.reed_day_sd**2
        of_set = max(1, len(p.units) / len({u.block for u in p.units}) / a_day)  # days in a set
        return (2 * noise * world.pair_noise**2 / a_day + day) / of_set
    if p.pairs:  # a set of eight: the mean of four halved pairs less that of four others
        return noise * world.pair_noise**2 / 4
    if p.unit_kind == "diagonal":  # means of two ratings; reeds and days cancel
        return noise
    one_reed = all(len({r for u in p.units if u.block == b for r in u.reeds}) == 1 for b in
                   {u.block for u in p.units})
    # one reed on two days: the days' moods differ; two reeds on one day: the reeds do
    return 2 * (noise + (world.mood_sd**2 if one_reed else world.reed_sd**2))
