"""What "what next" promises after "can't tell", beside what is kept: simulated players, each with a logbook.

    python -m tests.benchmarks.promises --players 200

A player of some world plays one trial; where it can't tell, `next_plan` says how often the same plan again would find
a gap of what matters, from what stands in that player's logbook. Kept is the share of right answers when the same plan
is really played again by that very world, judged as a repeat. Both are means over players.
"""

from __future__ import annotations

import argparse
from dataclasses import replace

import numpy as np

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.verdicts.repeats import repeat_level
from reedlab.plan.forecast import with_effect
from reedlab.plan.next_plan import next_plan
from reedlab.worlds import batch_trials, simulate, to_frames

from .hostile import cases

#: Case and true gap, in what matters, of the first trial.
PLAYED = ("day_rating", "mean_rating", "wear_rate", "life_hours")


def promised(name: str, players: int, seed: int, *, trials: int = 100) -> tuple[np.ndarray, float]:
    """Return what was promised to each player for the same plan again, and the share of right answers it gave."""
    case = cases()[name]
    plan = case.plan
    batch = simulate(plan, case.world, players, seed, fresh_deals=plan.same_days)
    open_ = judge_batch(batch_trials(batch), samples=4_000).verdict == "cannot_tell"
    told, level = [], plan.level
    for i in np.flatnonzero(open_):
        frames = to_frames(batch, int(i))
        mine = batch.protocol_of(int(i))
        found = next_plan(mine, frames, trials=trials, times=(1.0,))
        level = repeat_level(mine, frames, more=1)
        if found is not None:
            told.append(found.same)
    world = with_effect(case.world, plan.outcome, plan.matters)
    again = simulate(replace(plan, level=level), world, 1000, seed + 1, fresh_deals=plan.same_days)
    kept = judge_batch(batch_trials(again), samples=20_000).verdict == "b_better"
    return np.array(told), float(kept.mean())


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--players", type=int, default=200)
    ask.add_argument("--seed", type=int, default=1)
    args = ask.parse_args()
    for name in PLAYED:
        told, kept = promised(name, args.players, args.seed)
        print(f"{name:14} promised {100 * told.mean():5.1f} (middle half {100 * np.quantile(told, 0.25):.0f} to "
              f"{100 * np.quantile(told, 0.75):.0f}; {told.size} players)   kept {100 * kept:5.1f}", flush=True)


if __name__ == "__main__":
    main()
