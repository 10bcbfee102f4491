"""Trial after trial of one question by one player: how often a false winner is ever named, over up to eight.

    python -m tests.benchmarks.in_a_row --sequences 2000

The player goes on after every "can't tell", reads each trial by itself and puts all so far together. Counted is the
share of players to whom any of these readings ever names a winner though the habit makes no difference; first with
every reading judged as if it were the only one, then as reedlab judges them. With a gap of what matters: how many
have the right winner by the second, fourth and eighth trial, and how many were ever told "no difference that matters",
which is false there. Trials and their outcomes are those of the batch path.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass, fields

import numpy as np
from scipy.stats import norm

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.batch.by_unit import batch_values
from reedlab.analysis.shuffling.deals import used_units
from reedlab.analysis.shuffling.verdict import SAMENESS_P
from reedlab.analysis.verdicts.judge import repeat_p, sameness_p
from reedlab.plan.forecast import with_effect
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, batch_trials, simulate

from .hostile import WORLDS, cases

MOST = 8
#: Cases of the calibration, and what else may be wrong with the world.
PLAYED = (("day_rating", "as assumed"), ("mean_rating", "as assumed"))
_DRAWS = 4000
_AT_ONCE = 200


@dataclass(frozen=True)
class Rows:
    """Readings of so many sequences: p and side of each trial by itself, and of the first two, three ... together.

    All are (sequences, MOST); sides are +1 where B was ahead. `verdict` is what each trial would say by itself; `alike`
    the larger one-sided p at the two margins of each (1 where a reason held sameness back), `both_alike` together.
    """

    own: np.ndarray
    own_side: np.ndarray
    both: np.ndarray
    both_side: np.ndarray
    alike: np.ndarray
    both_alike: np.ndarray
    verdict: np.ndarray


def play(plan: Protocol, world: World, sequences: int, seed: int) -> Rows:
    """Simulate sequences of trials of one plan and read them."""
    if sequences > _AT_ONCE:
        parts = [play(plan, world, min(_AT_ONCE, sequences - i), seed + i) for i in range(0, sequences, _AT_ONCE)]
        return Rows(**{f.name: np.concatenate([getattr(p, f.name) for p in parts]) for f in fields(Rows)})
    trials = batch_trials(simulate(plan, world, sequences * MOST, seed, fresh_deals=True))
    judged = judge_batch(trials, full=True)
    block = [u.block for u in plan.units]
    values = batch_values(trials)
    used = used_units(values.present, trials.dealt_b, block)
    codes = np.unique(block, return_inverse=True)[1]
    is_b = trials.dealt_b & used
    turn = values.effect(np.where(trials.unit >= 0, trials.dealt_b[:, trials.unit], 0.0))
    shape = (sequences, MOST)

    # of the values and of what d takes from them, both from each set's mean: sums over B then compare within sets
    parts = np.stack([np.where(used, x, 0.0) for x in (values.values, turn)], axis=-1)  # (trials, units, 2)
    for c in np.unique(codes):
        m = codes == c
        mean = parts[:, m].sum(axis=1) / np.maximum(1, used[:, m].sum(axis=1))[:, None]
        parts[:, m] -= used[:, m, None] * mean[:, None]
    rng = np.random.default_rng(seed + 1)
    dealt = np.stack([_draw(codes, is_b[i], used[i], rng) @ parts[i] for i in range(len(parts))])  # (trials, draws, 2)
    dealt = dealt.reshape(*shape, _DRAWS, 2).cumsum(axis=1)
    tops = (parts * is_b[:, :, None]).sum(axis=1).reshape(*shape, 2).cumsum(axis=1)

    def together(d: float) -> tuple[np.ndarray, np.ndarray]:
        """Both tails of the first one, two, ... trials, d taken from B."""
        drawn, top = dealt[..., 0] - d * dealt[..., 1], tops[..., 0] - d * tops[..., 1]
        return _tail(drawn, top), _tail(-drawn, -top)

    up, down = together(0.0)
    within = (judged.p_above <= SAMENESS_P) & (judged.p_below <= SAMENESS_P)
    held = (within & (judged.verdict != "no_real_difference")).reshape(shape)
    return Rows(own=judged.p_value.reshape(shape), own_side=np.sign(judged.estimate).reshape(shape),
                both=np.minimum(1, 2 * np.minimum(up, down)), both_side=np.where(up < down, 1, -1),
                alike=np.where(held, 1.0, np.maximum(judged.p_above, judged.p_below).reshape(shape)),
                both_alike=np.maximum(together(-plan.matters)[0], together(plan.matters)[1]),
                verdict=judged.verdict.reshape(shape))


def _tail(drawn: np.ndarray, top: np.ndarray) -> np.ndarray:
    """Return the share of deals at least as far up; by the normal tail where fewer than ten are."""
    count = (drawn >= top[:, :, None] - 1e-9).sum(axis=2)
    spread = np.maximum(drawn.std(axis=2), 1e-12)
    return np.where(count >= 10, (count + 1) / (_DRAWS + 1), norm.sf(top / spread))


def _draw(codes: np.ndarray, is_b: np.ndarray, used: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Return deals of one trial, (draws, units)."""
    out = np.zeros((_DRAWS, len(codes)), dtype=bool)
    for c in np.unique(codes):
        m = np.flatnonzero((codes == c) & used)
        if m.size:
            turn, k = rng.random((_DRAWS, m.size)), is_b[m].sum()
            if m.size == 2 and k == 1:  # as below, sooner
                out[:, m[0]] = turn[:, 0] < turn[:, 1]
                out[:, m[1]] = ~out[:, m[0]]
            else:
                out[:, m] = np.argsort(turn, axis=1) < k
    return out


