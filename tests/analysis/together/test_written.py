"""What goes with a trial into a combined answer: how far its lives were watched, and how it was written down."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.together.combine import combine
from reedlab.analysis.together.parts import Part, read_part
from reedlab.analysis.trial import analyse
from reedlab.summary.together import together_answer

from .._players import after, by_reed, frames, rated, squares
from .test_combine import PLAN, deals, life_part, life_scores_by_hand, part

LIVES = [life_part("P01", [15, 6, 6, 15, 14, 15, 14, 15, 15, 4], [0, 1, 1, 0, 1, 0, 1, 1, 0, 1],
                   [1, 0, 0, 0, 1, 1, 0, 1, 1, 0], [0] * 10),
         life_part("P02", [18, 4, 9, 8, 8, 8], [1] * 6, [1, 0, 1, 1, 0, 0], [0] * 6)]


def watched_p_by_hand(parts: Sequence[Part], ratio: float) -> float:
    """Each life, with B's divided by the ratio, read up to the hour to which either way could have been seen."""
    scores = []
    for p in parts:
        assert p.watched is not None
        t, end = p.hours / np.where(p.is_b, ratio, 1.0), p.watched / max(ratio, 1.0)
        scores.append(life_scores_by_hand(np.minimum(t, end), p.worn_out & (t <= end + 1e-9)))
    seen = sum(float(s[p.is_b].sum()) for s, p in zip(scores, parts, strict=True))
    every = np.array([sum(float(s[x].sum()) for s, x in zip(scores, way, strict=True))
                      for way in itertools.product(*(deals(p) for p in parts))])
    return min(1.0, 2 * min((every >= seen - 1e-9).mean(), (every <= seen + 1e-9).mean()))


def test_lives_watched_to_a_common_end_are_read_up_to_it_within_their_trial() -> None:
    watched = [replace(p, watched=np.full(len(p.hours), end)) for p, end in zip(LIVES, (15.0, 25.0), strict=True)]
    found, plain = combine(watched).main, combine(LIVES).main
    assert found.p_value == plain.p_value  # at no difference nothing is cut off
    assert (found.low, found.high) != (plain.low, plain.high)
    kept = [float(r) for r in np.geomspace(0.5, 5, 80) if watched_p_by_hand(watched, float(r)) > 0.05 + 1e-12]
    assert found.low <= min(kept) <= found.low * 1.04
    assert max(kept) <= found.high <= max(kept) * 1.04


def test_one_trial_of_lives_in_a_logbook_is_read_among_others_as_by_itself() -> None:
    ends = {"mouth": (10, 14, 21, 99, 12), "water": (16, 23, 19, 99, 99)}
    plans = [by_reed((10,), outcome="life_hours", days=30, seed=s, trial=f"P0{s}") for s in (1, 2)]
    parts, alone = [], []
    for p in plans:
        of = dict(zip(p.reeds, p.dealt, strict=True))
        last = {r: ends[of[r]][[q for q in p.reeds if of[q] == of[r]].index(r)] for r in p.reeds}
        last = {r: d + p.seed for r, d in last.items()}
        book = frames(p, rated(p, lambda r, d, h, last=last: 2.0 if d >= last[r] else 7.0))
        parts.append(read_part(p.trial, p.trial, p, book, today=after(p)))
        alone.append(analyse(p, book, today=after(p), side_readings=False).main)
    assert parts[0].watched is not None
    found = combine(parts)
    for c, a in zip(found.parts, alone, strict=True):
        assert a is not None
        assert (c.estimate, c.low, c.high) == pytest.approx((a.estimate, a.low, a.high))


def test_ratings_missing_with_one_way_in_each_trial_hold_the_combined_winner_back() -> None:
    plans = [squares(8, seed=s, trial=f"P0{s}") for s in (1, 2, 3)]
    noise = np.random.default_rng(1)

    def book(p: Any, lose: bool) -> Any:
        rows = rated(p, lambda r, d, h: 6 + 1.0 * (h == "water") + float(noise.normal(0, 1.2)))
        thin = [i for i, r in enumerate(rows) if r["habit"] == "water"][:9:2]
        return frames(p, [r if i not in thin or not lose else {**r, "overall": None} for i, r in enumerate(rows)])

    even, uneven = ([read_part(p.trial, p.trial, p, book(p, lose), today=after(p)) for p in plans]
                    for lose in (False, True))
    assert combine(even).main.verdict == "b_better"
    found = combine(uneven)
    assert (found.main.verdict, found.held) == ("cannot_tell", "missing")
    assert found.main.p_value < 0.05
    missing = next(u for u in found.uneven if u.kind == "missing")
    assert (missing.count, missing.held) == ((0, 15), True)
    text = next(w["text"] for w in together_answer(found).warnings if w["code"] == "uneven")
    assert text.startswith("Missing: 15 of 48 ratings with wetting in water, and 0 of 48 with wetting in the mouth.")
    assert "So none is given." in str(together_answer(found))
    alone = analyse(plans[0], book(plans[0], True), today=after(plans[0])).uneven
    assert not any(u.held for u in alone)


def test_ratings_that_lean_on_the_one_before_over_all_trials_keep_back_sameness() -> None:
    quiet = [part(f"P{k}", np.tile([5.0, 5.1, 6.1, 6.0], 4), [0, 1] * 8, np.repeat(np.arange(8), 2),
                  plan=replace(PLAN, seed=k)) for k in (1, 2)]
    assert combine([replace(p, leans=(4.0, 6.0)) for p in quiet]).held == "leans"  # z = 8 / sqrt(12): p 0.01
    one = combine([replace(quiet[0], leans=(4.0, 6.0)), replace(quiet[1], leans=(-1.0, 6.0))])
    assert one.main.verdict == "no_real_difference"  # z = 3 / sqrt(12): p 0.19
