"""Time what the plan page works out: the forecast of the default plan, and the advice, for every question.

Run: ``OMP_NUM_THREADS=1 python tests/benchmarks/advice.py``. Prints seconds of one core, the second time round, and
at the end what it takes to learn about lives.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import date

import pandas as pd

from reedlab.errors import PlanRefused
from reedlab.plan import draw_up
from reedlab.plan.advice import advise
from reedlab.plan.imagined import box_of_new_reeds
from reedlab.plan.life_needs import life_needs
from reedlab.plan.look_ahead import outlook
from reedlab.plan.means import Means
from reedlab.plan.ranking import rank
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import typed
from reedlab.worlds import World

COMMON: dict = {"start": date(2026, 3, 2), "seed": 3, "instrument": "clarinet"}


def seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def main() -> None:
    boxes = [box_of_new_reeds(b, World(), 1) for b in "12"]
    two = typed("reeds", pd.concat([b.astype(object) for b in boxes], ignore_index=True))
    print(f"{'question':20}{'plan':>8}{'forecast':>10}{'advice':>8}")
    for again in (False, True):
        for key in CATALOGUE:
            reeds = two if key == "cut_or_strength" else boxes[0]
            try:
                protocol = draw_up(key, reeds, **COMMON).protocol
            except PlanRefused as no:
                print(f"{key:20}{no.code}")
                continue
            times = (seconds(lambda k=key, r=reeds: draw_up(k, r, **COMMON)),
                     seconds(lambda p=protocol: outlook(p)),
                     seconds(lambda k=key, r=reeds, d=protocol.days: advise(
                         k, r, days_limit=min(d, 182), **COMMON)))
            if again:
                print(f"{key:20}{times[0]:8.2f}{times[1]:10.2f}{times[2]:8.2f}")
    for name, world in (("a player nobody knows yet", World()), ("a player somebody knows", World(noise_sd=0.9))):
        for weeks in (8, 26):
            means = Means(reeds=boxes[0], minutes_a_day=60, weeks=weeks, world=world)
            print(f"everything ranked, up to {weeks} weeks, {name}: {seconds(lambda m=means: rank(m)):.1f} s")
    need = life_needs(World(), ratio=1.5, minutes_a_day=60.0)
    assert need.days is not None
    print(f"a life 1.5 times as long, found 80 times in 100: {need.reeds} reeds and {need.days / 365.25:.1f} years")


if __name__ == "__main__":
    main()
