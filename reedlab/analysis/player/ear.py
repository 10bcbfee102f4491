"""Know your own ear: the same reeds rated twice, blind to the first rating.

The numbers concern *single* ratings by one player. They stand beside the smallest difference that
matters and never raise it: a trial averages many ratings and can see differences that two single
ratings cannot.
"""

from __future__ import annotations

import math
import warnings
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from ...errors import InputError
from ...trial.ear_results import ENOUGH_REEDS, EarResult
from ...wording import tr, trn

__all__ = ["ENOUGH_REEDS", "EarResult", "ear_order", "know_your_ear"]

_FEWEST: Final = 3  # fewer cannot be read at all
_TAIL: Final = (1 - 0.95) / 2  # of the ranges

# Shrout & Fleiss' ICC(2,1): two-way random effects, absolute agreement, one rating. Name by pingouin version.
_AGREEMENT: Final = ("ICC(A,1)", "ICC2")


def know_your_ear(ratings: pd.DataFrame) -> EarResult:
    """Read a double rating.

    Parameters
    ----------
    ratings : DataFrame
        Long form: `reed` (label), `round` (label, at least two, in order of time when sorted) and `rating`
        (points, 0 to 10). A reed without a rating in every round is left out and counted in the remarks.

    Returns
    -------
    EarResult

    Raises
    ------
    InputError
        For missing columns, ratings off the scale, or a reed rated twice in one round; all rows are named.

    Notes
    -----
    The repeatability is ICC(2,1) of Shrout & Fleiss 1979, Psychol. Bull. 86, 420-428 (two-way random
    effects, absolute agreement, one rating; "ICC(A,1)" of McGraw & Wong 1996, Psychol. Methods 1, 30-46),
    through pingouin. Two-way, because all reeds are rated in the same rounds; agreement and not
    consistency, because a taste that drifts between rounds is noise when two ratings are set side by
    side; one rating, because that is what a sitting has.

    SEM² is the error variance that belongs to that ICC: rounds + residual, which equals the mean square
    within reeds; its range is chi-squared with Satterthwaite's degrees of freedom. 1.96·√2·SEM is the
    repeatability coefficient of Bland & Altman 1986, Lancet 327, 307-310.
    """
    from scipy import stats

    table, left_out = _both_rounds(ratings)
    n, k = table.shape
    remarks = ["left_out"] if left_out else []
    if n < _FEWEST or k < 2:
        nan = (math.nan, math.nan)
        return EarResult(n, k, math.nan, nan, math.nan, nan, math.nan, nan, math.nan, nan,
                         False, ("too_few_reeds", *remarks))
    y = table.to_numpy(dtype=float)
    ms_rounds, ms_rest = _mean_squares(y)
    within = float((ms_rounds + (n - 1) * ms_rest) / n)
    sem = math.sqrt(within)
    sem_range = _sd_range(within, _satterthwaite(n, k, ms_rounds, ms_rest))
    factor = float(stats.norm.ppf(0.975)) * math.sqrt(2)
    shift, shift_range = _shift(y)
    icc, icc_range = _agreement(table)
    alike = len(np.unique(y)) < 3 or math.isnan(icc)
    if n < ENOUGH_REEDS:
        remarks.insert(0, "too_few_reeds")
    if alike:
        remarks.append("all_alike")
    elif within == 0:
        remarks.append("same_each_time")
    if shift_range[0] > 0 or shift_range[1] < 0:
        remarks.append("round_shift")
    return EarResult(
        reeds=n, rounds=k, icc=icc, icc_range=icc_range, sem=sem, sem_range=sem_range,
        smallest_change=factor * sem, smallest_change_range=(factor * sem_range[0], factor * sem_range[1]),
        shift=shift, shift_range=shift_range,
        enough=n >= ENOUGH_REEDS and not alike, remarks=tuple(remarks))


def ear_order(reeds: int, seed: int) -> pd.DataFrame:
    """Return the shuffled order of a double rating, by case slot only: no reed is named.

    A helper (or the form) puts the reeds into slots 1 to `reeds` in an order the player does not know.

    Parameters
    ----------
    reeds : int
        How many reeds, at least 2.
    seed : int
        Equal seeds give equal orders.

    Returns
    -------
    DataFrame
        `step` from 1, `round` from 1, `slot` from 1. Every slot comes once a round, and at least half
        of the reeds (rounded down) lie between two ratings of one slot.
    """
    if reeds < 2:
        raise InputError(tr("`reeds` must be at least 2; got {reeds!r}.").format(reeds=reeds))
    rng = np.random.default_rng(seed)
    first = rng.permutation(reeds) + 1
    half = reeds // 2
    # Shuffled within each half, so that no reed comes back while its first rating is still in the ear.
    slots = np.concatenate([first, rng.permutation(first[:half]), rng.permutation(first[half:])])
    return pd.DataFrame({"step": np.arange(1, 2 * reeds + 1), "round": np.repeat([1, 2], reeds), "slot": slots})


