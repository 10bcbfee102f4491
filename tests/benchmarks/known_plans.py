"""Play through the plans of a player nobody knows yet, and keep what was found in `reedlab/plan/known.csv`.

One box of 6 to 10 reeds at 30, 60 and 90 minutes a day, and two boxes of ten: every question, way and length of the
ranking. Takes about a quarter of an hour on one core. Run it again after any change of plans, worlds or verdicts.

    nice python -m tests.benchmarks.known_plans [--check 40]

With `--check` it plays only so many plans, spread evenly, and says which differ from the file.
"""

from __future__ import annotations

import argparse
import csv
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd

import reedlab.plan.known as known
from reedlab.errors import PlanRefused
from reedlab.plan.candidates import Way
from reedlab.plan.forecast import VERDICTS, forecast
from reedlab.plan.imagined import box_of_new_reeds
from reedlab.plan.look_ahead import LOOK_SEED, LOOK_TRIALS, fingerprint, samples_for
from reedlab.plan.means import Means
from reedlab.plan.ranking import LENGTHS
from reedlab.plan.usable import usable_reeds
from reedlab.plan.weigh import Asked, draw_shown
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import typed
from reedlab.trial.outlook import Odds, Outlook
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World

FILE = Path(known.__file__).with_name("known.csv")
SIZES = ((10,), (9,), (8,), (7,), (6,), (10, 10))
MINUTES = (60.0, 30.0, 90.0)


def means(sizes: tuple[int, ...], minutes: float) -> Means:
    """Return a player nobody knows yet with so many reeds of each box."""
    boxes = [box_of_new_reeds(str(b), World(), b, n).astype(object) for b, n in enumerate(sizes, start=1)]
    return Means(reeds=typed("reeds", pd.concat(boxes, ignore_index=True)), minutes_a_day=minutes, weeks=max(LENGTHS),
                 world=World())


def asked() -> Iterator[Asked]:
    """Yield every plan, each shape once."""
    seen = set()
    for minutes in MINUTES:
        for sizes in SIZES:
            have = means(sizes, minutes)
            usable = usable_reeds(have.reeds, seed=0)
            for q in CATALOGUE.values():
                for design in q.designs:
                    for outcome in q.outcomes_for(design) if q.key != "own" else ():
                        for weeks in LENGTHS:
                            one = Asked(have, usable, q, Way(design, outcome), 7 * weeks)
                            if one.known_key not in seen and (len(sizes) == 1 or one.known_key.kind == "boxes"):
                                seen.add(one.known_key)
                                yield one


def played(one: Asked) -> dict[str, Any] | None:
    """Return the row of one plan, by the forecast itself; None where it is refused."""
    key = one.known_key
    try:
        shown, offered = draw_shown(one)
    except PlanRefused:
        return None
    found = _forecast(shown, key.minutes)
    days = {s.day for s in shown.slots}
    return dict(zip(known.COLUMNS, (
        key.kind, key.design, key.outcome, key.days, _joined(key.sizes), f"{key.minutes:g}", fingerprint(shown),
        shown.days, offered, len(shown.reeds), repr(len(shown.slots) / len(days) - 1),
        "" if shown.cap_hours is None else f"{shown.cap_hours:g}", *map(_counts, found.odds),
        repr(found.least_p), repr(found.sittings), repr(found.hours), repr(found.worn_out)), strict=True))


@cache
def _forecast(shown: Protocol, minutes: float) -> Outlook:
    return forecast(shown, world=World(minutes_a_day=minutes), gaps=(shown.card.none, shown.matters),
                    trials=LOOK_TRIALS, seed=LOOK_SEED, samples=samples_for(shown.level))


def _counts(odds: Odds) -> str:
    return _joined(round(odds.trials * getattr(odds, v)) for v in VERDICTS)


def _joined(numbers: Any) -> str:
    return " ".join(str(int(n)) for n in numbers)


def main() -> None:
    """Make the file anew, or check some of it."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--check", type=int, default=0)
    check = parser.parse_args().check
    every = sorted(asked(), key=lambda x: x.days > 7 * LENGTHS[-2])  # the longest take most of the time: last
    if not check:
        with FILE.open("w", encoding="utf8", newline="") as out:
            table = csv.DictWriter(out, known.COLUMNS, lineterminator="\n")
            table.writeheader()
            for n, one in enumerate(every):
                row = _told(n, len(every), one)
                if row is not None:
                    table.writerow(row)
                    out.flush()
        return
    with FILE.open(encoding="utf8", newline="") as text:
        kept = {tuple(r[c] for c in known.COLUMNS[:6]): r for r in csv.DictReader(text)}
    wrong = 0
    for one in every[::max(1, len(every) // check)]:
        row = played(one)
        key = tuple(str(x) for x in (*one.known_key[:4], _joined(one.known_key.sizes), f"{one.known_key.minutes:g}"))
        if (None if row is None else {k: str(v) for k, v in row.items()}) != kept.get(key):
            wrong += 1
            print(f"differs: {key}")
    print(f"{wrong} differ")
    sys.exit(bool(wrong))


def _told(n: int, of: int, one: Asked) -> dict[str, Any] | None:
    if n % 50 == 0:
        print(f"{n} of {of}", flush=True)
    return played(one)


if __name__ == "__main__":
    main()
