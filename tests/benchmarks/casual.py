"""How often does a home-made comparison see a difference that is not there, and how often does reedlab?

Run by hand:  python tests/benchmarks/casual.py --players 20000
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta

import numpy as np
from statsmodels.stats.proportion import proportion_confint

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.trial import analyse
from reedlab.errands.why import fair_plan
from reedlab.worlds import Batch, World, batch_trials, simulate, to_frames
from reedlab.worlds.casual import casual_trials


@dataclass(frozen=True)
class FalseAlarms:
    """How often one way of comparing claims a difference where there is none.

    `low`, `high` are the ends of the exact 95 % range of that share (Clopper & Pearson 1934).
    """

    method: str
    players: int
    claims: int
    low: float
    high: float

    @property
    def share(self) -> float:
        """Share of players told of a difference that is not there."""
        return self.claims / self.players

    @classmethod
    def of(cls, method: str, players: int, claims: int) -> FalseAlarms:
        """Count up one way of comparing."""
        low, high = proportion_confint(claims, players, alpha=0.05, method="beta")
        return cls(method, players, claims, float(np.nan_to_num(low)), float(high))


_AT_ONCE = 1000  # players judged together

#: The casual comparison in its plain form first, then kinder and harsher forms of it.
_CASUAL: tuple[tuple[str, dict[str, int | bool]], ...] = (
    ("casual: a fortnight each, one reed at a time", {"reeds": 1}),
    ("casual: the same, with a new reed for the second habit", {"reeds": 1, "new_reeds": True}),
    ("casual: the same, two reeds in turn", {"reeds": 2}),
    ("casual: the same, three reeds in turn", {"reeds": 3}),
    ("casual: three reeds in turn, three new ones for the second habit", {"reeds": 3, "new_reeds": True}),
)


def judge_fairly(batch: Batch) -> list[str]:
    """Return the verdict of each run by way of a logbook, as a player's own trial goes."""
    today = batch.protocol.start + timedelta(days=batch.protocol.days + 1)
    found = (analyse(batch.protocol_of(i), to_frames(batch, i), today=today, side_readings=False).main
             for i in range(len(batch)))
    return [main.verdict or "" if main is not None else "" for main in found]


def false_alarms(players: int, seed: int, *, world: World | None = None,
                 say: Callable[[str], None] | None = None) -> list[FalseAlarms]:
    """Run both ways of comparing on players for whom the habit makes no difference.

    Parameters
    ----------
    players : int
        Simulated players for each way.
    seed : int
        Same seed, same players.
    world : World, optional
        What players and reeds are like; our assumptions by default. Its effects must be none.
    say : callable, optional
        Told what goes on.

    Returns
    -------
    list of FalseAlarms
        The casual comparison in its plain form, kinder and harsher forms of it, and the fair plan.
    """
    world = world or World()
    if (world.effect_points, world.effect_wear, world.effect_life) != (0.0, 0.0, 1.0):
        raise ValueError("`world` has an effect of the habit; a false alarm needs a world without one.")
    out = []
    for method, how in _CASUAL:
        if say:
            say(method)
        claims = casual_trials(world, players, seed, **how).claims()  # type: ignore[arg-type]
        out.append(FalseAlarms.of(method, players, claims))
    if say:
        say("the fair plan")
    plan, claims = fair_plan(seed), 0
    for i, s in enumerate(np.random.SeedSequence([seed, 7]).generate_state(-(-players // _AT_ONCE))):
        batch = simulate(plan, world, min(_AT_ONCE, players - i * _AT_ONCE), int(s), fresh_deals=True)
        claims += int(np.isin(judge_batch(batch_trials(batch)).verdict, ("a_better", "b_better")).sum())
    out.append(FalseAlarms.of("reedlab: four reeds, a fortnight, shuffled day by day", players, claims))
    return out


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--players", type=int, default=20000)
    parser.add_argument("--seed", type=int, default=20260301)
    args = parser.parse_args()
    start = time.perf_counter()
    found = false_alarms(args.players, args.seed, say=lambda what: print(f"... {what}", file=sys.stderr))
    print(f"{args.players} simulated players for whom the habit makes no difference; seed {args.seed}.")
    print("Told of a difference all the same (in brackets: exact 95 % range, Clopper-Pearson):")
    for f in found:
        print(f"  {100 * f.share:5.1f} %  ({100 * f.low:.1f} to {100 * f.high:.1f} %)  {f.method}")
    print(f"{time.perf_counter() - start:.0f} s. The players and reeds are our assumptions.")
    return 0


if __name__ == "__main__":
    sys.exit(main())