def ever(rows: Rows, needed: np.ndarray, *, own: bool, together: bool, side: int = 0) -> np.ndarray:
    """Say for each sequence and trial whether a winner was named by then, (sequences, MOST); `side` 0: any.

    `needed` (MOST,) is the p that the reading after so many trials needs. The first trial speaks by its own verdict,
    which may be sameness: the sequence ends with it.
    """
    first = np.isin(rows.verdict[:, 0], ("a_better", "b_better"))
    named = np.zeros(rows.own.shape, dtype=bool)
    named[:, 0] = first & ((side == 0) | (rows.own_side[:, 0] == side))
    over = rows.verdict[:, 0] != "cannot_tell"
    for n in range(1, MOST):
        for use, p, s in ((own, rows.own, rows.own_side), (together, rows.both, rows.both_side)):
            hit = use & ~over & (p[:, n] <= needed[n] + 1e-12)
            named[:, n] |= hit & ((side == 0) | (s[:, n] == side))
            over = over | hit
    return np.logical_or.accumulate(named, axis=1)


def ever_alike(rows: Rows, needed: np.ndarray, alike: np.ndarray) -> np.ndarray:
    """Say for each sequence and trial whether the two were called alike by then, by one trial or all together.

    `needed` (MOST,) is the p of a winner, with which a sequence ends too; `alike` (MOST,) that of each one-sided test.
    """
    named = np.zeros(rows.own.shape, dtype=bool)
    over = np.zeros(len(rows.own), dtype=bool)
    for n in range(MOST):
        same = rows.alike[:, n] <= alike[n] + 1e-12
        won = rows.own[:, n] <= needed[n] + 1e-12
        if n:
            same |= ~won & (rows.both_alike[:, n] <= alike[n] + 1e-12)
            won |= rows.both[:, n] <= needed[n] + 1e-12
        named[:, n] = same & ~over
        over |= same | won
    return np.logical_or.accumulate(named, axis=1)


def report(sequences: int, seed: int) -> list[str]:
    """Return the lines of the table."""
    lines = []
    alone, mended = np.full(MOST, 0.05), np.array([repeat_p(0.95, n) for n in range(MOST)])
    for case_name, world_name in PLAYED:
        case = cases()[case_name]
        world, plans = case.in_world(world_name, WORLDS)
        for gap in (0.0, plans[0].matters):
            rows = play(plans[0], with_effect(world, plans[0].outcome, gap), sequences, seed)
            for how, p in (("each as if alone", alone), ("as judged", mended)):
                if gap:
                    of_p = np.array([sameness_p(1 - x) for x in p])
                    for label, q in (("alike", of_p), ("alike, at 0.05 each", np.full(MOST, SAMENESS_P))):
                        at = ever_alike(rows, p, q).mean(axis=0)
                        lines.append(f"{case_name:14} {world_name:12} gap {gap:g}  {how:17} {label:19} "
                                     + "  ".join(f"{n + 1}: {100 * at[n]:5.1f}" for n in (0, 1, 3, 4, 7)))
                for what, own, both in (("own", True, False), ("together", False, True), ("either", True, True)):
                    at = ever(rows, p, own=own, together=both, side=int(np.sign(gap))).mean(axis=0)
                    lines.append(f"{case_name:14} {world_name:12} gap {gap:g}  {how:17} {what:9} "
                                 + "  ".join(f"{n + 1}: {100 * at[n]:5.1f}" for n in (0, 1, 3, 4, 7)))
    return lines


def main() -> None:
    """Print the table."""
    ask = argparse.ArgumentParser()
    ask.add_argument("--sequences", type=int, default=2000)
    ask.add_argument("--seed", type=int, default=1)
    args = ask.parse_args()
    for line in report(args.sequences, args.seed):
        print(line)


if __name__ == "__main__":
    main()
