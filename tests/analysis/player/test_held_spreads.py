"""Held spreads against a search over dense matrices, and at the two ends: no data and plenty."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from reedlab.analysis.player.held_spreads import hold_spreads
from reedlab.analysis.player.variance_parts import Part

PRIOR_SD = 0.35


def some_ratings(n: int, seed: int) -> tuple[np.ndarray, np.ndarray, list[np.ndarray], list[Part]]:
    rng = np.random.default_rng(seed)
    reed, day = rng.integers(0, 5, n), rng.integers(0, 12, n)
    zr, zd = (reed[:, None] == np.arange(5)).astype(float), (day[:, None] == np.arange(12)).astype(float)
    t = np.arange(12.0)
    y = zr @ rng.normal(0, 2.0, 5) + zd @ rng.normal(0, 0.3, 12) + rng.normal(0, 0.8, n)
    parts = [Part("reed", 0, np.eye(5)), Part("day", 1, 0.3 ** np.abs(t[:, None] - t))]
    return y, np.column_stack([np.ones(n), rng.random(n)]), [zr, zd], parts


def test_the_peak_is_that_found_by_a_search_over_dense_matrices() -> None:
    y, x, blocks, parts = some_ratings(40, 3)
    start, rounding = [1.1, 0.5, 1.0], 1 / 12
    got = hold_spreads(y, x, blocks, parts, start, PRIOR_SD, rounding=rounding)
    kinds = [blocks[p.block] @ p.shape @ blocks[p.block].T for p in parts] + [np.eye(len(y))]

    def minus(log_sd: np.ndarray) -> float:
        w = np.exp(2 * log_sd)
        w[-1] += rounding
        v = sum(a * k for a, k in zip(w, kinds, strict=True))
        vi = np.linalg.inv(v)
        xvx = x.T @ vi @ x
        p = vi - vi @ x @ np.linalg.inv(xvx) @ x.T @ vi
        reml = -0.5 * (np.linalg.slogdet(v)[1] + np.linalg.slogdet(xvx)[1] + y @ p @ y)
        return float(-(reml - 0.5 * (((log_sd - np.log(start)) / PRIOR_SD) ** 2).sum()))

    found = minimize(minus, np.log(start), method="Nelder-Mead", options={"xatol": 1e-7, "fatol": 1e-10,
                                                                         "maxiter": 4000})
    assert np.allclose(np.log(got.sd), found.x, atol=2e-4)
    assert got.rounds < 15


def test_thin_data_stay_near_the_default_and_plenty_do_not() -> None:
    thin = hold_spreads(*some_ratings(8, 1), [1.1, 0.5, 1.0], PRIOR_SD)
    plenty = hold_spreads(*some_ratings(2000, 1), [1.1, 0.5, 1.0], PRIOR_SD)
    assert thin.weight[-1] < 0.6 < 0.95 < plenty.weight[-1]
    assert plenty.sd[-1] == pytest.approx(0.8, rel=0.08)
    assert abs(np.log(thin.sd[1] / 0.5)) < 0.2


def test_a_part_the_data_cannot_see_keeps_its_default() -> None:
    y, x, blocks, parts = some_ratings(40, 2)
    blocks = [*blocks, np.ones((len(y), 1))]  # one box: it is the level
    got = hold_spreads(y, x, blocks, [*parts, Part("box", 2, np.eye(1))], [1.1, 0.5, 0.7, 1.0], PRIOR_SD)
    assert got.sd[2] == pytest.approx(0.7, rel=1e-6)
    assert got.weight[2] == pytest.approx(0, abs=1e-9)


def test_ratings_that_never_differ_give_small_spreads_and_no_fault() -> None:
    y, x, blocks, parts = some_ratings(40, 2)
    got = hold_spreads(np.full_like(y, 6.0), x, blocks, parts, [1.1, 0.5, 1.0], PRIOR_SD)
    assert np.isfinite(got.sd).all()
    assert (got.sd < [1.1, 0.5, 1.0]).all()
