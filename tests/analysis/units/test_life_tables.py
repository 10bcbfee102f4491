"""Descriptive life tables against published results."""

import numpy as np
import pytest

from reedlab.analysis.shuffling.compare import compare
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.analysis.units.life_tables import life_table, log_rank, median_life, restricted_mean
from reedlab.errors import InputError

# Leukaemia remission in weeks, 21 pairs (Freireich 1963, Gehan 1965; R MASS `gehan`); typed from memory,
# confirmed by the published results below. Second column: 0 = still in remission.
PLACEBO = [1, 22, 3, 12, 8, 17, 2, 11, 8, 12, 2, 5, 4, 15, 8, 23, 5, 11, 4, 1, 8]
SIX_MP = [(10, 1), (7, 1), (32, 0), (23, 1), (22, 1), (6, 1), (16, 1), (34, 0), (32, 0), (25, 0), (11, 0),
          (20, 0), (19, 0), (6, 1), (17, 0), (35, 0), (6, 1), (13, 1), (9, 0), (6, 0), (10, 0)]
WEEKS = np.array([t for t, _ in SIX_MP] + PLACEBO, dtype=float)
ENDED = np.array([e for _, e in SIX_MP] + [1] * 21, dtype=bool)
DRUG = np.repeat(["6-MP", "placebo"], 21)
PAIR = np.r_[np.arange(21), np.arange(21)]

# Maintenance in acute leukaemia (Miller 1981; R survival `aml`), typed from memory, confirmed below.
KEPT = [(9, 1), (13, 1), (13, 0), (18, 1), (23, 1), (28, 0), (31, 1), (34, 1), (45, 0), (48, 1), (161, 0)]
NOT_KEPT = [(5, 1), (5, 1), (8, 1), (8, 1), (12, 1), (16, 0), (23, 1), (27, 1), (30, 1), (33, 1), (43, 1), (45, 1)]

# Ovarian cancer, days, by residual disease (none left, some left): R survival `ovarian`, `resid.ds` 1 and 2;
# typed from memory, confirmed below.
NONE_LEFT = [(353, 1), (377, 0), (448, 0), (563, 1), (638, 1), (744, 0), (803, 0), (855, 0), (1106, 0),
             (1129, 0), (1227, 0)]
SOME_LEFT = [(59, 1), (115, 1), (156, 1), (268, 1), (329, 1), (365, 1), (421, 0), (431, 1), (464, 1),
             (475, 1), (477, 0), (769, 0), (770, 0), (1040, 0), (1206, 0)]


def columns(rows):
    """Split (time, event) rows into two columns."""
    t, e = zip(*rows, strict=True)
    return np.array(t, dtype=float), np.array(e, dtype=bool)


def test_leukaemia_log_rank():
    """16.793 for the drug over placebo."""
    assert log_rank(WEEKS, ENDED, DRUG).chi_square == pytest.approx(16.793, abs=5e-4)


def test_leukaemia_medians():
    """23 v 8 weeks (Gehan 1965)."""
    assert median_life(WEEKS[:21], ENDED[:21]) == 23
    assert median_life(WEEKS[21:], ENDED[21:]) == 8


def test_leukaemia_randomisation_agrees():
    """The randomisation tests of this project agree on the side and on the strength."""
    lives = compare_lives(WEEKS, ENDED, DRUG, PAIR)
    assert lives.p_value < .01
    assert lives.high < 1  # placebo over drug
    signs = np.where(np.isin(np.arange(21), np.flatnonzero(WEEKS[:21] > WEEKS[21:])), 1.0, -1.0)
    sign_test = compare(np.r_[signs, np.zeros(21)], DRUG, PAIR)
    # 18 v 3: twice the binomial tail, 2 (1 + 21 + 210 + 1330) / 2^21, by hand
    assert sign_test.p_value == pytest.approx(2 * (1 + 21 + 210 + 1330) / 2**21)


def test_aml():
    """Medians 31 v 23, log-rank 3.40, p 0.0653 (Miller 1981; R survival)."""
    (t1, e1), (t2, e2) = columns(KEPT), columns(NOT_KEPT)
    assert (median_life(t1, e1), median_life(t2, e2)) == (31, 23)
    got = log_rank(np.r_[t1, t2], np.r_[e1, e2], np.repeat(["kept", "not"], [11, 12]))
    assert got.chi_square == pytest.approx(3.40, abs=5e-3)
    assert got.p_value == pytest.approx(.0653, abs=5e-5)


def test_ovarian_restricted_means():
    """To 730 days 666 v 463 (R survival documentation)."""
    for rows, mean in ((NONE_LEFT, 666), (SOME_LEFT, 463)):
        assert restricted_mean(*columns(rows), 730) == pytest.approx(mean, abs=.5)


def test_life_table_by_hand():
    """Four reeds, one still going at 3: 3/4 after 2, then 3/8 after 4, then none."""
    table = life_table([2, 3, 4, 9], [True, False, True, True])
    assert list(table["share"]) == pytest.approx([.75, .375, 0])
    assert list(table["at_risk"]) == [4, 2, 1]
    assert list(table["hours"]) == [2, 4, 9]


def test_median_is_open_when_more_than_half_go_on():
    """More than half still going, or none worn out: nan."""
    assert np.isnan(median_life([5, 6, 7], [True, False, False]))
    assert np.isnan(median_life([5, 6], [False, False]))


def test_median_of_a_flat_half_is_its_middle():
    """Share exactly one half from 4 to 8: 6, as R's survival has it."""
    assert median_life([2, 4, 8, 10], [True] * 4) == 6


def test_restricted_mean_without_events_is_the_limit():
    """Nobody wore out before the limit: the mean is the limit."""
    assert restricted_mean([50, 60], [False, False], 40) == 40


def test_restricted_mean_beyond_the_data_is_refused():
    """The curve cannot be carried past the last unit still going."""
    with pytest.raises(InputError, match="no unit was watched beyond 60"):
        restricted_mean([50, 60], [True, False], 80)
    assert restricted_mean([50, 60], [True, True], 80) == 55


def test_log_rank_without_events_is_nan():
    """Nothing worn out, or nothing while both are there: nan, no error."""
    assert np.isnan(log_rank([5, 6], [False, False], ["a", "b"]).p_value)
    assert np.isnan(log_rank([5, 6], [False, True], ["a", "b"]).chi_square)


def test_log_rank_where_all_end_at_once_is_nan():
    """All worn out at one hour tells nothing apart; one that goes on does."""
    assert np.isnan(log_rank([4, 4, 4, 4], [True] * 4, ["a", "b", "a", "b"]).p_value)
    assert np.isnan(log_rank([3, 4, 4], [False, True, True], ["a", "a", "b"]).p_value)
    assert log_rank([4, 4, 4, 5], [True, True, False, False], ["a", "b", "a", "b"]).chi_square == pytest.approx(0)
