"""Double ratings: published values, an independent analysis of variance, and simulated ears."""

from __future__ import annotations

import math

import numpy as np
import pandas as pd
import pingouin
import pytest

from reedlab.analysis.player.ear import ENOUGH_REEDS, ear_order, know_your_ear
from reedlab.errors import InputError

# Shrout & Fleiss 1979, Psychol. Bull. 86, 420-428, table 2: six targets (rows) by four judges
SHROUT_FLEISS = np.array([[9, 2, 5, 8], [6, 1, 3, 2], [8, 4, 6, 8], [7, 1, 2, 6], [10, 5, 6, 9], [6, 2, 4, 7]])
# Their table 4 prints .17 .29 .71 .44 .62 .91; more digits computed from the data
PUBLISHED = (0.1657, 0.2898, 0.7148, 0.4428, 0.6201, 0.9093)


def long(table: np.ndarray) -> pd.DataFrame:
    n, k = table.shape
    return pd.DataFrame({"reed": np.repeat([f"1-{i:02d}" for i in range(1, n + 1)], k),
                         "round": np.tile(np.arange(1, k + 1), n), "rating": table.ravel().astype(float)})


def six_iccs_by_least_squares(y: np.ndarray) -> list[float]:
    """The six forms from nested least-squares fits: no closed-form sums of squares."""
    n, k = y.shape
    ones, reeds, rounds = np.ones((n * k, 1)), np.kron(np.eye(n), np.ones((k, 1))), np.tile(np.eye(k), (n, 1))

    def rss(*parts: np.ndarray) -> float:
        x = np.hstack([ones, *parts])
        return float(((y.ravel() - x @ np.linalg.lstsq(x, y.ravel(), rcond=None)[0]) ** 2).sum())

    full = rss(reeds, rounds)
    bms, jms = (rss(rounds) - full) / (n - 1), (rss(reeds) - full) / (k - 1)
    ems, wms = full / ((n - 1) * (k - 1)), rss(reeds) / (n * (k - 1))
    return [(bms - wms) / (bms + (k - 1) * wms),
            (bms - ems) / (bms + (k - 1) * ems + k * (jms - ems) / n),
            (bms - ems) / (bms + (k - 1) * ems),
            (bms - wms) / bms, (bms - ems) / (bms + (jms - ems) / n), (bms - ems) / bms]


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # pingouin's use of pandas
def test_pingouin_gives_all_six_published_repeatabilities() -> None:
    out = pingouin.intraclass_corr(long(SHROUT_FLEISS), targets="reed", raters="round", ratings="rating")
    assert np.allclose(out["ICC"].to_numpy(dtype=float), PUBLISHED, atol=5e-5)


def test_least_squares_gives_all_six_published_repeatabilities() -> None:
    assert np.allclose(six_iccs_by_least_squares(SHROUT_FLEISS), PUBLISHED, atol=5e-5)


def test_the_form_used_is_agreement_of_single_ratings_with_its_own_error() -> None:
    ear = know_your_ear(long(SHROUT_FLEISS))
    y = SHROUT_FLEISS
    assert ear.icc == pytest.approx(0.2898, abs=5e-5)
    # SEM² is the mean square within reeds, 6.264 (Shrout & Fleiss 1979, table 3: WMS 6.26)
    assert ear.sem**2 == pytest.approx(y.var(axis=1, ddof=1).mean())
    assert ear.sem**2 == pytest.approx(6.26, abs=0.005)
    assert ear.smallest_change == pytest.approx(1.96 * math.sqrt(2) * ear.sem, rel=1e-4)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")  # pingouin's use of pandas
def test_the_range_of_the_repeatability_is_pingouins() -> None:
    rng = np.random.default_rng(3)
    for _ in range(5):
        y = rng.normal(6, 1.5, (10, 1)) + rng.normal(0, 1, (10, 2))
        data = long(np.clip(y, 0, 10))
        out = pingouin.intraclass_corr(data, targets="reed", raters="round", ratings="rating")
        column = next(c for c in out.columns if c.startswith("CI95"))
        want = out[column].iloc[1]
        assert np.allclose(know_your_ear(data).icc_range, np.asarray(want, dtype=float), atol=0.006)


def test_with_two_rounds_the_noise_is_half_the_square_of_the_changes() -> None:
    y = np.array([[5, 6], [7, 6.5], [3, 4], [8, 8.5], [6, 6.5], [4, 3], [9, 9], [5.5, 7]])
    ear = know_your_ear(long(y))
    change = y[:, 1] - y[:, 0]
    assert ear.sem**2 == pytest.approx((change**2).mean() / 2)  # Bland & Altman's within-subject variance
    assert ear.shift == pytest.approx(change.mean())
    assert ear.enough
    assert ear.remarks == ()


