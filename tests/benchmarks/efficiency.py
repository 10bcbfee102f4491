"""What reedlab gets out of the same ratings, beside the usual tests made as careful as it is. Prints Markdown.

For four ordinary worlds and four outcomes: the chance of naming the right way when there is a true difference. Each
usual test is given the threshold at which it claims, without a difference, just as often as reedlab does
in that world (both simulated), so that none wins by being wrong more often. For ratings: (a) the raw paired test of
reed means (of each reed's slope, for wear), (b) the paired t test, both also with the reeds paired by their first
play (matched), and day by day with squares as pairs. Last comes (a) on a plan that shuffles reeds within their box, to
show what matching brings. For lives: (c) the plain log-rank test, (d) the
stratified Cox model. `--adjust` instead prints what each adjustment brings. `--need` prints how many days or reeds
are needed for 80 in 100, with the casual comparison made honest and with reedlab.

Run by hand from the project's folder::

    python -m tests.benchmarks.efficiency --trials 5000 --jobs 2

All data are invented; the worlds are our assumptions.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")

import numpy as np  # noqa: E402
from joblib import Parallel, delayed  # noqa: E402

from reedlab.analysis.batch import BatchTrials, judge_batch  # noqa: E402
from reedlab.analysis.units.adjust import ADJUSTMENTS  # noqa: E402
from reedlab.analysis.units.adjust import adjustments as fair  # noqa: E402
from reedlab.plan.forecast import with_effect  # noqa: E402
from reedlab.trial.outcomes import OUTCOMES  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import (  # noqa: E402
    World,
    batch_trials,
    simulate,
)
from reedlab.worlds.casual import casual_trials  # noqa: E402

from . import rivals  # noqa: E402
from .hostile import WORLDS, drawn  # noqa: E402

#: Four ordinary worlds, as changes to the assumed one.
ORDINARY: Final[Mapping[str, Mapping[str, float]]] = {
    "as assumed": {},
    "a steady player": {"mood_sd": 0.2, "taste_sd": 0.2, "noise_sd": 0.7},
    "changeable weather and moods": {"mood_sd": 0.8, "taste_sd": 0.8, "air_points_sd": 0.4, "noise_sd": 1.2},
    "unequal reeds that age fast": {"reed_sd": 1.6, "wear_per_hour": 0.1, "wear_sd": 0.05},
}
_PART = 500
_BARE: Final = "(a) without matched sets"
_PLACE: Final = "place in the day counts (-0.8 points each)"
_SAMPLES = 4000


@dataclass(frozen=True)
class Plan:
    """A plan, the true differences tried on it, and what its world differs in."""

    name: str
    protocol: Protocol
    gaps: tuple[float, ...]
    world: Mapping[str, float] = dataclasses.field(default_factory=dict)

    @property
    def sets(self) -> int:
        return len({u.block for u in self.protocol.units})


def plans() -> list[Plan]:
    """Return the plans; all but the second have eight matched sets or squares, or more."""
    short = {"life_median_h": 6.0, "minutes_a_day": 120.0}
    return [
        Plan("day_rating: 8 reeds, 14 days", drawn("wetting", "day_rating", 2, 4, days=14), (0.5, 0.75, 1.0)),
        Plan("mean_rating: 20 reeds, 40 days", drawn("drying", "mean_rating", 2, 10, days=40), (0.75, 1.0)),
        Plan("mean_rating: 40 reeds, 80 days", drawn("drying", "mean_rating", 4, 10, days=80), (0.5, 0.75)),
        Plan("wear_rate: 40 reeds, 100 days", drawn("storage_case", "wear_rate", 4, 10, days=100), (0.3, 0.45)),
        Plan("life_hours: 40 reeds, 160 days", drawn("drying", "life_hours", 4, 10, days=160), (1.6, 2.0), short),
    ]


def _claims(trials: BatchTrials) -> np.ndarray:
    """Return 1 where the second way is named, -1 where the first is."""
    verdict = judge_batch(trials, samples=_SAMPLES, seed=1).verdict
    return (verdict == "b_better") * 1 - (verdict == "a_better") * 1


def _scores(trials: BatchTrials) -> dict[str, np.ndarray]:
    p = trials.protocol
    if OUTCOMES[p.outcome].scale == "ratio":
        c, d = rivals.lives(trials)
        return {"(c)": c, "(d)": d}
    if p.design == "day_by_day":
        a, b, units = rivals.raw_days(trials)
        return {"(a)": a, "(b)": b, "(b) of squares": units}
    slopes = p.outcome == "wear_rate"
    (a, b), (a_matched, b_matched) = (rivals.raw_reeds(trials, slopes=slopes, matched=m) for m in (False, True))
    return {"(a)": a, "(b)": b, "(a) matched": a_matched, "(b) matched": b_matched}


def _play(protocol: Protocol, world: World, trials: int, seed: int,
          read: Callable[[BatchTrials], Any]) -> list[Any]:
    """Simulate and read so many trials, part by part."""
    parts = -(-trials // _PART)
    seeds = np.random.SeedSequence([seed, 77]).generate_state(parts)
    return [read(batch_trials(simulate(protocol, world, min(_PART, trials - i * _PART), int(s), fresh_deals=True)))
            for i, s in enumerate(seeds)]


def _both(trials: BatchTrials) -> dict[str, np.ndarray]:
    return {"reedlab": _claims(trials), **_scores(trials)}


def _joined(parts: list[dict[str, np.ndarray]]) -> dict[str, np.ndarray]:
    return {k: np.concatenate([p[k] for p in parts]) for k in parts[0]}


def unmatched(protocol: Protocol) -> Protocol:
    """Return a plan of reeds in which they are shuffled within their boxes, not within sets matched on first play."""
    return dataclasses.replace(protocol, units=tuple(
        dataclasses.replace(u, block=u.reeds[0].rpartition("-")[0]) for u in protocol.units))


def _raw(trials: BatchTrials) -> np.ndarray:
    return rivals.raw_reeds(trials, slopes=trials.protocol.outcome == "wear_rate")[0]


def beside(plan: Plan, changes: Mapping[str, float], trials: int, seed: int) -> list[dict[str, tuple[float, float]]]:
    """Return, for each gap, every test's chance of the right winner and its error; `none` first: false alarms."""
    world = World(**{**plan.world, **changes})  # type: ignore[arg-type]
    null = _joined(_play(plan.protocol, world, 2 * trials, seed, _both))
    rate = float((null["reedlab"] != 0).mean())
    out = [{"reedlab": (rate, float(np.sqrt(rate * (1 - rate) / (2 * trials))))}]
    for gap in plan.gaps:
        seen = _joined(_play(plan.protocol, with_effect(world, plan.protocol.outcome, gap), trials, seed + 1, _both))
        p = float((seen["reedlab"] > 0).mean())
        row = {"reedlab": (p, float(np.sqrt(p * (1 - p) / trials)))}
        row |= {k: rivals.recalibrated(seen[k], null[k], rate) for k in seen if k != "reedlab"}
        if "(a) matched" in row:
            bare, there = unmatched(plan.protocol), with_effect(world, plan.protocol.outcome, gap)
            zero, found = (np.concatenate(_play(bare, w, n, s, _raw))
                           for w, n, s in ((world, 2 * trials, seed), (there, trials, seed + 1)))
            row[_BARE] = rivals.recalibrated(found, zero, rate)
        out.append(row)
    return out


