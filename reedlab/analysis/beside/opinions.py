"""Second opinions: well-known methods beside the shuffling test. They never decide anything.

Each is (method, quantity, value). Where a method is not defined for the data it says so and the value is nan.
"""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...errors import InputError
from ...trial.arrays import BoolArray, FloatArray
from ...wording import tr
from ..units.life_tables import log_rank, median_life, restricted_mean
from ..units.life_values import Lives
from ..units.unit_values import UnitValues
from .preferences import paired_preference, two_ac

__all__ = ["Opinion", "difference_opinions", "lives_opinions", "pair_opinions"]

Opinion = tuple[str, str, float]
_NAN = float("nan")


def difference_opinions(values: UnitValues, used: BoolArray, arms: npt.NDArray[np.str_],
                        points: pd.DataFrame | None = None) -> tuple[Opinion, ...]:
    """Return t, rank and mixed-model readings of the plain unit values.

    Parameters
    ----------
    values : UnitValues
    used : ndarray (n,) of bool
        Units that counted.
    arms : ndarray (n,)
        "A" or "B".
    points : DataFrame, optional
        Rated cells with rating, hours, reed and arm, for the mixed model.
    """
    y = values.plain
    a, b = y[used & (arms == "A")], y[used & (arms == "B")]
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = list(_paired(values, used, arms) if _pairs(values, used, arms) else _unpaired(a, b))
        if points is not None:
            found += list(_mixed(points))
    return tuple(found)


def pair_opinions(gaps: FloatArray) -> tuple[Opinion, ...]:
    """Return how sensory science and the usual tests read pairs, each held as an independent draw.

    Parameters
    ----------
    gaps : ndarray (n,)
        How far B was preferred to A in each pair, in points; 0 for no preference.
    """
    from scipy import stats

    a, none, b = int((gaps < 0).sum()), int((gaps == 0).sum()), int((gaps > 0).sum())
    out: list[Opinion] = [(tr("pairs for A, for neither, for B"), what, float(n)) for what, n in (
        (tr("A"), a), (tr("neither"), none), (tr("B"), b))]
    name = tr("paired comparison (ISO 5495)")
    if a or b:
        found = paired_preference(a, b)
        out += [(name, "p", found.p_value), (name, tr("share told apart"), found.apart), (name, "low", found.low),
                (name, "high", found.high)]
    else:
        out.append((name, tr("not defined: no preference in any pair"), _NAN))
    if len(gaps):
        model = two_ac(a, none, b)
        name = tr("Thurstone's model with no preference (2-AC)")
        out += [(name, "d'", model.d_prime), (name, "tau", model.tau), (name, "p", model.p_value),
                (name, "low", model.low), (name, "high", model.high)]
    if len(gaps) < 2 or np.ptp(gaps) < 1e-12:
        return (*out, (tr("one-sample t"), tr("not defined: fewer than two pairs, or all alike"), _NAN))
    return (*out, *_of_t(tr("one-sample t"), stats.ttest_1samp(gaps, 0.0)))


def _pairs(values: UnitValues, used: BoolArray, arms: npt.NDArray[np.str_]) -> bool:
    table = pd.crosstab(np.asarray(values.blocks)[used], arms[used])
    return bool(table.shape[1] == 2 and (table == 1).all(axis=None))


def _paired(values: UnitValues, used: BoolArray, arms: npt.NDArray[np.str_]) -> Iterator[Opinion]:
    from scipy import stats

    frame = pd.DataFrame({"block": np.asarray(values.blocks)[used], "arm": arms[used], "y": values.plain[used]})
    wide = frame.pivot(index="block", columns="arm", values="y")
    a, b = wide["A"].to_numpy(), wide["B"].to_numpy()
    d = b - a
    if len(d) < 2 or np.ptp(d) < 1e-12:
        yield tr("paired t"), tr("not defined: fewer than two sets, or all gaps alike"), _NAN
    else:
        t = stats.ttest_rel(b, a)
        yield from _of_t(tr("paired t"), t)
        yield from _sizes(a, b, float(t.statistic), paired=True)
    if not (np.abs(d) > 1e-12).any():
        yield tr("Wilcoxon signed rank"), tr("not defined: no gap in any set"), _NAN
    else:
        yield tr("Wilcoxon signed rank"), "p", float(stats.wilcoxon(d).pvalue)