def test_ranges_cover_the_truth_about_95_times_in_100() -> None:
    rng = np.random.default_rng(20260301)
    runs, sem_in, icc_in, square = 200, 0, 0, []
    for _ in range(runs):
        y = rng.normal(5, 1.2, (10, 1)) + rng.normal(0, 0.9, (10, 2))
        ear = know_your_ear(long(np.clip(y, 0, 10)))
        sem_in += ear.sem_range[0] <= 0.9 <= ear.sem_range[1]
        icc_in += ear.icc_range[0] <= 1.44 / (1.44 + 0.81) <= ear.icc_range[1]
        square.append(ear.sem**2)
    assert 0.9 <= sem_in / runs <= 0.99
    assert 0.9 <= icc_in / runs <= 0.99
    assert abs(np.mean(square) - 0.81) < 4 * np.std(square) / math.sqrt(runs)


def test_a_shift_between_rounds_counts_as_noise_and_is_said() -> None:
    y = np.array([[5, 6], [7, 8.5], [3, 4], [8, 9], [6, 7], [4, 5], [2, 3.5], [5, 6]])
    ear = know_your_ear(long(y))
    assert "round_shift" in ear.remarks
    assert ear.sem > 0.7


def test_few_reeds_are_said_to_be_too_few() -> None:
    y = np.array([[5, 6], [7, 6], [3, 3.5], [8, 9], [6, 6]])
    ear = know_your_ear(long(y))
    assert not ear.enough
    assert ear.remarks[0] == "too_few_reeds"
    assert ear.sem > 0
    two = know_your_ear(long(y[:2]))
    assert not two.enough
    assert math.isnan(two.sem)
    assert two.remarks == ("too_few_reeds",)
    assert know_your_ear(long(y).iloc[:0]).reeds == 0
    assert len(y) < ENOUGH_REEDS


def test_reeds_without_both_ratings_are_left_out_and_said_so() -> None:
    y = np.array([[5, 6], [7, 6.5], [3, 4], [8, 8.5], [6, 6.5], [4, 3], [9, 9], [5.5, 7], [4, 4]], dtype=float)
    whole = long(y)
    hole = whole.copy()
    hole.loc[len(hole) - 1, "rating"] = np.nan
    for data in (hole, hole.iloc[:-1]):
        ear = know_your_ear(data)
        assert ear.reeds == 8
        assert ear.remarks == ("left_out",)
        assert ear.sem == pytest.approx(know_your_ear(long(y[:8])).sem)


def test_ratings_that_never_differ_are_never_called_perfect() -> None:
    ear = know_your_ear(long(np.full((10, 2), 6.0)))
    assert math.isnan(ear.icc)
    assert not ear.enough
    assert ear.remarks == ("all_alike",)


def test_ratings_repeated_to_the_step_have_a_remark_and_no_range() -> None:
    y = np.repeat(np.arange(1.0, 10)[:, None], 2, axis=1)
    ear = know_your_ear(long(y))
    assert ear.icc == 1.0
    assert ear.sem == 0.0
    assert math.isnan(ear.icc_range[0])
    assert ear.remarks == ("same_each_time",)


def test_adding_a_constant_to_all_ratings_changes_nothing() -> None:
    a, b = know_your_ear(long(SHROUT_FLEISS / 2)), know_your_ear(long(SHROUT_FLEISS / 2 + 3))
    assert a.icc == pytest.approx(b.icc)
    assert a.sem == pytest.approx(b.sem)


def test_every_fault_of_a_double_rating_is_named_at_once() -> None:
    data = pd.DataFrame({"reed": ["1-01", "1-01", "1-02", None], "round": [1, 1, 1, 2],
                         "rating": [5, 6, 11, 4]})
    with pytest.raises(InputError) as err:
        know_your_ear(data)
    for part in ("row 2: reed 1-01 is rated twice", "row 3: `rating` is 11", "row 4: `reed` is empty"):
        assert part in str(err.value)
    with pytest.raises(InputError, match="lacks the column `round`"):
        know_your_ear(data.drop(columns="round"))
    with pytest.raises(InputError, match="row 1: `rating` is 'good'"):
        know_your_ear(pd.DataFrame({"reed": ["1-01"], "round": [1], "rating": ["good"]}))


@pytest.mark.parametrize("reeds", [2, 3, 5, 10])
def test_the_order_holds_each_slot_once_a_round_and_never_soon_again(reeds: int) -> None:
    order = ear_order(reeds, 7)
    assert list(order["step"]) == list(range(1, 2 * reeds + 1))
    for _, part in order.groupby("round"):
        assert sorted(part["slot"]) == list(range(1, reeds + 1))
    steps = order.pivot(index="slot", columns="round", values="step")
    assert ((steps[2] - steps[1]) > reeds // 2).all()


def test_the_order_depends_on_the_seed_alone() -> None:
    assert ear_order(8, 1).equals(ear_order(8, 1))
    assert not ear_order(8, 1).equals(ear_order(8, 2))
    with pytest.raises(InputError):
        ear_order(1, 1)