def efficiency(trials: int, seed: int, run: Parallel, chosen: Sequence[str]) -> str:
    """Return the table of right winners."""
    todo = [(plan, w, changes) for plan in plans() if _wanted(plan.name, chosen) for w, changes in ORDINARY.items()]
    found = run(delayed(beside)(plan, changes, trials, seed) for plan, _, changes in todo)
    lines = ["| plan (blocks) | world | false alarms | true difference | reedlab | usual tests | "
             "reedlab less the best | over (a), over (a) on a plan without matched sets |", "|---" * 8 + "|"]
    for (plan, world, _), rows in zip(todo, found, strict=True):
        for gap, row in zip(plan.gaps, rows[1:], strict=True):
            others = {k: v for k, v in row.items() if k not in ("reedlab", _BARE)}
            best = max(others, key=lambda k: others[k][0])
            ours = row["reedlab"]
            error = 100 * np.hypot(ours[1], others[best][1])
            over = ", ".join(f"{ours[0] / row[k][0]:.2f}" if k in row and row[k][0] > 0 else "-"
                             for k in ("(a)", _BARE))
            lines.append(
                f"| {plan.name} ({plan.sets}) | {world} | {100 * rows[0]['reedlab'][0]:.1f} | {gap:g} | "
                f"{100 * ours[0]:.1f} | " + ", ".join(f"{k} {100 * v[0]:.1f}" for k, v in others.items())
                + f" | {100 * (ours[0] - others[best][0]):+.1f} (error {error:.1f}) | {over} |")
    return "\n".join(lines)


