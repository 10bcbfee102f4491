"""The sizes of a gap and the Bayes factor against pingouin, which reckons the integral by quadrature."""

from __future__ import annotations

import numpy as np
import pingouin
import pytest

from reedlab.analysis.effect_sizes import bayes_factor, hedges_g


@pytest.mark.parametrize("seed", range(8))
def test_sizes_are_those_of_pingouin(seed: int) -> None:
    """Pairs and two groups of random sizes."""
    rng = np.random.default_rng(seed)
    n, m = (int(k) for k in rng.integers(3, 20, 2))
    a, b = rng.normal(6, 1.5, n), rng.normal(7, 1, m)
    assert hedges_g(a, b, paired=False) == pytest.approx(pingouin.compute_effsize(b, a, eftype="hedges"), rel=1e-9)
    pair = rng.normal(6, 1, n)
    assert hedges_g(a, pair, paired=True) == pytest.approx(
        pingouin.compute_effsize(pair, a, paired=True, eftype="hedges"), rel=1e-9)
    for t in (0.0, 0.7, -2.3, 8.0, 40.0):
        for paired, pairs, freedom in ((True, n, n - 1), (False, n * m / (n + m), n + m - 2)):
            wanted = float(pingouin.bayesfactor_ttest(t, n, n if paired else m, paired=paired))
            assert bayes_factor(t, pairs, freedom) == pytest.approx(wanted, rel=1e-6), (t, paired)

