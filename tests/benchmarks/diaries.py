"""500 simulated diaries: does every schedule keep every rule, and do both ways get the same minutes?

Each player asks one question of the catalogue, follows the schedule most of the time, and lives a life: days off,
holidays, broken reeds, long rehearsals, concerts, forgotten lines, minutes that differ. All of it is invented.

Run by hand, from the project's folder:  python -m tests.benchmarks.diaries --diaries 500 --jobs 2
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import date, timedelta

import joblib
import numpy as np
import pandas as pd

from reedlab.plan import draw_up
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import TABLES, Frames, typed
from reedlab.schedule import PlayDay, schedule, what_to_play
from reedlab.trial.protocol import Protocol

from .diary_minutes import Tally
from .diary_rules import Wishes, broken_rules, reeds_done

START = date(2026, 3, 2)
ASKED = [(q.key, d, o) for q in CATALOGUE.values() for d in q.designs for o in q.outcomes_for(d)
         if (q.key, d) != ("cut_or_strength", "reed_by_reed")]

TENTH = 0.10
_EMPTY = {"bool": False, "Int64": pd.NA, "float64": np.nan}


@dataclass
class Told:
    """What one diary showed."""

    asked: tuple[str, str, str]
    days: int = 0
    schedules: int = 0
    broken: list[str] = field(default_factory=list)
    moved: list[str] = field(default_factory=list)
    compared: int = 0
    uneven: float = 0.0
    fair: float = 0.0
    knowing: float = 0.0
    said: bool = False
    cut: bool = False
    lost: int = 0
    codes: Counter = field(default_factory=Counter)


class Player:
    """One invented player with one trial."""

    def __init__(self, seed: int) -> None:
        self.rng = rng = np.random.default_rng([20260301, seed])
        self.asked = ASKED[seed % len(ASKED)]
        key, design, outcome = self.asked
        sizes = (5, 5) if key == "cut_or_strength" else ((10,), (10,), (12,), (10, 8))[int(rng.integers(4))]
        self.reeds = typed("reeds", [
            {"reed": f"{b}-{i:02d}", "box": str(b), "first_play": float(rng.integers(8, 17)) / 2}
            for b, n in enumerate([*sizes, 6], start=1) for i in range(1, n + 1)])
        spare = self.reeds.loc[self.reeds["box"] == str(len(sizes) + 1), "reed"].tolist()
        keep = set(spare[:int(rng.integers(0, 7))])  # reeds outside the trial, for concerts and free play
        self.reeds = self.reeds[~self.reeds["reed"].isin(set(spare) - keep)].reset_index(drop=True)
        usual = {d: float(rng.choice([45, 60, 60, 75, 90])) for d in range(7) if rng.random() > 0.08}
        self.protocol: Protocol = draw_up(
            key, self.reeds[~self.reeds["reed"].isin(keep)], start=START, seed=seed, instrument="clarinet",
            design=design, outcome=outcome, simulations=100, minutes_a_day=60).protocol
        far = min(self.protocol.days, 120)
        at = lambda: START + timedelta(days=int(rng.integers(2, far)))  # noqa: E731
        self.wishes = Wishes(
            usual_min=usual, days_off=tuple(sorted({at() for _ in range(int(rng.integers(0, 4)))})),
            concerts=tuple(sorted({at() for _ in range(int(rng.integers(0, 3)))})),
            reeds_at_most=None if rng.random() < 0.6 else int(rng.integers(4, 8)),
            rest_days=int(rng.random() < 0.1))
        self.rows: list[dict] = []
        self.days: list[dict] = []
        self.left: list[dict] = []
        self.fade = {r: rng.uniform(0.1, 0.4) for r in self.reeds["reed"]}
        self.level = dict(zip(self.reeds["reed"], self.reeds["first_play"] + 1, strict=True))
        self.hours: Counter = Counter()
        self.within: Counter = Counter()  # hours within the trial
        boxes = sorted(set(self.reeds["box"]))
        self.boxes = typed("boxes", [{"box": b, "instrument": "clarinet"} for b in boxes])
        self.trials = typed("trials", [{
            "trial": self.protocol.trial, "started": START, "protocol_sha256": self.protocol.sha256,
            "protocol": self.protocol.to_json()}])
        self.fixed: dict[str, pd.DataFrame] = {}
        self.now: tuple[tuple[int, int, int], Frames] | None = None

    def frames(self) -> Frames:
        """The logbook as it stands, each table made anew only when it has grown (much quicker)."""
        size = (len(self.rows), len(self.days), len(self.left))
        if self.now is None or self.now[0] != size:
            self.now = (size, self._made())
        return self.now[1]

    def _made(self) -> Frames:
        made = {"boxes": self.boxes, "reeds": self.reeds, "trials": self.trials}
        for name in TABLES:
            rows = {"days": self.days, "retirements": self.left}.get(name, [])
            if name not in made and name != "sittings":
                if name not in self.fixed or len(self.fixed[name]) != len(rows):
                    self.fixed[name] = typed(name, rows)
                made[name] = self.fixed[name]
        if len(self.rows) < 2:
            return Frames(**made, sittings=typed("sittings", self.rows))
        few = self.fixed.setdefault("sittings", typed("sittings", self.rows[-1:]))
        columns = {c: [r.get(c) for r in self.rows] for c in self.rows[0]}
        n = len(self.rows)
        sittings = pd.DataFrame({
            c: pd.Series(columns.get(c, [_EMPTY.get(str(few[c].dtype))] * n), dtype=few[c].dtype)
            for c in few.columns})
        return Frames(**made, sittings=sittings)

    def here(self) -> list[str]:
        gone = {r["reed"] for r in self.left}
        return [r for r in self.reeds["reed"] if r not in gone]

    def both(self, frames: Frames, today: date) -> bool:
        """Say whether both ways still have reeds to play."""
        p = self.protocol
        if p.design == "day_by_day":
            return True
        cap = p.cap_hours or 1e9
        done = reeds_done(p, frames, today)
        left = [r for r in self.here() if r in p.reeds and r not in done and self.within[r] < cap - 1e-6]
        return len({p.habit_for(r, 1) for r in left}) == 2

    def sit(self, on: date, reed: str, minutes: float, where: str, habit: str | None, rate: bool) -> None:
        if minutes <= 0 or reed not in self.here():
            return
        self.hours[reed] += minutes / 60
        self.within[reed] += minutes / 60 if on >= self.protocol.start or self.protocol.from_new else 0.0
        rating = None
        if rate:
            raw = self.level[reed] - self.fade[reed] * self.hours[reed] + self.rng.normal(0, 0.7)
            rating = float(np.clip(np.round(2 * raw) / 2, 0, 10))
        self.rows.append({"sitting": f"{on}-{reed}-{len(self.rows)}", "date": on, "reed": reed,
                          "play_min": minutes, "overall": rating, "where": where, "habit": habit})
        if self.rng.random() < 0.004:
            self.left.append({"reed": reed, "date": on, "reason": str(self.rng.choice(["damaged", "lost"]))})
        elif rating is not None and rating < 3 and self.rng.random() < 0.5:
            self.left.append({"reed": reed, "date": on, "reason": "worn_out"})

    def live(self, day: PlayDay) -> bool:
        """Play one day; returns whether it went just as planned."""
        rng, on, as_planned = self.rng, day.on, True
        if day.state == "paused":
            return True
        if day.state == "on" and rng.random() < 0.06:  # the day is lost
            if rng.random() < 0.5:
                self.days.append({"date": on, "day_off": True})
            return False
        before = len(self.left)
        for x in day.lines:
            if x.kind == "rest" or x.minutes <= 0:
                continue
            if x.kind == "free":
                if rng.random() < 0.15:
                    as_planned = False
                    continue
            elif x.kind != "concert" and rng.random() < 0.03:  # forgotten
                as_planned = False
                continue
            minutes = x.minutes
            if rng.random() < 0.1:
                minutes = max(5.0, minutes + float(rng.choice([-5, 5, 10])))
                as_planned &= minutes == x.minutes
            habit = x.habit
            if habit is not None and rng.random() < 0.05:  # the other way, by mistake
                habit = next(h.key for h in self.protocol.habits if h.key != habit)
            self.sit(on, x.reed, minutes, "concert" if x.kind == "concert" else "practice", habit, x.rate)
        if day.state != "waiting" and rng.random() < 0.07:  # a rehearsal on the player's own choice of reeds
            as_planned = False
            for reed in rng.choice(self.here(), size=min(2, len(self.here())), replace=False):
                self.sit(on, str(reed), float(rng.choice([30, 45, 60, 75])), "rehearsal", None, False)
        if rng.random() < 0.01:  # a holiday from tomorrow
            as_planned = False
            have = {d["date"] for d in self.days}
            self.days += [{"date": d, "pause": True} for i in range(1, int(rng.integers(3, 8)))
                          if (d := on + timedelta(days=i)) not in have]
        return as_planned and len(self.left) == before


def one_diary(seed: int, *, longest: int = 90, every: int = 10) -> Told:
    """Live one diary through and check its schedules."""
    player = Player(seed)
    p, wishes = player.protocol, player.wishes
    asked = wishes.asked()
    told = Told(player.asked)
    today = START - timedelta(days=int(player.rng.integers(0, 20)))
    last, tally = None, Tally()
    followed, both = False, True
    dealt = p.sha256
    while told.days < longest:
        frames = player.frames()
        full = last is not None or told.days % every == 0
        day = what_to_play(p, frames, today, **asked)
        if full:
            plan = schedule(p, frames, today=today, **asked)
            told.schedules += 1
            told.broken += [f"{seed} {player.asked} made {today}: {x}"
                            for x in broken_rules(p, frames, today, wishes, plan)]
            told.codes.update({u.code for u in plan.unmet})
            if plan.days[0] != day:
                told.moved.append(f"{seed} {player.asked} {today}: the day differs from the schedule's")
            if last is not None and followed and plan.days[0].state != "over":
                told.compared += 1
                if last.days[1:] != plan.days:
                    first = next((a.on for a, b in zip(last.days[1:], plan.days, strict=False) if a != b), None)
                    told.moved.append(f"{seed} {player.asked} made {today}: changed from {first}")
            last = plan if told.days % every == 0 else None
        if day.state == "over":
            break
        both = both and player.both(frames, today)
        told.days += 1
        rows = len(player.rows)
        done = reeds_done(p, frames, today)
        followed = player.live(day) and reeds_done(p, player.frames(), today + timedelta(days=1)) == done
        if both and (day.number is not None or p.from_new):  # new reeds: what is played before the start counts too
            tally.add(p, wishes, frames, day, player.rows[rows:])
        today += timedelta(days=1)
    if p.sha256 != dealt:
        told.broken.append(f"{seed}: the plan changed")
    frames = player.frames()
    plan = schedule(p, frames, today=today, **asked)  # after the last day: is it said how it ended?
    told.schedules += 1
    told.broken += [f"{seed} {player.asked} made {today}: {x}" for x in broken_rules(p, frames, today, wishes, plan)]
    told.said = any(u.code == "minutes_uneven" for u in plan.unmet)
    told.cut = plan.days[0].state != "over"
    told.uneven = abs(tally.minutes[0] - tally.minutes[1]) / max(*tally.minutes, 1.0)
    told.fair, told.knowing = tally.fair(), tally.knowing()
    told.lost = sum(r["reed"] in p.reeds for r in player.left)
    return told


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--diaries", type=int, default=500)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--longest", type=int, default=90)
    parser.add_argument("--jobs", type=int, default=1)
    args = parser.parse_args()
    start = time.perf_counter()
    told = joblib.Parallel(n_jobs=args.jobs)(
        joblib.delayed(one_diary)(i, longest=args.longest) for i in range(args.first, args.first + args.diaries))
    report(list(told))
    print(f"{time.perf_counter() - start:.0f} s")
    return 0


def report(told: list[Told]) -> None:
    """Print what the diaries showed."""
    broken = [x for t in told for x in t.broken]
    moved = [x for t in told for x in t.moved]
    print(f"{len(told)} diaries, {len({t.asked for t in told})} kinds of trial, {sum(t.days for t in told)} days, "
          f"{sum(t.schedules for t in told)} schedules read against the rules.")
    print(f"Rules broken and not said: {len(broken)}")
    for x in broken[:15]:
        print("  ", x)
    print(f"Schedules compared after a day as planned: {sum(t.compared for t in told)}; changed: {len(moved)}")
    for x in moved[:10]:
        print("  ", x)
    off = sorted((t for t in told if t.uneven > TENTH), key=lambda t: -t.uneven)
    even = len(told) - len(off)
    missed = [t for t in off if t.fair <= TENTH]
    ahead = [t for t in off if t.fair > TENTH >= t.knowing]
    never = len(off) - len(missed) - len(ahead)
    print(f"Minutes of the two ways within 10 %: {even} of {len(told)}; where feasible: {even} of "
          f"{even + len(missed)}. Median gap {100 * float(np.median([t.uneven for t in told])):.1f} %.")
    print(f"The {len(off)} others: {never} that no schedule could have evened out, {len(ahead)} only one that knew "
          f"the days to come, {len(missed)} where the days left would have done.")
    ended = [t for t in off if not t.cut]
    print(f"Said so in the end: {sum(t.said for t in ended)} of {len(ended)} that ended uneven; "
          f"{sum(t.said for t in off if t.cut)} of {len(off) - len(ended)} still running when the diary stops "
          "(those are asked about their end).")
    for t in off:
        print(f"   {t.asked}: {100 * t.uneven:.0f} %, best {100 * t.fair:.0f} %, knowing all {100 * t.knowing:.0f} %, "
              f"said {t.said}, {t.days} days{', running' * t.cut}, {t.lost} reeds lost")
    codes: Counter = Counter()
    for t in told:
        codes.update(set(t.codes))
    print("Diaries in which a schedule said it could not have:", dict(codes.most_common()))


if __name__ == "__main__":
    sys.exit(main())