def _wanted(name: str, chosen: Sequence[str]) -> bool:
    return not chosen or any(c in name for c in chosen)


def _share_named(plan: Plan, adjust: Sequence[str], world: World, trials: int, seed: int) -> tuple[float, float]:
    p = dataclasses.replace(plan.protocol, adjust=tuple(adjust))
    gap = plan.gaps[-1]
    false = np.concatenate(_play(p, world, trials, seed, _claims))
    right = np.concatenate(_play(p, with_effect(world, p.outcome, gap), trials, seed + 1, _claims))
    return float((false != 0).mean()), float((right > 0).mean())


def _allowed(plan: Protocol) -> tuple[str, ...]:
    """Return all that may be evened out in a plan."""
    return fair(dataclasses.replace(plan, adjust=ADJUSTMENTS))


def adjustments(trials: int, seed: int, run: Parallel, chosen: Sequence[str]) -> str:
    """Return the table of what each adjustment brings, world by world: false alarms / right winners."""
    todo = []
    worlds = {**ORDINARY, _PLACE: WORLDS[_PLACE]}
    for plan in plans():
        if _wanted(plan.name, chosen) and OUTCOMES[plan.protocol.outcome].scale == "difference":
            allowed = _allowed(plan.protocol)
            sets = dict.fromkeys([(), *[(a,) for a in allowed], plan.protocol.adjust, allowed])
            todo += [(plan, a, World(**{**plan.world, **c})) for a in sets  # type: ignore[arg-type]
                     for c in worlds.values()]
    found = run(delayed(_share_named)(plan, a, w, trials, seed) for plan, a, w in todo)
    lines = ["| plan | true difference | evened out | " + " | ".join(worlds) + " |",
             "|---" * (3 + len(worlds)) + "|"]
    for i in range(0, len(todo), len(worlds)):
        plan, a, _ = todo[i]
        name = "nothing" if not a else "all" if a == _allowed(plan.protocol) else " and ".join(a)
        mark = " (the default)" if tuple(a) == plan.protocol.adjust else ""
        lines.append(f"| {plan.name} | {plan.gaps[-1]:g} | {name}{mark} | " + " | ".join(
            f"{100 * f:.1f} / {100 * r:.1f}" for f, r in found[i:i + len(worlds)]) + " |")
    return "\n".join(lines)


_DAYS: Final = (5, 7, 10, 14, 21, 28, 42, 56, 84, 112, 168, 252)


