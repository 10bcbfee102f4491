"""Closed-form sample sizes: a check that stands beside the simulated forecast, never the answer.

They assume normal values (t tests) or proportional hazards (lives) and know nothing of blocks, forgotten
days, the scale's ends or the verdict rule; `reedlab.plan` simulates all of those.
"""

from __future__ import annotations

import math
from collections.abc import Callable

from scipy.special import ndtr, ndtri

from ...errors import InputError

__all__ = [
    "freedman_events",
    "hazard_ratio",
    "life_ratio_found",
    "lives_chance",
    "pairs_chance",
    "pairs_difference",
    "pairs_needed",
    "schoenfeld_events",
    "two_groups_chance",
    "two_groups_difference",
    "two_groups_needed",
]

_MOST = 1e7  # more units than anyone will ask for: the answer is then infinite


def pairs_chance(pairs: float, difference: float, sd: float, *, level: float = 0.95) -> float:
    """Return the chance that a two-sided paired t test finds a true mean difference.

    Parameters
    ----------
    pairs : float
        Number of pairs, at least 2.
    difference : float
        True mean difference, in the outcome's unit; its sign does not matter.
    sd : float
        Standard deviation of the *differences within pairs*, same unit.
    level : float
        Confidence level; the test rejects at 1 - `level`.

    Returns
    -------
    float
        Between 0 and 1.

    Raises
    ------
    InputError
        If a value is out of range.

    Notes
    -----
    Noncentral t power, as in Cohen, Statistical Power Analysis, 1988, through statsmodels `TTestPower`.
    """
    _check(level=level, sd=sd)
    _at_least("pairs", pairs, 2)
    return _t_power("paired", abs(difference) / sd, pairs, level)


def pairs_needed(difference: float, sd: float, *, chance: float = 0.8, level: float = 0.95) -> float:
    """Return the number of pairs (not rounded up) for the wanted chance; inf for no difference.

    Arguments are as for `pairs_chance`; never less than 2 pairs.
    """
    _check(level=level, sd=sd, chance=chance)
    return _solve_n(lambda n: _t_power("paired", abs(difference) / sd, n, level), difference, chance)


def pairs_difference(pairs: float, sd: float, *, chance: float = 0.8, level: float = 0.95) -> float:
    """Return the smallest true difference that so many pairs find with the wanted chance."""
    _check(level=level, sd=sd, chance=chance)
    _at_least("pairs", pairs, 2)
    return sd * _solve_effect(lambda d: _t_power("paired", d, pairs, level), chance)


def two_groups_chance(each: float, difference: float, sd: float, *, level: float = 0.95) -> float:
    """Return the chance that a two-sided, equal-variance t test of two equal groups finds a difference.

    `each` counts the units of one group (at least 2); `sd` is the spread between units within a group.
    """
    _check(level=level, sd=sd)
    _at_least("each", each, 2)
    return _t_power("groups", abs(difference) / sd, each, level)


def two_groups_needed(difference: float, sd: float, *, chance: float = 0.8, level: float = 0.95) -> float:
    """Return the units in *each* of two equal groups (not rounded up) for the wanted chance."""
    _check(level=level, sd=sd, chance=chance)
    return _solve_n(lambda n: _t_power("groups", abs(difference) / sd, n, level), difference, chance)


def two_groups_difference(each: float, sd: float, *, chance: float = 0.8, level: float = 0.95) -> float:
    """Return the smallest true difference that two groups of `each` units find with the wanted chance."""
    _check(level=level, sd=sd, chance=chance)
    _at_least("each", each, 2)
    return sd * _solve_effect(lambda d: _t_power("groups", d, each, level), chance)


def hazard_ratio(life_ratio: float, shape: float) -> float:
    """Return the hazard ratio that goes with a ratio of lives when lives are Weibull.

    If every life under B is `life_ratio` times as long as under A, and both are Weibull of the same
    `shape`, then A's hazard is ``life_ratio ** shape`` times B's at every playing hour (the Weibull is the
    one family in which accelerated lives are also proportional hazards; Cox & Oakes, Analysis of Survival
    Data, 1984, from memory).
    """
    _at_least("life_ratio", life_ratio, 0, open_end=True)
    _at_least("shape", shape, 0, open_end=True)
    return float(life_ratio**shape)


def schoenfeld_events(hazard: float, *, chance: float = 0.8, level: float = 0.95, share_b: float = 0.5) -> float:
    """Return the number of worn-out reeds (both habits together) that a log-rank test needs.

    Parameters
    ----------
    hazard : float
        Hazard ratio, > 0; 2 and 1/2 give the same number; 1 gives inf.
    chance, level : float
        Wanted chance and confidence level (two-sided).
    share_b : float
        Share of the reeds dealt to B.

    Notes
    -----
    (z + z')² / (share·(1 - share)·log² hazard): Schoenfeld 1981, Biometrika 68, 316-319.
    """
    _check(level=level, chance=chance)
    _at_least("hazard", hazard, 0, open_end=True)
    if not 0 < share_b < 1:
        raise InputError(f"`share_b` must lie between 0 and 1; got {share_b!r}.")
    if hazard == 1:
        return math.inf
    return _z(chance, level) ** 2 / (share_b * (1 - share_b) * math.log(hazard) ** 2)


