"""Splitting the spread: against textbook analysis of variance, REML, dense matrices, and its own claim."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pandas as pd
import pytest
import statsmodels.formula.api as smf

from reedlab.analysis.player.variance_parts import Part, Parts, full_rank, split_variance


def dummies(labels: np.ndarray) -> np.ndarray:
    return (labels[:, None] == np.unique(labels)).astype(float)


def crossed(y: np.ndarray, reed: np.ndarray, day: np.ndarray, weights: tuple[float, float, float]) -> Parts:
    zr, zd = dummies(reed), dummies(day)
    parts = [Part("reed", 0, np.eye(zr.shape[1])), Part("day", 1, np.eye(zd.shape[1]))]
    return split_variance(y, np.ones((len(y), 1)), [zr, zd], parts, weights)


def test_balanced_crossed_data_give_the_analysis_of_variance_estimates() -> None:
    rng = np.random.default_rng(1)
    reed, day = np.repeat(np.arange(5), 8), np.tile(np.arange(8), 5)
    y = (rng.normal(0, 1.2, 5)[reed] + rng.normal(0, 0.6, 8)[day] + rng.normal(0, 1, 40))
    table = y.reshape(5, 8)
    rest = table - table.mean(1, keepdims=True) - table.mean(0) + table.mean()
    mse = (rest**2).sum() / 28
    want = [table.mean(1).var(ddof=1) - mse / 8, table.mean(0).var(ddof=1) - mse / 5, mse]
    for weights in ((1.0, 1.0, 1.0), (3.0, 0.1, 0.5)):
        assert np.allclose(crossed(y, reed, day, weights).variance, want)


def test_dense_matrices_give_the_same_answer() -> None:
    rng = np.random.default_rng(2)
    n = 30
    reed, day, hours = rng.integers(0, 5, n), rng.integers(0, 9, n), rng.random(n) * 5
    zr, zd = dummies(reed), dummies(day)
    days = np.unique(day)
    shape = 0.3 ** np.abs(days[:, None] - days)
    x = np.column_stack([np.ones(n), hours])
    y = rng.normal(size=n) + zr @ rng.normal(size=zr.shape[1])
    parts = [Part("reed", 0, np.eye(zr.shape[1])), Part("slope", 1, np.eye(zr.shape[1])), Part("day", 2, shape)]
    weights = [1.1, 0.05, 0.4, 0.9]
    got = split_variance(y, x, [zr, zr * hours[:, None], zd], parts, weights)

    kinds = [zr @ zr.T, (zr * hours[:, None]) @ (zr * hours[:, None]).T, zd @ shape @ zd.T, np.eye(n)]
    v = sum(w * k for w, k in zip(weights, kinds, strict=True))
    vi = np.linalg.inv(v)
    p = vi - vi @ x @ np.linalg.inv(x.T @ vi @ x) @ x.T @ vi
    s = np.array([[np.trace(p @ a @ p @ b) for a in kinds] for b in kinds])
    q = np.array([y @ p @ k @ p @ y for k in kinds])
    assert np.allclose(got.variance, np.linalg.solve(s, q))
    assert np.allclose(got.covariance, 2 * np.linalg.inv(s))
    assert np.allclose(got.fixed, np.linalg.solve(x.T @ vi @ x, x.T @ vi @ y))
    assert got.names == ("reed", "slope", "day", "noise")


def test_repeated_with_its_own_answer_it_is_reml() -> None:
    rng = np.random.default_rng(5)
    reed = np.repeat(np.arange(8), [3, 9, 4, 7, 5, 8, 2, 6])
    y = rng.normal(0, 1.3, 8)[reed] + rng.normal(0, 0.9, len(reed))
    z = dummies(reed)
    weights, ones, parts = [1.0, 1.0], np.ones((len(y), 1)), [Part("reed", 0, np.eye(8))]
    for _ in range(60):
        weights = list(split_variance(y, ones, [z], parts, weights).variance)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        fit = smf.mixedlm("y ~ 1", pd.DataFrame({"y": y, "reed": reed}), groups="reed").fit(reml=True)
    assert weights[0] == pytest.approx(float(fit.cov_re.iloc[0, 0]), rel=1e-3)
    assert weights[1] == pytest.approx(float(fit.scale), rel=1e-3)


def test_the_estimates_are_unbiased_with_wrong_weights_and_their_errors_right_with_right_ones() -> None:
    rng = np.random.default_rng(20260301)
    n, runs = 60, 800
    reed, day = rng.integers(0, 6, n), rng.integers(0, 20, n)
    truth = np.array([1.44, 0.25, 1.0])
    got = {"right": [], "wrong": []}
    for _ in range(runs):
        y = (rng.normal(0, 1.2, 6)[reed] + rng.normal(0, 0.5, 20)[day] + rng.normal(0, 1, n))
        got["right"].append(crossed(y, reed, day, (1.44, 0.25, 1.0)))
        got["wrong"].append(crossed(y, reed, day, (0.2, 1.5, 1.0)))
    for name, results in got.items():
        all_of = np.array([r.variance for r in results])
        error = all_of.std(axis=0, ddof=1) / math.sqrt(runs)
        assert (np.abs(all_of.mean(axis=0) - truth) < 4 * error).all(), name
    right = np.array([r.variance for r in got["right"]])
    claimed = np.sqrt(np.diag(got["right"][0].covariance))
    assert np.allclose(right.std(axis=0, ddof=1) / claimed, 1, atol=0.12)


def test_columns_that_say_nothing_new_are_dropped_and_the_first_ones_win() -> None:
    a = np.arange(6.0)
    x = np.column_stack([np.ones(6), a, 2 * a - 3, np.zeros(6), a**2])
    assert full_rank(x).tolist() == [True, True, False, False, True]
