"""The usual tests that reedlab is measured against give what SciPy and statsmodels give, trial by trial."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from statsmodels.duration.hazard_regression import PHReg
from statsmodels.duration.survfunc import survdiff

from .rivals import log_rank, paired, recalibrated, stratified_cox


def test_pairs_get_scipys_paired_t_and_sign_flip_p() -> None:
    rng = np.random.default_rng(1)
    values = rng.normal(size=(6, 14))
    is_b = np.tile([False, True], (6, 7))
    values[2, 3] = np.nan
    flip, t = paired(values, is_b, [str(i // 2) for i in range(14)])
    for i in range(6):
        a, b = values[i, ::2], values[i, 1::2]
        keep = np.isfinite(a + b)
        assert t[i] == pytest.approx(stats.ttest_rel(b[keep], a[keep]).statistic)
        p = stats.permutation_test((b[keep], a[keep]), lambda x, y: (x - y).mean(), permutation_type="samples",
                                   n_resamples=np.inf).pvalue
        assert 1.001 - abs(flip[i]) == pytest.approx(p, abs=1e-4)
        assert np.sign(flip[i]) == np.sign(t[i])


def test_lives_get_statsmodels_log_rank_and_stratified_cox() -> None:
    rng = np.random.default_rng(2)
    hours = rng.exponential(size=(5, 24)) + 0.1
    worn = rng.random((5, 24)) < 0.7
    is_b = np.tile([False, True], (5, 12))
    stratum = np.repeat([0, 1, 2], 8)
    used = np.ones((5, 24), dtype=bool)
    z, cox = log_rank(hours, worn, is_b, used), stratified_cox(hours, worn, is_b, used, stratum)
    for i in range(5):
        assert z[i] ** 2 == pytest.approx(survdiff(hours[i], worn[i], is_b[i])[0])
        model = PHReg(hours[i], is_b[i].astype(float)[:, None], status=worn[i], strata=stratum, ties="breslow")
        fit = model.fit()
        assert cox[i] ** 2 == pytest.approx(2 * (fit.llf - model.loglike(np.zeros(1))), abs=1e-6)
        assert np.sign(cox[i]) == -np.sign(fit.params[0])


def test_recalibration_claims_as_often_as_asked() -> None:
    null = np.random.default_rng(3).normal(size=40_000)
    chance, error = recalibrated(null + 1.96, null, 0.05)
    assert chance == pytest.approx(0.5, abs=0.02)
    assert 0 < error < 0.02
