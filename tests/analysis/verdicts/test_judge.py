"""The verdict and each reason to hold it back."""

from __future__ import annotations

import numpy as np
import pytest

from reedlab.analysis.verdicts.findings import Reading
from reedlab.analysis.verdicts.judge import final_p, judge_one
from reedlab.analysis.verdicts.scale_use import ScaleUse
from reedlab.trial.result import Finding

FINE = ScaleUse(0.05, 0.0, 8, 40)


class Said:
    """A test of one row that says what it is told to: p, both one-sided p at what matters, and its ranges."""

    def __init__(self, low: float, high: float, p: float, above: float, below: float, ratio: bool) -> None:
        self.low, self.high, self.p, self.above, self.below, self.none = low, high, p, above, below, float(ratio)

    def __len__(self) -> int:
        return 1

    def other_way(self, gap: np.ndarray) -> np.ndarray:
        return 1 / gap if self.none else -gap

    def tails(self, gap: np.ndarray, where: np.ndarray | None = None,
              side: int = 0) -> tuple[np.ndarray, np.ndarray]:
        one = np.ones(1 if where is None else len(where))
        d = np.broadcast_to(gap, one.shape)
        p = np.where(d == self.none, self.p / 2, 1.0)  # a margin inside the range is not ruled out
        upper = np.where(d < self.none, np.where(d >= self.low, 1.0, self.above), p)
        lower = np.where(d > self.none, np.where(d <= self.high, 1.0, self.below), p)
        return upper * one, lower * one

    def sides(self, where: np.ndarray, alpha: np.ndarray, up: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return np.full(len(where), self.low > self.none), np.full(len(where), self.high < self.none)


def reading(low: float, high: float, p: float, above: float = 1.0, below: float = 1.0,
            scale: str = "difference") -> Reading:
    f = Finding(outcome="mean_rating", reading="as_planned", scale=scale, estimate=(low + high) / 2, low=low,
                high=high, low90=low, high90=high, level=0.95, p_value=p, least_p=0.01, exact=True,
                arrangements=200, units=(5, 5), blocks=1)
    test = Said(low, high, p, above, below, scale == "ratio")
    return Reading(f, test, np.ones(10, dtype=bool))  # type: ignore[arg-type]


def verdict(main: Reading, as_done: Reading | None = None, **more) -> tuple[str | None, str | None, str]:
    f, held = judge_one(main, main if as_done is None else as_done,
                        **{"matters": 1.0, "alpha": 0.05, "scale_use": FINE, **more})
    return f.verdict, f.exceeds, held


def test_a_winner_surely_or_perhaps_exceeds_what_matters() -> None:
    assert verdict(reading(1.0, 2.0, 0.01)) == ("b_better", "surely", "")
    assert verdict(reading(0.2, 2.0, 0.01)) == ("b_better", "perhaps", "")
    assert verdict(reading(-2.0, -1.2, 0.01)) == ("a_better", "surely", "")
    assert verdict(reading(-2.0, -0.2, 0.01)) == ("a_better", "perhaps", "")


def test_a_ratio_exceeds_either_way_round() -> None:
    for low, high, want in ((1.6, 3.0, ("b_better", "surely")), (1.1, 3.0, ("b_better", "perhaps")),
                            (0.3, 0.6, ("a_better", "surely")), (0.3, 0.9, ("a_better", "perhaps"))):
        assert verdict(reading(low, high, 0.01, scale="ratio"), matters=1.5, scale_use=None)[:2] == want


def test_a_range_that_ends_exactly_at_no_difference_does_not_exclude_it() -> None:
    assert verdict(reading(0.0, 2.0, 0.05))[0] == "cannot_tell"
    assert verdict(reading(1.0, 2.0, 0.05, scale="ratio"), matters=1.5, scale_use=None)[0] == "cannot_tell"


def test_sameness_wins_over_a_small_sure_gap() -> None:
    assert verdict(reading(0.1, 0.6, 0.01, 0.01, 0.02))[0] == "no_real_difference"


@pytest.mark.parametrize(("more", "why"), [
    ({"scale_use": ScaleUse(0.25, 0.0, 8, 40)}, "ceiling"),
    ({"scale_use": ScaleUse(0.15, 0.10, 8, 40)}, "ceiling"),
    ({"scale_use": ScaleUse(0.0, 0.0, 2, 40)}, "all_alike"),
    ({"as_done": reading(-0.5, 1.4, 0.4, 0.01, 0.2)}, "as_done"),
    ({"early": True}, "early"),
])
def test_sameness_is_held_back(more: dict, why: str) -> None:
    assert verdict(reading(-0.4, 0.5, 0.6, 0.01, 0.02), **more) == ("cannot_tell", None, why)


def test_a_diary_is_only_a_hint_and_a_trial_stopped_before_its_cap_cannot_tell() -> None:
    assert verdict(reading(1.0, 2.0, 1e-6), hint=True)[0] == "hint_only"
    assert verdict(reading(1.0, 2.0, 1e-6), finished=False)[0] == "cannot_tell"


def test_an_early_look_needs_one_in_a_thousand_and_each_costs_as_much() -> None:
    assert verdict(reading(0.2, 2.0, 0.002), early=True, alpha=0.001)[0] == "cannot_tell"
    assert verdict(reading(0.2, 2.0, 0.001), early=True, alpha=0.001)[0] == "b_better"
    assert final_p(0.95, 0) == pytest.approx(0.05)
    assert final_p(0.95, 3) == pytest.approx(0.047)
    assert verdict(reading(0.2, 2.0, 0.0495), alpha=final_p(0.95, 1))[0] == "cannot_tell"


def test_swapping_the_habits_mirrors_the_verdict() -> None:
    rng = np.random.default_rng(1)
    turn = {"a_better": "b_better", "b_better": "a_better"}
    for _ in range(200):
        low, high = sorted(rng.normal(0, 1.5, 2))
        p, above, below = rng.choice([0.01, 0.04, 0.2], 3)
        one = verdict(reading(low, high, p, above, below))
        two = verdict(reading(-high, -low, p, below, above))
        assert two == (turn.get(one[0], one[0]), *one[1:])


def test_the_margin_shrinks_by_the_share_of_ratings_that_could_not_go_further() -> None:
    small = reading(-0.4, 0.85, 0.6, 0.01, 0.02)
    assert verdict(small, scale_use=ScaleUse(0.1, 0.0, 8, 40))[0] == "no_real_difference"
    assert verdict(small, scale_use=ScaleUse(0.1, 0.06, 8, 40)) == ("cannot_tell", None, "ceiling")
    assert verdict(small, scale_use=ScaleUse(0.1, 0.0, 8, 40, 0.0, 0.06)) == ("cannot_tell", None, "ceiling")


def test_the_reading_as_done_meets_the_smaller_margin_too() -> None:
    wider = reading(-0.4, 0.95, 0.6, 0.01, 0.02)
    assert verdict(reading(-0.4, 0.5, 0.6, 0.01, 0.02), wider,
                   scale_use=ScaleUse(0.1, 0.0, 8, 40)) == ("cannot_tell", None, "ceiling")