def casual_need(gap: float, reeds: int, trials: int, seed: int, *, new_reeds: bool = False) -> int | None:
    """Return the days of both habits together at which the casual comparison, made honest, names the right one 80 %.

    Made honest: its p is held to the level at which it claims 5 % without a difference. None: more than 504 days.
    """
    for days in _DAYS:
        null = casual_trials(World(), trials, seed, days_each=days, reeds=reeds, new_reeds=new_reeds)
        seen = casual_trials(World(effect_points=gap), trials, seed + 1, days_each=days, reeds=reeds,
                             new_reeds=new_reeds)
        score, zero = (np.sign(x.gap) * -np.log(np.maximum(x.p_value, 1e-300)) for x in (seen, null))
        if rivals.recalibrated(np.nan_to_num(score), np.nan_to_num(zero), 0.05)[0] >= 0.8:
            return 2 * days
    return None


def fair_need(gap: float, trials: int, seed: int) -> int | None:
    """Return the days of reedlab's day-by-day plan (four reeds, rated four a day) that names the right way 80 %."""
    for days in (6, 8, 10, 12, 14, 16, 20, 24, 28, 36, 44, 56, 70, 84):
        p = drawn("wetting", "day_rating", 1, 4, days=days)
        if np.mean(np.concatenate(_play(p, World(effect_points=gap), trials, seed, _claims)) > 0) >= 0.8:
            return days
    return None


def reeds_need(gap: float, trials: int, seed: int) -> tuple[int | None, int | None]:
    """Return the reeds, two days of playing for each, at which (a) made honest and reedlab name the right way 80 %."""
    out: list[int | None] = [None, None]
    for boxes in range(1, 5):
        plan = Plan("", drawn("drying", "mean_rating", boxes, 10, days=20 * boxes), (gap,))
        row = beside(plan, {}, trials, seed)[1]
        for k, name in enumerate(("(a)", "reedlab")):
            if out[k] is None and row[name][0] >= 0.8:
                out[k] = 10 * boxes
        if None not in out:
            break
    return out[0], out[1]


def needs(trials: int, seed: int, run: Parallel) -> str:
    """Return the table of what 80 in 100 needs, in the world as assumed."""
    gaps = (0.5, 0.75, 1.0, 1.5, 2.0)
    jobs = [delayed(casual_need)(g, r, trials, seed, new_reeds=n) for g in gaps for r, n in ((1, False), (3, False))]
    jobs += [delayed(fair_need)(g, trials, seed) for g in gaps] + [delayed(reeds_need)(g, trials, seed) for g in gaps]
    found = run(jobs)
    k = len(gaps)

    def words(n: int | None, most: str) -> str:
        return most if n is None else str(n)

    lines = ["| true difference, points | casual, one reed at a time: days | casual, three reeds in turn: days | "
             "reedlab day by day, four reeds: days | reed by reed, raw paired test made honest: reeds | "
             "reed by reed, reedlab: reeds |", "|---" * 6 + "|"]
    for i, g in enumerate(gaps):
        raw, ours = found[3 * k + i]
        lines.append(f"| {g:g} | " + " | ".join([
            words(found[2 * i], "over 504"), words(found[2 * i + 1], "over 504"), words(found[2 * k + i], "over 84"),
            words(raw, "over 40"), words(ours, "over 40")]) + " |")
    return "\n".join(lines)


def main() -> None:
    """Print the table that was asked for."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=5000, help="with a difference; without one, twice as many")
    parser.add_argument("--plans", nargs="+", default=[], help="words that the wanted plans' names hold")
    parser.add_argument("--adjust", action="store_true", help="print what each adjustment brings")
    parser.add_argument("--need", action="store_true", help="print what 80 in 100 needs")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--seed", type=int, default=20260301)
    args = parser.parse_args()
    start, run = time.perf_counter(), Parallel(n_jobs=args.jobs)
    if args.adjust:
        print(adjustments(args.trials, args.seed, run, args.plans))
    elif args.need:
        print(needs(args.trials, args.seed, run))
    else:
        print(efficiency(args.trials, args.seed, run, args.plans))
    print(f"\n{args.trials} trials at each true difference, seed {args.seed}; per 100; "
          f"{time.perf_counter() - start:.0f} s.", flush=True)


if __name__ == "__main__":
    main()
