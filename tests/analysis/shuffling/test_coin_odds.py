"""Odds on the way: mean exactly 1 over the coins, a plain second reckoning, the shared 5 in 100, ranges."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from reedlab.analysis.shuffling.coin_odds import CoinOdds, bar_of, left_for_end

GAPS = {
    "plain": [0.5, -1.0, 2.0, 0.25, 1.5, -0.5, 3.0, 1.0, 0.75],
    "ties": [1.0, 1.0, -1.0, 1.0, 1.0, 1.0, 0.0, 1.0, 1.0],
    "missing": [0.5, math.nan, 2.0, 0.25, math.nan, -0.5, 3.0, 1.0, 0.75],
    "all equal": [0.0] * 9,
    "huge and tiny": [1e6, 1e-9, -3.0, 1e6, 2.0, 1e-9, 1.0, 4.0, -2.0],
}
FULL = [True, True, False, True, False, True, True, True, False]


def odds(gaps: list[float], matters: float = 1.0, bar: float = 25.0) -> CoinOdds:
    row = np.array(gaps)[None]
    return CoinOdds(row, np.ones_like(row), np.array(FULL[:len(gaps)])[None], matters=matters, bar=bar)


def fallen(gaps: list[float]) -> np.ndarray:
    """Every way the coins of these gaps could have fallen, (2^m, m)."""
    return np.array(list(itertools.product([1.0, -1.0], repeat=len(gaps)))) * np.array(gaps)


def slow(gaps: list[float], matters: float = 1.0) -> list[float]:
    """The odds block by block, reckoned with plain sums: four blocks of spread `matters` are seen beforehand."""
    products, out, seen = {(e, way): 1.0 for e in (1.0, 2.0) for way in (1, -1)}, [], [matters**2] * 4
    for gap, full in zip(gaps, FULL, strict=False):
        if not math.isnan(gap):
            weight = 1.0 if full else 1 / 3
            seen.append(weight * gap**2 / 2)
            x = weight * gap / math.sqrt(sum(seen) / len(seen))
            for e, way in products:
                high, low = math.exp(way * e * x / 2), math.exp(-way * e * x / 2)
                products[e, way] *= high / ((high + low) / 2)
        out.append(sum(products.values()) / 4)
    return out


@pytest.mark.parametrize("kind", GAPS)
def test_the_mean_over_all_coins_is_one_after_every_block(kind: str) -> None:
    ways = fallen(GAPS[kind])
    full = np.tile(np.array(FULL), (len(ways), 1))
    path = CoinOdds(ways, np.ones_like(ways), full, matters=1.0, bar=25.0).path()
    np.testing.assert_allclose(path.e_values.mean(axis=0), np.ones(9), rtol=1e-9)


@pytest.mark.parametrize("kind", ["plain", "ties", "missing", "all equal"])
@pytest.mark.parametrize("matters", [0.5, 1.0, 3.0])
def test_the_odds_are_those_of_a_plain_second_reckoning(kind: str, matters: float) -> None:
    np.testing.assert_allclose(odds(GAPS[kind], matters).path().e_values[0], slow(GAPS[kind], matters), rtol=1e-10)


def test_a_bet_looks_only_back() -> None:
    long, short = odds(GAPS["plain"]).path().e_values[0], odds(GAPS["plain"][:5]).path().e_values[0]
    np.testing.assert_array_equal(long[:5], short)


@pytest.mark.parametrize("alpha", [0.05, 0.2])
@pytest.mark.parametrize("kind", ["plain", "ties", "missing", "all equal"])
def test_odds_and_end_together_name_a_winner_in_no_more_than_their_share(kind: str, alpha: float) -> None:
    """Counted one by one over every way the coins could have fallen, each with its own p at the end."""
    whole = [g for g in GAPS[kind] if not math.isnan(g)]
    ways = fallen(whole)
    row = odds(GAPS[kind], bar=bar_of(alpha))
    left = left_for_end(row, 0, np.array(GAPS[kind]), alpha=alpha, draws=500, seed=1)
    sums = ways.sum(axis=1)
    named = 0
    for way, total in zip(ways, sums, strict=True):
        rest = iter(way)
        early = max(slow([g if math.isnan(g) else next(rest) for g in GAPS[kind]])) >= bar_of(alpha)
        p = np.mean(np.abs(sums) >= abs(total) - 1e-9)
        named += bool(early or p <= left + 1e-12)
    assert named <= alpha * len(ways) + 1e-9
    if kind in ("plain", "missing"):
        assert left > alpha / 4


def test_drawn_ways_leave_about_what_all_of_them_leave() -> None:
    rng = np.random.default_rng(4)
    row = rng.normal(0.3, 1, (1, 20))
    made = CoinOdds(row, np.ones_like(row), np.ones((1, 20), dtype=bool), matters=1.0, bar=25.0)
    some = [left_for_end(made, 0, row[0], alpha=0.05, draws=20_000, seed=s) for s in range(4)]
    every = ((np.arange(2**20)[:, None] >> np.arange(20)) & 1) * 2.0 - 1
    path = CoinOdds(every[:20_000] * row, np.ones((20_000, 20)), np.ones((20_000, 20), dtype=bool), matters=1.0,
                    bar=25.0).path()
    assert np.mean(path.most >= 25) < 0.04  # Ville
    assert max(some) - min(some) < 0.006
    assert 0.02 < np.mean(some) < 0.05


def test_the_range_holds_what_the_odds_never_ruled_out_and_agrees_with_the_winner() -> None:
    rng = np.random.default_rng(2)
    held = named = 0
    for _ in range(60):
        row = rng.normal(1.0, 1.2, (1, 30))
        made = CoinOdds(row, np.ones_like(row), np.ones((1, 30), dtype=bool), matters=1.0, bar=25.0)
        made = made.told(row.mean(axis=1))
        t = made.in_full(0)
        assert (t.p_value <= 1 / 25) == bool(made.named()[0]) == (not t.low <= 0 <= t.high)
        assert t.low < made.estimates()[0] < t.high
        for d in (t.low + 1e-6, t.high - 1e-6):
            if t.low + 1e-6 < d < t.high - 1e-6:
                assert made.path(d).most[0] < 25
        held += t.low <= 1.0 <= t.high
        named += bool(made.named()[0])
    assert held >= 56  # the truth is ruled out at any time in at most 1 of 25
    assert named > 40


def test_nothing_seen_is_even() -> None:
    none = odds([math.nan] * 4)
    assert none.path().most[0] == 1
    assert none.range(0) == (-math.inf, math.inf)
    assert not none.named()[0]
    assert left_for_end(none, 0, np.full(4, math.nan), alpha=0.05, draws=100, seed=1) == 0
