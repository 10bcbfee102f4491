"""Playing hours until worn out: the rule, censoring, the cap, good hours, and lives read as done."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.in_full import InFull
from reedlab.analysis.shuffling.life_ratios import LifeRatios
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.analysis.units.blind import blind
from reedlab.analysis.units.life_values import life_values, rule_index

from .._players import by_reed, frames, on


def _played(reed: str, ratings, minutes: float = 60.0, **more):
    return [{"date": on(i + 1), "reed": reed, "play_min": minutes, "overall": y, **more}
            for i, y in enumerate(ratings)]


def _lives(ratings_by_place, retired=(), **more):
    p = by_reed((len(ratings_by_place),), outcome="life_hours", days=40, slots=False, **more)
    rows = [r for reed, ys in zip(p.reeds, ratings_by_place, strict=True) for r in _played(reed, ys)]
    gone = [{"reed": p.reeds[i], "date": on(d), "reason": why} for i, d, why in retired]
    return blind(p, frames(p, rows, retirements=gone))


def test_the_rule_wants_the_marks_running_and_unrated_sittings_neither_count_nor_break() -> None:
    nan = np.nan
    ratings = [[5, 3, 5, 3, 3], [3, nan, 3, 9, 9], [4, 4, 4, 4, 4], [3, nan, nan, nan, nan]]
    assert rule_index(ratings, 4.0, 2).tolist() == [4, 2, -1, -1]
    assert rule_index(ratings, 4.0, 1).tolist() == [1, 0, -1, 0]


def test_worn_out_is_the_event_at_the_hour_the_rule_was_met() -> None:
    v = life_values(_lives([[8, 7, 3, 3, 3], [8, 8, 8, 8]]), "life_hours")
    assert v.hours.tolist() == [4.0, 4.0]
    assert v.worn_out.tolist() == [True, False]
    assert v.ended == ("worn_out", "still_going")
    assert v.unmarked == ("1-01",)


@pytest.mark.parametrize("reason", ["damaged", "mouldy", "lost", "given_away", "by_choice"])
def test_every_other_way_out_is_censored_at_the_hours_played(reason: str) -> None:
    v = life_values(_lives([[8, 7, 7], [8, 8]], retired=[(0, 3, reason)]), "life_hours")
    assert v.worn_out.tolist() == [False, False]
    assert v.hours.tolist() == [3.0, 2.0]
    assert v.ended[0] == reason
    assert v.damaged[0] == (reason == "damaged")
    assert v.done.tolist() == [True, False]


def test_retired_as_worn_out_before_the_rule_is_by_choice() -> None:
    v = life_values(_lives([[8, 7, 5], [8, 8]], retired=[(0, 3, "worn_out")]), "life_hours")
    assert (v.worn_out[0], v.ended[0], v.by_choice) == (False, "by_choice", ("1-01",))


def test_under_the_players_rule_the_players_word_is_the_event() -> None:
    v = life_values(_lives([[3, 3, 3], [8, 8]], retired=[(0, 3, "worn_out")], worn_out_rule="player"), "life_hours")
    assert v.worn_out.tolist() == [True, False]
    assert v.hours[0] == 3.0


def test_the_cap_cuts_both_habits_at_the_same_hour() -> None:
    v = life_values(_lives([[8, 8, 8, 8, 3, 3], [8, 3, 3]], cap_hours=4.0), "life_hours")
    assert v.hours.tolist() == [4.0, 3.0]
    assert v.worn_out.tolist() == [False, True]
    assert v.done.tolist() == [True, True]


def test_good_hours_end_at_the_higher_mark() -> None:
    v = life_values(_lives([[8, 5, 5, 5, 3, 3], [8, 8]]), "good_hours")
    assert v.hours.tolist() == [3.0, 2.0]
    assert v.worn_out.tolist() == [True, False]


def test_ratings_in_a_rehearsal_count_for_the_rule() -> None:
    p = by_reed((2,), outcome="life_hours", slots=False)
    rows = _played(p.reeds[0], [8, 3, 3], where="rehearsal") + _played(p.reeds[1], [8])
    assert life_values(blind(p, frames(p, rows)), "life_hours").worn_out.tolist() == [True, False]


def _slow_as_done(hours, worn, share, is_b, ratio):
    """Score the scaled lives one by one and count every arrangement of one block."""
    t = [h / ratio**s for h, s in zip(hours, share, strict=True)]
    def score(i):
        total = float(worn[i])
        for e in sorted({t[j] for j in range(len(t)) if worn[j]}):
            if e <= t[i] * (1 + 1e-12):
                deaths = sum(1 for j in range(len(t)) if worn[j] and abs(t[j] - e) <= 1e-12 * e)
                total -= deaths / sum(1 for x in t if x >= e * (1 - 1e-12))
        return total
    s = [score(i) for i in range(len(t))]
    seen = sum(x for x, b in zip(s, is_b, strict=True) if b)
    every = [sum(s[i] for i in c) for c in itertools.combinations(range(len(t)), int(sum(is_b)))]
    n = len(every)
    return min(1.0, 2 * min(sum(x <= seen + 1e-9 for x in every), sum(x >= seen - 1e-9 for x in every)) / n)


def as_done(hours: np.ndarray, worn: np.ndarray, share: np.ndarray, is_b: np.ndarray, block: np.ndarray,
            level: float) -> InFull:
    return LifeRatios(hours[None], worn[None], Deals.whole(is_b, block), share=share[None]).in_full(
        0, level=level, margin=1.5)


def test_lives_read_as_done_equal_a_slow_reckoning_by_hand() -> None:
    rng = np.random.default_rng(5)
    for _ in range(12):
        n = 6
        hours, worn = rng.integers(2, 12, n).astype(float), rng.random(n) < 0.7
        is_b = np.array([0, 1, 0, 1, 0, 1], dtype=bool)
        share = np.where(is_b, rng.choice([0.5, 0.8, 1.0], n), rng.choice([0.0, 0.25], n))
        got = as_done(hours, worn, share, is_b, np.zeros(n, dtype=int), 0.8)
        assert got.p_value == pytest.approx(_slow_as_done(hours, worn, share, is_b, 1.0))
        for ratio in np.exp(rng.uniform(-1.5, 1.5, 12)):
            if _slow_as_done(hours, worn, share, is_b, ratio) > 0.2 + 1e-9:
                assert got.low * (1 - 1e-9) <= ratio <= got.high * (1 + 1e-9)


def test_lives_read_as_done_with_everything_as_dealt_are_the_plain_comparison() -> None:
    rng = np.random.default_rng(6)
    hours, worn = rng.weibull(2, 10) * 15, rng.random(10) < 0.7
    is_b = np.arange(10) % 2 == 1
    block = np.repeat(["x", "y"], 5)[rng.permutation(10)]
    c = compare_lives(hours, worn, is_b.astype(int), block, matters=1.5)
    d = as_done(hours, worn, is_b.astype(float), is_b, block, 0.95)
    for name in ("p_value", "low", "high", "low90", "high90", "estimate", "p_above", "p_below"):
        assert getattr(d, name) == pytest.approx(getattr(c, name), nan_ok=True), name


def test_lives_read_as_done_without_a_worn_out_reed_have_a_p_of_one() -> None:
    is_b = np.array([True, False, True, False])
    none, block = np.zeros(4, dtype=bool), np.zeros(4, dtype=int)
    assert as_done(np.array([3.0, 4, 5, 6]), none, is_b.astype(float), is_b, block, 0.95).p_value == 1.0