def _unpaired(a: FloatArray, b: FloatArray) -> Iterator[Opinion]:
    from scipy import stats

    if min(len(a), len(b)) < 2 or np.ptp(a) + np.ptp(b) < 1e-12:
        yield tr("Welch t"), tr("not defined: fewer than two of a kind, or no spread"), _NAN
    else:
        t = stats.ttest_ind(b, a, equal_var=False)
        yield from _of_t(tr("Welch t"), t)
        yield from _sizes(a, b, float(t.statistic), paired=False)
    if not len(a) or not len(b):
        yield "Mann-Whitney", tr("not defined: one of the two is empty"), _NAN
    else:
        yield "Mann-Whitney", "p", float(stats.mannwhitneyu(b, a).pvalue)


def _of_t(method: str, t: Any) -> Iterator[Opinion]:
    ends = t.confidence_interval(0.95)
    yield method, "t", float(t.statistic)
    yield method, "p", float(t.pvalue)
    yield method, "low", float(ends.low)
    yield method, "high", float(ends.high)


def _sizes(a: FloatArray, b: FloatArray, t: float, *, paired: bool) -> Iterator[Opinion]:
    import pingouin as pg  # slow to load, and only needed here

    size = float(pg.compute_effsize(b, a, paired=paired, eftype="hedges"))
    yield tr("effect size (Hedges g)"), "g", size
    if np.isfinite(t):
        factor = float(pg.bayesfactor_ttest(t, len(a), len(b), paired=paired))
        yield tr("Bayes factor (default prior)"), tr("for a gap"), factor


def _mixed(points: pd.DataFrame) -> Iterator[Opinion]:
    """Yield a mixed model's gap: rating on habit and playing hours, with a level for each reed."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    name = tr("mixed model (level for each reed)")
    if points["reed"].nunique() < 3 or points["arm"].nunique() < 2:
        yield name, tr("not defined: fewer than three reeds, or one of the two is empty"), _NAN
        return
    x = pd.DataFrame({"one": 1.0, "b": (points["arm"] == "B").astype(float),
                      "hours": points["hours"] - points["hours"].mean()})
    if x["hours"].abs().max() < 1e-9:
        x = x.drop(columns="hours")
    try:
        fit = MixedLM(points["rating"].to_numpy(), x, groups=points["reed"].to_numpy()).fit(reml=True)
        gap, se = float(fit.fe_params["b"]), float(fit.bse_fe["b"])
    except (np.linalg.LinAlgError, ValueError):
        gap = se = _NAN
    if not (np.isfinite(gap) and np.isfinite(se)):
        yield name, tr("not defined: the model could not be fitted"), _NAN
        return
    yield name, "gap", gap
    yield name, "low", gap - 1.959964 * se
    yield name, "high", gap + 1.959964 * se


def lives_opinions(lives: Lives, used: BoolArray, arms: npt.NDArray[np.str_]) -> tuple[Opinion, ...]:
    """Return Kaplan-Meier medians, the log-rank test and restricted means of the units used."""
    out: list[Opinion] = []
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        groups = {x: used & (arms == x) for x in ("A", "B")}
        for x, who in groups.items():
            median = median_life(lives.hours[who], lives.worn_out[who]) if who.any() else _NAN
            out.append(("Kaplan-Meier", tr("median hours, {x}").format(x=x), median))
        both = all(who.any() for who in groups.values())
        test = log_rank(lives.hours[used], lives.worn_out[used], arms[used]) if both else None
        if test is None or not np.isfinite(test.p_value):
            out.append(("log-rank", tr("not defined: nothing wore out while both were in play, or all at once"), _NAN))
        else:
            out.append(("log-rank", "chi-square", float(test.chi_square)))
            out.append(("log-rank", "p", float(test.p_value)))
        if both:
            upto = min(float(lives.hours[who].max()) for who in groups.values())
            for x, who in groups.items():
                try:
                    mean = restricted_mean(lives.hours[who], lives.worn_out[who], upto)
                except InputError:
                    mean = _NAN
                out.append((tr("restricted mean to {upto:.1f} h").format(
                                upto=upto), tr("hours, {x}").format(x=x), mean))
    return tuple(out)