def freedman_events(hazard: float, *, chance: float = 0.8, level: float = 0.95) -> float:
    """Return the worn-out reeds that a log-rank test of two equal groups needs: a second formula.

    (z + z')²·((1 + hazard)/(1 - hazard))²: Freedman 1982, Statistics in Medicine 1, 121-129.
    Somewhat larger than Schoenfeld's when the hazards differ much. Arguments as there.
    """
    _check(level=level, chance=chance)
    _at_least("hazard", hazard, 0, open_end=True)
    if hazard == 1:
        return math.inf
    return (_z(chance, level) * (1 + hazard) / (1 - hazard)) ** 2


def lives_chance(events: float, life_ratio: float, shape: float, *, level: float = 0.95,
                 share_b: float = 0.5) -> float:
    """Return the log-rank test's chance of finding a ratio of lives when so many reeds wear out.

    Schoenfeld's formula turned round; `events` counts both habits, `life_ratio` and `shape` are as in
    `hazard_ratio`. The far tail is left out, as the formula does. It is too hopeful when few reeds wear
    out: where it says 80 in 100, the shuffling test found the difference 69, 74, 78 and 79 times in 100
    with 20, 60, 120 and 240 worn-out reeds (our runs, equal groups, no censoring).
    """
    _check(level=level)
    _at_least("events", events, 0)
    shift = abs(math.log(hazard_ratio(life_ratio, shape))) * math.sqrt(events * share_b * (1 - share_b))
    return float(ndtr(shift + ndtri((1 - level) / 2)))


def life_ratio_found(events: float, shape: float, *, chance: float = 0.8, level: float = 0.95,
                     share_b: float = 0.5) -> float:
    """Return the smallest ratio of lives (> 1) found with the wanted chance; inf with no events."""
    _check(level=level, chance=chance)
    _at_least("events", events, 0)
    _at_least("shape", shape, 0, open_end=True)
    if events == 0:
        return math.inf
    log_hazard = max(0.0, _z(chance, level)) / math.sqrt(events * share_b * (1 - share_b))
    return math.inf if log_hazard / shape > 700 else math.exp(log_hazard / shape)


def _t_power(kind: str, effect: float, n: float, level: float) -> float:
    from statsmodels.stats.power import TTestIndPower, TTestPower

    test = TTestPower() if kind == "paired" else TTestIndPower()
    # Tail by tail: far out the noncentral t gives nan for the tail that holds nothing, and for certainty.
    more = {"ratio": 1} if isinstance(test, TTestIndPower) else {}
    near = float(test.power(effect, n, (1 - level) / 2, alternative="larger", **more))
    far = float(test.power(effect, n, (1 - level) / 2, alternative="smaller", **more))
    near = 1.0 if math.isnan(near) and effect * math.sqrt(n) > 20 else near
    return min(1.0, near + (0.0 if math.isnan(far) else far))


def _solve_n(power: Callable[[float], float], difference: float, chance: float) -> float:
    from scipy import optimize

    if difference == 0 or power(_MOST) < chance:
        return math.inf
    if power(2.0) >= chance:
        return 2.0
    high = 4.0
    while power(high) < chance:
        high *= 2
    return float(optimize.brentq(lambda n: power(n) - chance, high / 2, high, xtol=1e-9))


def _solve_effect(power: Callable[[float], float], chance: float) -> float:
    from scipy import optimize

    if power(0.0) >= chance:
        return 0.0
    high = 1.0
    while power(high) < chance:
        high *= 2
    return float(optimize.brentq(lambda d: power(d) - chance, 0.0, high, xtol=1e-12))


def _z(chance: float, level: float) -> float:
    return float(ndtri(chance) - ndtri((1 - level) / 2))


def _check(*, level: float, sd: float = 1.0, chance: float = 0.5) -> None:
    for name, value in (("level", level), ("chance", chance)):
        if not 0 < value < 1:
            raise InputError(f"`{name}` must lie between 0 and 1, as 0.8; got {value!r}.")
    if not (sd > 0 and math.isfinite(sd)):
        raise InputError(f"`sd` must be a number above 0; got {sd!r}.")


def _at_least(name: str, value: float, least: float, *, open_end: bool = False) -> None:
    if not math.isfinite(value) or value < least or (open_end and value == least):
        raise InputError(f"`{name}` must be {'above' if open_end else 'at least'} {least:g}; got {value!r}.")
