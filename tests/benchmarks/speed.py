"""Simulated trials judged per second of one core, beside a plain loop that reaches the same verdict one by one.

Ratings: the loop takes unit means in pandas and calls scipy.stats.permutation_test for each p that the verdict
needs (every arrangement counted, the as-done reading and the scale guard included); its verdicts must equal the
batch's. Lives: the loop finds each reed's hours in pandas and calls statsmodels' stratified log-rank test at the
three ratios; that is the large-sample test, so verdicts may differ, and the loop is spared all reshuffling.
Processor time is counted, so that other work on the machine does not matter.

Run by hand from the project's folder::

    python tests/benchmarks/speed.py

All data are invented.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable
from datetime import date

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_name] = "1"
if hasattr(os, "sched_setaffinity"):
    os.sched_setaffinity(0, {sorted(os.sched_getaffinity(0))[-1]})

import dataclasses  # noqa: E402

import numpy as np  # noqa: E402
import pandas as pd  # noqa: E402
from scipy import stats  # noqa: E402
from statsmodels.duration.survfunc import survdiff  # noqa: E402

from reedlab.analysis.batch import BatchTrials, judge_batch  # noqa: E402
from reedlab.analysis.verdicts.scale_use import ratings_used  # noqa: E402
from reedlab.plan import draw_up  # noqa: E402
from reedlab.plan.forecast import forecast  # noqa: E402
from reedlab.rows.tables import typed  # noqa: E402
from reedlab.trial.protocol import Protocol  # noqa: E402
from reedlab.worlds import (  # noqa: E402
    World,
    batch_trials,
    simulate,
)

ARRANGEMENTS = 2**14


def plan(question: str, outcome: str, boxes: int, each: int, **more: object) -> Protocol:
    """A plan with invented reeds; first play falls by half a point from reed to reed."""
    reeds = typed("reeds", [{"reed": f"{b + 1}-{i + 1:02d}", "box": str(b + 1), "first_play": 8 - i / 2}
                            for b in range(boxes) for i in range(each)])
    return draw_up(question, reeds, start=date(2026, 1, 5), seed=3, instrument="clarinet", outcome=outcome,
                   simulations=100, **more).protocol  # type: ignore[arg-type]


def sittings(trials: BatchTrials) -> pd.DataFrame:
    """The only trial of `trials` as the table a plain script would start from."""
    return pd.DataFrame({
        "reed": trials.reed, "day": trials.day, "unit": trials.unit, "rating": trials.scores[0],
        "minutes": trials.minutes[0], "used_b": trials.used_b[0], "counted": trials.counted[0]})


def judge_ratings(trials: BatchTrials) -> str:
    """The verdict on one day-by-day trial without adjustment, by scipy's permutation test."""
    p = trials.protocol
    table = sittings(trials)
    rated = table[table["rating"].notna()]
    units = pd.DataFrame({"block": [u.block for u in p.units], "b": trials.dealt_b[0]})
    units["value"] = rated.groupby("unit")["rating"].mean()
    units["share"] = rated.groupby("unit")["used_b"].mean()
    units["dealt"] = units["b"].astype(float)
    pairs = units.pivot(index="block", columns="b", values=["value", "share", "dealt"]).dropna()
    if pairs.empty:
        return "cannot_tell"

    def p_of(shift: float, side: str, of: str) -> float:
        a, b = (pairs[("value", x)].to_numpy(float) - shift * pairs[(of, x)].to_numpy(float)
                for x in (False, True))
        found = stats.permutation_test((a, b), lambda x, y, axis: (y - x).mean(axis=axis), vectorized=True,
                                       permutation_type="samples", n_resamples=np.inf, alternative=side)
        return float(found.pvalue)

    same = max(p_of(-p.matters, "greater", "dealt"), p_of(p.matters, "less", "dealt")) <= 0.05
    if same:
        use = ratings_used(rated["rating"].to_numpy(), p.rating)
        narrow = p.matters * (1 - use.squeezed)
        if not use.at_an_end and not use.alike and all(
                max(p_of(-narrow, "greater", of), p_of(narrow, "less", of)) <= 0.05 for of in ("dealt", "share")):
            return "no_real_difference"
    if p_of(0.0, "two-sided", "dealt") <= 1 - p.level + 1e-12:
        return "b_better" if (pairs[("value", True)] - pairs[("value", False)]).mean() > 0 else "a_better"
    return "cannot_tell"


