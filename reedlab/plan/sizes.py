"""Sample size both ways, by the forecast: how many reeds or days, and what difference can be found."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import pandas as pd

from ..errors import InputError, PlanRefused
from ..questions import Question
from ..trial.outlook import Outlook
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import World
from ._bar import Progress
from .closed_form import closed_form_chance
from .draw_up import draw_up
from .forecast import forecast
from .imagined import with_more_reeds

__all__ = ["Found", "Need", "how_many", "what_difference"]

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

    def play(size: int, always: bool = False) -> _Played | None:
        extra = size - len(reeds) if vary == "reeds" else 0
        if extra < 0:
            table = reeds.sort_values("first_play", ascending=False, kind="stable").head(size)
        else:
            table = with_more_reeds(reeds, extra, world, seed) if extra else reeds
        length: dict[str, Any] = {"days": size} if vary == "days" else {}
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
        if gap is None and not always and draft.chance < chance - _FAR:
            return None  # the first guess is for what matters
        return _play(draft.protocol, world, size_of, trials, seed, progress)

    def enough(found: _Played | None) -> bool:
        return found is not None and found.chance >= chance

    step, most = (2, _MOST_DAYS) if vary == "days" else (2, _MOST_REEDS)
    low, high = 0, 14 if vary == "days" else _FEWEST_REEDS
    found = play(high)
    while not enough(found) and high < most:
        low, high = high, min(most, 2 * high)
        found = play(high, always=high == most)
    if not enough(found):
        if found is None:
            raise refused[-1]
        return _need(vary, found, world, chance, met=False)
    while high - low > step:
        middle = (low + high) // (2 * step) * step
        if middle in (low, high):
            break
        tried = play(middle)
        if enough(tried):
            high, found = middle, tried
        else:
            low = middle
    assert found is not None
    return _need(vary, found, world, chance, met=True)


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
    low, high = 0.0, min(1.0, most)
    found = play(high)
    while found.chance < chance:
        if high >= most:
            return Found(math.inf, chance, found.chance, found.error, _closed(found, world))
        low, high = high, min(most, 2 * high)
        found = play(high)
    while high - low > 0.02:
        middle = (low + high) / 2
        tried = play(middle)
        if tried.chance >= chance:
            high, found = middle, tried
        else:
            low = middle
    return Found(found.gap, chance, found.chance, found.error, _closed(found, world))


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


def _need(vary: str, found: _Played, world: World, wanted: float, *, met: bool) -> Need:
    p = found.protocol
    return Need(vary, found.gap, wanted, p.days if met else None, len(p.reeds) if met else None, found.chance,
                found.error, _closed(found, world))
