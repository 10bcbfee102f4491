"""Missing, from memory and given up, compared by habit: counts, p against plain enumeration, and what is held back."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.remarks.fairness import worth_telling
from reedlab.analysis.shuffling.deals import Deals
from reedlab.analysis.shuffling.linear import Linear, linear_test
from reedlab.analysis.trial import analyse
from reedlab.analysis.units.left_out import Counted
from reedlab.analysis.verdicts.held_back import Bars, compared, depth, held_back, p_made
from reedlab.analysis.verdicts.judge import still_stand
from reedlab.summary.answer import answer
from reedlab.worlds import World, batch_trials, to_frames
from tests.readability import grade

from ...benchmarks.awkward import Awkward, play, unwritten
from .._players import A, B, after, by_reed, frames, on, rated, squares


def test_p_agrees_with_every_deal_written_out() -> None:
    rng = np.random.default_rng(4)
    block = np.repeat([0, 1, 2], 4)
    for _ in range(20):
        of = rng.integers(1, 6, 12)
        count = rng.binomial(of, 0.4)
        is_b = np.concatenate([rng.permutation([True, True, False, False]) for _ in range(3)])
        share = count / of
        sums = [sum(share[4 * b + i] for b, pair in enumerate(pairs) for i in pair)
                for pairs in itertools.product(itertools.combinations(range(4), 2), repeat=3)]
        seen = share[is_b].sum()
        more_b = np.mean([s >= seen - 1e-9 for s in sums])
        more_a = np.mean([s <= seen + 1e-9 for s in sums])
        found = compared(Counted("missing", count, of), is_b, list(block))
        if not count.any():
            more_a = more_b = 1.0
        assert found.p_more == pytest.approx((more_a, more_b))
        assert found.p_value == pytest.approx(min(1.0, 2 * min(more_a, more_b)))
        assert found.count == (count[~is_b].sum(), count[is_b].sum())
        assert found.of == (of[~is_b].sum(), of[is_b].sum())


def test_low_ratings_lie_below_the_mean_by_the_lowest_twentieth() -> None:
    y = np.array([[2.0, 4.0, 6.0, 8.0, np.nan], [5.0, 5.0, 5.0, 5.0, 5.0], [np.nan] * 5])
    assert depth(y) == pytest.approx([5.0 - 2.3, 0.0, 0.0])  # 2 + 0.15 * (4 - 2)
    assert float(depth(y[0])) == pytest.approx(2.7)


def test_the_gap_moves_against_the_way_with_more_missing() -> None:
    """B has 0.25 more missing, two points low: half a point off the gap, counted anew with that taken away."""
    rng = np.random.default_rng(3)
    is_b = np.tile([False, True], 7)
    block = np.repeat(np.arange(7), 2)
    for gap in (0.3, 0.6, 1.2):
        y = rng.normal(0, 0.3, 14) + gap * is_b
        test = Linear(y[None], is_b[None].astype(float), Deals.whole(is_b, block))
        for verdict in ("b_better", "a_better", "no_real_difference"):
            got = still_stand(test, np.array([verdict]), np.array([0.5]), np.array([0]), alpha=0.05, matters=1.0,
                              same_p=0.05)
            t = linear_test(y - 0.5 * is_b, is_b.astype(float), is_b, block, margin=1.0)
            want = {"b_better": t.low > 0, "a_better": t.high < 0,
                    "no_real_difference": max(t.p_above, t.p_below) <= 0.05}
            assert got[0] == want[verdict]


@pytest.mark.parametrize(("verdict", "p_more", "falls", "held"), [
    ("b_better", (1.0, 0.1), True, True),
    ("b_better", (1.0, 0.1), False, False),
    ("b_better", (1.0, 0.11), True, False),
    ("b_better", (0.001, 1.0), True, False),  # the loser's way has more missing
    ("a_better", (0.001, 1.0), True, True),
    ("no_real_difference", (0.05, 1.0), True, True),
    ("no_real_difference", (0.06, 1.0), True, False),  # it could be either way: two-sided
])
def test_a_claim_is_held_back_only_for_what_could_have_made_it(verdict: str, p_more: tuple, falls: bool,
                                                               held: bool) -> None:
    p = p_made(np.array([verdict]), np.array(p_more[:1]), np.array(p_more[1:]))
    assert Bars(1 / 10, 1 / 32, -1.0).holds(p, [7 / 40], [falls]) == [held]


def test_only_claims_are_held_back_and_never_for_what_came_from_memory() -> None:
    is_b = np.tile([False, True], 10)
    more = Counted("missing", 5 * is_b.astype(np.int64), np.full(20, 6))
    said = np.array(["b_better", "a_better", "no_real_difference", "cannot_tell", "hint_only"])
    deals, block = np.tile(is_b, (5, 1)), [0] * 20
    many = Counted("missing", np.tile(more.count, (5, 1)), np.tile(more.of, (5, 1)))
    bars = Bars(1 / 10, 1 / 10, -1.0)

    def falls(apart: np.ndarray, which: np.ndarray) -> np.ndarray:
        assert apart == pytest.approx([5 / 6] * len(which))
        return np.ones(len(which), dtype=bool)

    assert held_back(said, [many], deals, block, bars, falls).tolist() == ["missing", "", "missing", "", ""]
    assert held_back(said, [replace(many, kind="memory")], deals, block, bars, falls).tolist() == [""] * 5
    assert held_back(said[:1], [more], is_b[None], block, bars, falls).tolist() == ["missing"]
    gone = Counted("given_up", is_b.astype(np.int64), np.ones(20))
    assert held_back(said[:2].copy(), [replace(gone, count=np.tile(gone.count, (2, 1)), of=np.ones((2, 20)))],
                     deals[:2], block, bars, falls).tolist() == ["given_up", ""]


def test_where_many_are_missing_with_both_ways_the_bar_is_lower() -> None:
    bars = Bars(1 / 16, 1 / 32, 0.01)
    assert bars.holds([0.06, 0.06, 0.03, 0.01], [0.2, 0.3, 0.3, 0.3], [True, True, True, False]).tolist() == [
        True, False, True, True]


def test_bad_ratings_left_out_with_one_way_name_no_winner_and_the_page_says_why() -> None:
    plan = squares(14)
    batch = play(plan, World(), 100, 5, Awkward(writing=unwritten(6.5, 1.0)))  # no true difference
    plain = judge_batch(batch_trials(batch), hold=False).verdict
    i = int(np.flatnonzero((plain == "b_better") & judge_batch(batch_trials(batch)).uneven)[0])
    r = analyse(batch.protocol_of(i), to_frames(batch, i), today=after(plan))
    assert r.main is not None
    assert r.main.verdict == "cannot_tell"
    assert r.main.p_value <= 0.05
    missing = next(u for u in r.uneven if u.kind == "missing")
    assert missing.held
    assert missing.count[0] < missing.count[1]
    said = next(x for x in r.remarks if x.code == "uneven")
    assert said.fact("held") == 1
    told = answer(r)
    text = next(w["text"] for w in told.warnings if w["code"] == "uneven")
    assert f"{missing.count[1]} of {missing.of[1]}" in text
    assert B.name in text
    assert "no answer is given" in text
    assert text in told.summary
    assert grade(text) <= 8
    assert "write each rating down at once" in told.summary
    assert told.to_dict()["uneven"][0] == {"kind": "missing", "count": list(missing.count), "of": list(missing.of),
                                           "p_value": missing.p_value, "held": True}


def test_ratings_from_memory_with_one_way_are_told_and_hold_nothing_back() -> None:
    p = squares(14)
    rows = rated(p, lambda reed, day, habit: 8.0 - 2 * (habit == A.key) + 0.5 * (day % 3))
    for row in rows:
        row["from_memory"] = row["habit"] == B.key and row["date"] < on(16)
    r = analyse(p, frames(p, rows), today=after(p))
    assert r.main is not None
    assert r.main.verdict == "b_better"
    said = next(x for x in r.remarks if x.code == "uneven")
    assert (said.fact("kind"), said.fact("held")) == ("memory", 0)
    assert said.fact("count_b") == 15


def test_reeds_given_up_by_choice_with_one_way_hold_a_life_back() -> None:
    p = by_reed((10, 10), outcome="life_hours", days=60)
    arm = {u.unit: k for u, k in zip(p.units, p.dealt, strict=True)}
    rows = [r for r in rated(p, lambda reed, day, habit: 2.0 if day > 40 else 7.0)
            if arm[r["reed"]] == A.key or r["date"] <= on(36)]
    gone = [{"reed": r, "date": on(37), "reason": "by_choice"} for r in p.reeds if arm[r] == B.key]
    kept = [{"reed": r, "date": on(37), "reason": "lost"} for r in p.reeds if arm[r] == B.key]
    left = analyse(p, frames(p, rows, retirements=gone), today=after(p))
    lost = analyse(p, frames(p, rows, retirements=kept), today=after(p))
    assert next(u for u in left.uneven if u.kind == "given_up").count == (0, 10)
    assert next(u for u in lost.uneven if u.kind == "given_up").count == (0, 0)
    assert worth_telling(next(u for u in left.uneven if u.kind == "given_up"))


def test_nothing_is_compared_while_the_trial_runs() -> None:
    p = squares(14)
    r = analyse(p, frames(p, rated(p, lambda *_: 7.0)[:30]), today=on(10))
    assert r.uneven == ()
    assert answer(r).to_dict()["uneven"] == []
