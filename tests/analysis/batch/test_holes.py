"""Where the deal happens to follow the first play, a range may have holes: the batch looks at the whole range."""

from __future__ import annotations

import dataclasses

import numpy as np

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.batch.by_unit import batch_values
from reedlab.analysis.shuffling.deals import Deals, used_units
from reedlab.analysis.shuffling.linear import Linear, linear_test
from reedlab.worlds import World, batch_trials, simulate

from ._single import a_plan


def test_trials_whose_first_play_follows_the_deal_are_judged_alike() -> None:
    protocol = a_plan("drying", "mean_rating", boxes=1)
    world = World(effect_points=4.0, noise_sd=0.3, reed_sd=0.4, level=4.0, mood_sd=0.1, taste_sd=0.1)
    batch = simulate(protocol, world, 15, 9, fresh_deals=True)
    place = {r: i for i, r in enumerate(protocol.reeds)}
    reed_of = [place[u.reeds[0]] for u in protocol.units]
    tied = np.empty_like(batch.reeds.first_play)
    noise = np.random.default_rng(2).normal(0, 1.0, tied.shape)
    tied[reed_of] = np.round(5 + 1.5 * batch.dealt_b.T + noise[reed_of], 1)
    batch = dataclasses.replace(batch, reeds=dataclasses.replace(batch.reeds, first_play=np.clip(tied, 0, 10)))

    trials = batch_trials(batch)
    values = batch_values(trials)
    block = [u.block for u in protocol.units]
    used = used_units(values.present, trials.dealt_b, block)
    rows = np.flatnonzero(used.any(axis=1))
    effect = values.effect(np.where(trials.unit >= 0, trials.dealt_b[:, trials.unit], 0.0))
    test = Linear(values.values[rows], effect[rows], Deals(trials.dealt_b, used, block), rows)
    verdict = judge_batch(trials, hold=False).verdict[rows]
    odd = np.flatnonzero(~test.monotone() & np.isin(verdict, ["a_better", "b_better"]))
    assert odd.size
    for i in np.flatnonzero(~test.monotone()):
        row, mine = rows[i], used[rows[i]]
        one = linear_test(values.values[row, mine], effect[row, mine], trials.dealt_b[row, mine],
                          np.array(block)[mine])
        assert (verdict[i] == "b_better", verdict[i] == "a_better") == (one.low > 0, one.high < 0)
