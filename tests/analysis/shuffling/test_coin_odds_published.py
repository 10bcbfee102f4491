"""The odds on the way beside a published implementation of betting on coins, to six digits.

Numbers from the Python package confseq 0.0.11 (the code to Waudby-Smith & Ramdas 2024, JRSS-B 86:1), run once and
written down: `betting.betting_mart(x, 1/2, convex_comb=True, theta=1/2, trunc_scale=1)` with x = 1 where B was ahead,
and as stakes, for and against, 2 tanh(e |gap| / (2 spread)) for gaps of e = 1 and 2 spreads; the mean of the two. The
spread is the root mean square of four blocks of what matters and the blocks so far, the one at hand included. The data
are invented.
"""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.shuffling.coin_odds import CoinOdds

PUBLISHED = {
    "all for B": ([1.0, 0.5, 2.0, 1.5, 1.0, 0.5, 1.0],
                  [1.0, 1.26870184, 2.19089266, 3.92453011, 6.56058991, 9.35162882, 16.1034606]),
    "turn and turn about": ([1.0, -1.0, 0.5, -0.5, 2.0, -2.0],
                            [1.0, 0.566597911, 0.560302903, 0.480610232, 0.460586925, 0.13635559]),
    "a late change": ([-0.5, -1.0, -0.5, 1.5, 2.0, 2.5, 2.0, 1.5],
                      [1.0, 1.27301292, 1.74473138, 0.372834825, 0.2719721, 0.436610109, 0.76210414, 1.26080963]),
    "with ties": ([0.0, 1.0, 0.0, 1.5, -0.5, 0.0, 2.0],
                  [1.0, 1.0, 1.0, 1.57317576, 0.896453821, 0.896453821, 1.62006532]),
    "small gaps": ([0.25, 0.5, 0.25, -0.25, 0.5, 0.25, 0.75, 0.5, 0.25],
                   [1.0, 1.09313306, 1.25395918, 1.00979891, 1.297119, 1.60728623, 2.61661053, 4.05533689, 5.39820482]),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_odds_are_those_of_the_published_bets(name: str) -> None:
    gaps, published = PUBLISHED[name]
    row = np.array(gaps)[None]
    found = CoinOdds(row, np.ones_like(row), np.ones_like(row, dtype=bool), matters=1.0, bar=25.0).path().e_values[0]
    np.testing.assert_allclose(found, published, rtol=1e-6)
