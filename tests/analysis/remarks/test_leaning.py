"""The leaning of a rating on the one before: moments against all orders, and what a slow drift does not do."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.remarks.leaning import LEANS_P, _products, leaning_p
from reedlab.analysis.trial import analyse
from reedlab.summary.answer import answer
from reedlab.worlds import World, batch_trials, to_frames
from tests.readability import grade

from ...benchmarks.awkward import Awkward, anchored, play
from .._players import after, squares


def test_mean_and_variance_are_those_of_every_order() -> None:
    rng = np.random.default_rng(2)
    y = np.append(rng.normal(6, 1, 7), np.nan)
    e = y[:7] - np.polyval(np.polyfit(np.arange(7), y[:7], 1), np.arange(7))  # the course by another way
    every = [np.dot(p[1:], p[:-1]) for p in map(np.array, itertools.permutations(e))]
    seen, mean, var = _products(y[None])
    assert seen[0] == pytest.approx(e[1:] @ e[:-1])
    assert mean[0] == pytest.approx(np.mean(every))
    assert var[0] == pytest.approx(np.var(every))


def test_p_is_near_that_of_drawn_orders() -> None:
    rng = np.random.default_rng(3)
    y = rng.normal(6, 1, (4, 24))
    y[:, 1:] += 0.4 * (y[:, :-1] - 6)
    e = []
    flat = y - y.mean(axis=0)
    for row in flat:
        e.append(row - np.polyval(np.polyfit(np.arange(24), row, 2), np.arange(24)))
    seen = sum(float(r[1:] @ r[:-1]) for r in e)
    drawn = np.zeros(20_000)
    for r in e:
        p = rng.permuted(np.broadcast_to(r, (20_000, 24)), axis=1)
        drawn += (p[:, 1:] * p[:, :-1]).sum(axis=1)
    reed, day = np.repeat(np.arange(4), 24), np.tile(np.arange(24), 4)
    assert float(leaning_p(y.ravel(), reed, day)) == pytest.approx((drawn >= seen).mean(), abs=0.02)


def test_days_slow_courses_and_levels_are_no_leaning() -> None:
    rng = np.random.default_rng(5)
    reed, day = np.repeat(np.arange(4), 14), np.tile(np.arange(14), 4)
    y = rng.normal(0, 1, (400, 56))
    more = (3.0 * reed + np.cumsum(rng.normal(0, 2, (400, 14)), axis=1)[:, day]
            + rng.normal(0, 0.2, (400, 4))[:, reed] * day)
    assert leaning_p(y + more, reed, day) == pytest.approx(leaning_p(y, reed, day))
    assert (leaning_p(y, reed, day) <= LEANS_P).mean() <= 0.07


def test_too_few_ratings_or_all_alike_say_nothing() -> None:
    assert float(leaning_p([5.0, 6.0, 7.0, np.nan], [0, 0, 0, 0], [1, 2, 3, 4])) == 1.0
    assert float(leaning_p([6.0] * 12, [0] * 12, range(12))) == 1.0


def test_sameness_of_a_player_who_rates_by_the_last_rating_is_held_back_and_the_page_says_why() -> None:
    plan = squares(28)
    batch = play(plan, World(), 60, 5, Awkward(ratings=anchored(0.6)), gap=1.0)
    trials = batch_trials(batch)
    found = judge_batch(trials)
    assert found.leans.sum() >= 5
    assert (found.verdict[found.leans] != "no_real_difference").all()
    for i in (*np.flatnonzero(found.leans)[:3], *np.flatnonzero(~found.leans)[:3]):
        r = analyse(batch.protocol_of(int(i)), to_frames(batch, int(i)), today=after(plan), side_readings=False)
        assert r.main is not None
        assert r.main.verdict == found.verdict[i]
        why = [x.fact("why") for x in r.remarks if x.code == "same_held_back"]
        assert (why == ["leans"]) == bool(found.leans[i])
        if found.leans[i]:
            assert r.leans is not None
            assert r.leans <= LEANS_P
            text = next(w["text"] for w in answer(r).warnings if w["code"] == "same_held_back")
            assert "the rating before" in text
            assert grade(text) <= 8


def test_sameness_says_what_would_have_hidden_a_gap() -> None:
    plan = squares(28)
    batch = play(plan, World(), 40, 6, Awkward())
    i = int(np.flatnonzero(judge_batch(batch_trials(batch)).verdict == "no_real_difference")[0])
    told = answer(analyse(batch.protocol_of(i), to_frames(batch, i), today=after(plan), side_readings=False))
    said = next(text for title, text in told.sections if "Two things would hide a gap here" in text)
    assert "it would be too small to matter to you" in said
    assert told.to_dict()["leans_p"] > LEANS_P
