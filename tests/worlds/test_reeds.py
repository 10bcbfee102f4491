from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from reedlab.worlds import World
from reedlab.worlds.reeds import damage_rate, draw_reeds, sunk, to_scale

ONE_BOX = ["1"] * 10


def reeds(n: int = 4000, seed: int = 1, **changes):
    return draw_reeds(World().but(**changes), n, ONE_BOX, np.random.default_rng(seed))


def test_levels_spread_within_and_between_boxes_as_the_world_says() -> None:
    """Two boxes of five: the variance within a box is reed_sd², between box means box_sd² + reed_sd²/5."""
    w = World()
    level = draw_reeds(w, 20_000, ["1"] * 5 + ["2"] * 5, np.random.default_rng(2)).level
    within = np.concatenate([level[:5].var(axis=0, ddof=1), level[5:].var(axis=0, ddof=1)]).mean()
    assert within == pytest.approx(w.reed_sd**2, rel=0.02)
    gap = (level[:5].mean(axis=0) - level[5:].mean(axis=0)).var()
    assert gap == pytest.approx(2 * (w.box_sd**2 + w.reed_sd**2 / 5), rel=0.04)
    assert level.mean() == pytest.approx(w.level, abs=0.02)


@pytest.mark.parametrize("shape", [1.0, 2.0, 3.5])
def test_lives_are_weibull_with_the_wished_median(shape: float) -> None:
    """Lives agree with scipy's Weibull of that shape and median (Kolmogorov-Smirnov, fixed seed)."""
    w = World(life_median_h=15, life_shape=shape)
    life = draw_reeds(w, 400, ONE_BOX, np.random.default_rng(3)).life_h.ravel()
    life = life[life > 0.06]  # the shortest are held at three minutes
    assert np.median(life) == pytest.approx(15, rel=0.06)
    far = stats.weibull_min(shape, scale=15 / np.log(2) ** (1 / shape))
    assert stats.kstest(life, far.cdf).pvalue > 0.001


@pytest.mark.parametrize("share", [0.0, 0.10, 0.15, 0.20, 0.6])
def test_the_wished_share_is_damaged_before_the_end_of_its_life(share: float) -> None:
    r = reeds(damage_share=share)
    seen = float((r.damage_h < r.life_h).mean())
    assert seen == pytest.approx(share, abs=4 * np.sqrt(0.25 / r.life_h.size))


def test_damage_rate_agrees_with_the_closed_form_for_exponential_lives() -> None:
    """With shape 1 the share is rate / (rate + 1 / scale), so the rate is share / (1 - share) / scale."""
    assert damage_rate(0.2, 15.0, 1.0) == pytest.approx(0.25 / 15, rel=1e-6)


@pytest.mark.parametrize("r", [0.3, 0.5, 0.9])
def test_first_play_is_correlated_with_the_level_as_the_world_says(r: float) -> None:
    w = World(first_play_r=r, box_sd=0.0, level=5.0, reed_sd=0.6, first_play_loss=0.0)
    d = draw_reeds(w, 3000, ONE_BOX, np.random.default_rng(4))
    seen = np.corrcoef(d.level.ravel(), d.first_play.ravel())[0, 1]
    # rounding to half points (variance 1/48) weakens it a little, and so do the ends of the scale
    var = (w.reed_sd / r) ** 2
    assert seen == pytest.approx(r * np.sqrt(var / (var + 1 / 48)), abs=0.015)


def test_matched_sets_get_reeds_in_order_of_their_first_play_and_by_chance_within() -> None:
    sets = ["x"] * 4 + ["y"] * 6
    d = draw_reeds(World(), 3000, ONE_BOX, np.random.default_rng(5), blocks=sets)
    # rounding leaves ties; nothing of the lower set may beat the upper set
    assert (d.first_play[:4].min(axis=0) >= d.first_play[4:].max(axis=0)).all()
    within = d.level[:4].mean(axis=1)
    assert np.ptp(within) < 4 * 2 * World().reed_sd / np.sqrt(3000)
    assert d.level[:4].mean() - d.level[4:].mean() > 0.5


def test_matching_changes_nobody_s_box() -> None:
    boxes = ["1", "2"] * 5
    plain = draw_reeds(World(reed_sd=0.0), 50, boxes, np.random.default_rng(6))
    matched = draw_reeds(World(reed_sd=0.0), 50, boxes, np.random.default_rng(6), blocks=list("abababbaba"))
    np.testing.assert_allclose(plain.level, matched.level)


def test_a_reed_stands_at_the_worn_level_when_its_life_is_over() -> None:
    w = World()
    d = reeds(n=50)
    end = d.level - sunk(w, d.level, d.wear, d.life_h, d.life_h)
    falls = d.level - d.wear * d.life_h > w.worn_level
    np.testing.assert_allclose(end[falls], w.worn_level)
    half = sunk(w, d.level, d.wear, d.life_h, d.life_h / 2)[falls]
    assert (half < 0.2 * (d.level - w.worn_level)[falls] + (d.wear * d.life_h)[falls]).all()
    np.testing.assert_allclose(sunk(w, d.level, d.wear, d.life_h, 0 * d.life_h), 0)


def test_ratings_are_rounded_to_the_step_and_held_on_the_scale() -> None:
    x = np.array([-3.0, 0.2, 4.26, 7.74, 9.8, 14.0])
    np.testing.assert_array_equal(to_scale(x, 0.5), [0, 0, 4.5, 7.5, 10, 10])
    np.testing.assert_array_equal(to_scale(x, 1.0), [0, 0, 4, 8, 10, 10])
