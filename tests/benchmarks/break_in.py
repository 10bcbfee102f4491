"""What three ratings while breaking in bring to a reed-by-reed trial, beside the one first play.

    python -m tests.benchmarks.break_in --trials 4000

One box of ten, an hour a day, mean rating. Printed: right answers with a gap of 0, 1 and 2 points, winners named where
there is none, and ways called alike that differ by what matters.
"""

from __future__ import annotations

import argparse
from datetime import date

from reedlab.plan import draw_up
from reedlab.plan.forecast import forecast
from reedlab.plan.imagined import box_of_new_reeds
from reedlab.worlds import World

GAPS = (0.0, 1.0, 2.0)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=4000)
    trials = parser.parse_args().trials
    reeds = box_of_new_reeds("1", World(), 1, 10)
    print("| days | known of each reed | alike: said so | gap 1: found | gap 2: found | false winners "
          "| falsely alike |")
    print("|---|---|---|---|---|---|---|")
    for days in (14, 21, 28, 42):
        for known, table in (("first play", reeds), ("three ratings", reeds.assign(broken_in=reeds["first_play"]))):
            plan = draw_up("drying", table, start=date(2026, 3, 2), seed=3, instrument="clarinet", days=days).protocol
            found = forecast(plan, gaps=GAPS, trials=trials)
            alike, one, two = found.odds
            of = (alike.no_real_difference, one.b_better, two.b_better, alike.a_better + alike.b_better,
                  one.no_real_difference)
            print(f"| {days} | {known} | " + " | ".join(f"{100 * x:.1f}" for x in of) + " |", flush=True)


if __name__ == "__main__":
    main()