def _both_rounds(ratings: pd.DataFrame) -> tuple[pd.DataFrame, int]:
    """Return ratings as (reeds, rounds), complete rows only, and the number of reeds left out."""
    missing = [c for c in ("reed", "round", "rating") if c not in ratings.columns]
    if missing:
        raise InputError(trn(
            "The double rating lacks the column `{columns}`; it needs `reed`, `round` and `rating`.",
            "The double rating lacks the columns `{columns}`; it needs `reed`, `round` and `rating`.",
            len(missing)).format(columns="`, `".join(missing)))
    frame = ratings[["reed", "round", "rating"]].copy()
    frame["rating"] = pd.to_numeric(frame["rating"], errors="coerce").astype(float)
    faults = []
    for i, (given, value) in enumerate(zip(ratings["rating"], frame["rating"], strict=True), start=1):
        if (pd.notna(given) and math.isnan(value)) or not (math.isnan(value) or 0 <= value <= 10):
            faults.append(tr("row {i}: `rating` is {given!r}, wanted 0 to 10").format(i=i, given=given))
    for i, (a, b) in enumerate(zip(frame["reed"].isna(), frame["round"].isna(), strict=True), start=1):
        if a or b:
            faults.append(tr("row {i}: `{part}` is empty").format(i=i, part="reed" if a else "round"))
    rated = frame.dropna()
    twice = rated.duplicated(["reed", "round"])
    for label, row in rated[twice].iterrows():
        place = frame.index.get_loc(label)
        where = tr("row {place}:").format(place=place + 1) + " " if isinstance(place, int) else ""
        faults.append(tr("{where}reed {reed} is rated twice in round {round}").format(
                          where=where, reed=row["reed"], round=row["round"]))
    if faults:
        raise InputError(tr("The double rating cannot be read: {faults}.").format(faults="; ".join(faults)))
    wide = rated.pivot(index="reed", columns="round", values="rating").sort_index(axis=1)
    complete = wide.dropna()
    return complete, int(frame["reed"].nunique()) - len(complete)


def _mean_squares(y: NDArray[np.float64]) -> tuple[float, float]:
    """Return the mean squares of rounds and of the residual of a two-way table, (reeds, rounds)."""
    n, k = y.shape
    grand = y.mean()
    rest = y - y.mean(axis=1, keepdims=True) - y.mean(axis=0, keepdims=True) + grand
    rounds = n * float(((y.mean(axis=0) - grand) ** 2).sum()) / (k - 1)
    ss_rest = float((rest**2).sum())
    # Rounding in the arithmetic must not pass for noise.
    ss_rest = 0.0 if ss_rest < 1e-12 * max(1.0, float((y**2).sum())) else ss_rest
    return (0.0 if rounds < 1e-12 else rounds), ss_rest / ((n - 1) * (k - 1))


def _satterthwaite(n: int, k: int, ms_rounds: float, ms_rest: float) -> float:
    a, b = ms_rounds / n, (n - 1) * ms_rest / n
    bottom = a**2 / (k - 1) + b**2 / ((n - 1) * (k - 1))
    return (a + b) ** 2 / bottom if bottom > 0 else float((n - 1) * (k - 1))


def _sd_range(variance: float, df: float) -> tuple[float, float]:
    from scipy import stats

    most, least = stats.chi2.isf(_TAIL, df), stats.chi2.ppf(_TAIL, df)
    return math.sqrt(variance * df / most), math.sqrt(variance * df / least)


def _shift(y: NDArray[np.float64]) -> tuple[float, tuple[float, float]]:
    from scipy import stats

    change = y[:, -1] - y[:, 0]
    mean, se = float(change.mean()), float(change.std(ddof=1) / math.sqrt(len(change)))
    t = float(stats.t.isf(_TAIL, len(change) - 1))
    return mean, (mean - t * se, mean + t * se)


def _agreement(table: pd.DataFrame) -> tuple[float, tuple[float, float]]:
    """Return ICC(2,1) by pingouin and its range (McGraw & Wong 1996, table 7; pingouin rounds it)."""
    import pingouin
    from scipy import stats

    n, k = table.shape
    y = table.to_numpy(dtype=float)
    ms_rounds, ms_rest = _mean_squares(y)
    ms_reeds = k * float(y.mean(axis=1).var(ddof=1))
    if ms_reeds + ms_rest + ms_rounds == 0:
        return math.nan, (math.nan, math.nan)
    if ms_rest == 0 and ms_rounds == 0:
        return 1.0, (math.nan, math.nan)  # every rating repeated to the step: no range can be given
    long = pd.DataFrame({"reed": np.repeat(np.arange(n), k), "round": np.tile(np.arange(k), n),
                         "rating": y.ravel()})
    if ms_rest == 0:
        rho = ms_reeds / (ms_reeds + k * ms_rounds / n)  # pingouin divides by the residual
        return rho, (math.nan, math.nan)
    with warnings.catch_warnings():
        # pingouin calls pandas in ways that newer pandas calls deprecated; nothing of ours.
        warnings.simplefilter("ignore", DeprecationWarning)
        out = pingouin.intraclass_corr(long, targets="reed", raters="round", ratings="rating")
    rho = float(out.loc[out["Type"].isin(_AGREEMENT), "ICC"].iloc[0])
    a, b = k * rho / (n * (1 - rho)), 1 + k * rho * (n - 1) / (n * (1 - rho))
    v = (a * ms_rounds + b * ms_rest) ** 2 / (
        (a * ms_rounds) ** 2 / (k - 1) + (b * ms_rest) ** 2 / ((n - 1) * (k - 1)))
    upper, lower = stats.f.isf(_TAIL, n - 1, v), stats.f.isf(_TAIL, v, n - 1)
    low = n * (ms_reeds - upper * ms_rest) / (upper * (k * ms_rounds + (k * n - k - n) * ms_rest) + n * ms_reeds)
    high = n * (lower * ms_reeds - ms_rest) / (k * ms_rounds + (k * n - k - n) * ms_rest + n * lower * ms_reeds)
    return rho, (float(low), float(high))