def judge_lives(trials: BatchTrials) -> str:
    """A verdict on one life trial by pandas and the large-sample log-rank test."""
    p = trials.protocol
    table = sittings(trials)
    table = table[table["counted"]].copy()
    table["hours"] = table.groupby("reed")["minutes"].cumsum() / 60
    rows = []
    for unit, one in table.groupby("unit"):
        low = one[one["rating"].notna()]["rating"] < p.worn_out_below
        run = low.astype(int).rolling(p.in_a_row).sum() >= p.in_a_row
        met = bool(run.any())
        rows.append((unit, one.loc[run.idxmax(), "hours"] if met else one["hours"].iloc[-1], met))
    lives = pd.DataFrame(rows, columns=["unit", "hours", "worn_out"]).set_index("unit")
    lives["b"] = trials.dealt_b[0][lives.index]
    lives["block"] = [p.units[u].block for u in lives.index]

    def test(ratio: float) -> tuple[float, float]:
        time = lives["hours"] / np.where(lives["b"], ratio, 1.0)
        try:
            chi, _ = survdiff(time, lives["worn_out"].astype(int), lives["b"].astype(int), strata=lives["block"])
        except np.linalg.LinAlgError:  # nothing wore out in a set while both were at risk
            return 0.5, 0.5
        z = np.sqrt(max(float(chi), 0.0)) * np.sign(lives.loc[lives["b"], "hours"].mean() / ratio
                                                    - lives.loc[~lives["b"], "hours"].mean())
        return float(stats.norm.sf(z)), float(stats.norm.cdf(z))

    if not lives["worn_out"].any():
        return "cannot_tell"
    if max(test(1 / p.matters)[0], test(p.matters)[1]) <= 0.05:
        return "no_real_difference"
    longer, shorter = test(1.0)
    if 2 * min(longer, shorter) <= 1 - p.level:
        return "b_better" if longer < shorter else "a_better"
    return "cannot_tell"


def rates(protocol: Protocol, world: World, n: int, loop: int, judge: Callable[[BatchTrials], str],
          repeat: int = 3) -> dict[str, float]:
    """Trials per second of processor time, of the batch and of the loop, and how often they agree."""
    simulate(protocol, world, 50, 1)
    played = judged = 0.0
    for r in range(repeat):
        start = time.process_time()
        batch = simulate(protocol, world, n, r, fresh_deals=True)
        half = time.process_time()
        judge_batch(batch_trials(batch))
        end = time.process_time()
        played, judged = played + half - start, judged + end - half
    quick, quick_judge = repeat * n / (played + judged), repeat * n / judged
    agree = 0
    played = judged = 0.0
    for i in range(loop):
        start = time.process_time()
        one = batch_trials(simulate(protocol, world, 1, 1000 + i, fresh_deals=True))
        half = time.process_time()
        verdict = judge(one)
        end = time.process_time()
        played, judged = played + half - start, judged + end - half
        agree += verdict == judge_batch(one).verdict[0]
    return {"batch": quick, "batch_judge": quick_judge, "loop": loop / (played + judged),
            "loop_judge": loop / judged, "agree": agree / loop}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--trials", type=int, default=4000)
    parser.add_argument("--loop", type=int, default=60)
    args = parser.parse_args()
    days = plan("wetting", "day_rating", 1, 4)
    lives = plan("drying", "life_hours", 2, 10)
    print(f"Day by day: {len(days.reeds)} reeds, {days.days} days, {len(days.slots)} sittings, "
          f"{ARRANGEMENTS} arrangements. Lives: {len(lives.reeds)} reeds, {lives.days} days, "
          f"{len(lives.slots)} sittings. One core.")
    fair = True
    for name, protocol, world, n, judge in (
            ("14 days, 4 reeds, day by day, no adjustment", dataclasses.replace(days, adjust=()), World(),
             args.trials, judge_ratings),
            ("20 reeds, lives", lives, World(effect_life=1.5), args.trials // 4, judge_lives)):
        r = rates(protocol, world, n, args.loop, judge)
        print(f"\n{name}\n  simulate and judge: {r['batch']:8.0f} /s, plain loop {r['loop']:6.1f} /s, "
              f"ratio {r['batch'] / r['loop']:6.0f}")
        print(f"  judge alone:        {r['batch_judge']:8.0f} /s, plain loop {r['loop_judge']:6.1f} /s, "
              f"ratio {r['batch_judge'] / r['loop_judge']:6.0f}")
        print(f"  the loop's verdict agrees in {100 * r['agree']:.0f} of 100")
        fair &= r["batch"] >= 100 * r["loop"]
    start = time.process_time()
    judge_batch(batch_trials(simulate(days, World(), args.trials, 1, fresh_deals=True)))
    print(f"\nthe same days as drawn up (adjusted for {', '.join(days.adjust)}): "
          f"simulate and judge {args.trials / (time.process_time() - start):.0f} /s")
    for name, protocol in (("14 days, day by day", days), ("20 reeds, lives", lives)):
        clock, start = time.perf_counter(), time.process_time()
        made = forecast(protocol)
        print(f"forecast, {name}: {time.perf_counter() - clock:.2f} s by the clock, "
              f"{time.process_time() - start:.2f} s of processor time "
              f"({made.odds[0].trials} trials at each of {len(made.odds)} gaps)")
    return 0 if fair else 1


if __name__ == "__main__":
    sys.exit(main())
