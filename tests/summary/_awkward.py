"""Twenty awkward trials, kept and read through the real code. All players, reeds and ratings are invented."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from reedlab.analysis.trial import analyse
from reedlab.plan.box_against_box import box_habits, box_units
from reedlab.summary import answer
from reedlab.trial.protocol import Habit, Protocol
from reedlab.trial.result import TrialResult
from tests.analysis._players import A, B, after, by_reed, frames, on, one_a_day, rated, squares

Rating = Callable[[str, int, str], float]
Row = dict[str, Any]


def near(level: float, gap: float, spread: float, seed: int = 1, step: float = 0.5) -> Rating:
    """Return ratings around `level`, `gap` higher with B, on the scale's half points."""
    rng = np.random.default_rng(seed)

    def one(reed: str, day: int, habit: str) -> float:
        at = level + gap * (habit == B.key) + rng.normal(0, spread)
        return float(np.clip(np.round(at / step) * step, 0, 10))

    return one


def lives(p: Protocol, ends: Mapping[str, tuple[int, str]], *, hours: float = 1.0) -> tuple[list[Row], list[Row]]:
    """Return sittings and retirements; `ends` gives for a reed the day of its last sitting and why it left.

    A reed that is "worn_out" is rated 3 on its last two days; the others play on every day of the plan.
    """
    rows, gone = [], []
    for u in p.units:
        last, why = ends.get(u.unit, (p.days, ""))
        for day in range(1, last + 1):
            worn = why == "worn_out" and day > last - 2
            habit = p.habit_for(u.unit, day)
            assert habit is not None
            rows.append({"date": on(day), "reed": u.unit, "order": 1, "play_min": 60 * hours,
                         "overall": 3.0 if worn else 7.0 + (day % 3) / 2, "habit": habit.key})
        if why:
            gone.append({"reed": u.unit, "date": on(last), "reason": why})
    return rows, gone


def of_way(p: Protocol, key: str) -> list[str]:
    """Return the units dealt to a way."""
    return [u.unit for u, k in zip(p.units, p.dealt, strict=True) if k == key]


def _read(p: Protocol, rows: list[Row], **more: Any) -> TrialResult:
    how = {k: more.pop(k) for k in ("open_early", "today") if k in more}
    return analyse(p, frames(p, rows, **more), today=how.pop("today", after(p)), **how)


def _lives(p: Protocol, ends: Mapping[str, tuple[int, str]], **more: Any) -> TrialResult:
    rows, gone = lives(p, ends)
    return _read(p, rows, retirements=gone, **more)


def _life_plan(**more: Any) -> Protocol:
    return by_reed((8, 8), outcome="life_hours", days=20, **more)


def none_worn_out() -> TrialResult:
    """A trial of lives in which two reeds broke and none wore out."""
    p = _life_plan()
    a, b = of_way(p, A.key), of_way(p, B.key)
    return _lives(p, {a[0]: (9, "damaged"), b[0]: (14, "damaged")})


def one_worn_out() -> TrialResult:
    p = _life_plan()
    return _lives(p, {of_way(p, A.key)[2]: (12, "worn_out")})


def two_worn_out() -> TrialResult:
    p = _life_plan()
    a = of_way(p, A.key)
    return _lives(p, {a[1]: (10, "worn_out"), a[5]: (16, "worn_out"), of_way(p, B.key)[0]: (8, "lost")})


def worn_out_with_one_way() -> TrialResult:
    """Seven reeds wore out with one way and none with the other: a range open on one side, and no best guess."""
    p = _life_plan()
    return _lives(p, {r: (6 + 2 * k, "worn_out") for k, r in enumerate(of_way(p, A.key)[:7])})


def all_missing_with_one_way() -> TrialResult:
    p = by_reed((2,) * 6)
    rows = [r for r in rated(p, near(6, 1, 0.5)) if r["habit"] == A.key]
    return _read(p, rows)


def all_alike() -> TrialResult:
    p = squares()
    return _read(p, rated(p, lambda *_: 7.0))


def open_on_both_sides() -> TrialResult:
    """Five pairs: whatever the ratings, the range has no end."""
    p = by_reed((2,) * 5)
    return _read(p, rated(p, near(6, 1.5, 0.4)))


def open_on_one_side() -> TrialResult:
    """Lives with a best guess, and a range without an upper end."""
    p = _life_plan()
    a, b = of_way(p, A.key), of_way(p, B.key)
    ends = {r: (5 + 2 * k, "worn_out") for k, r in enumerate(a[:7])}
    return _lives(p, {**ends, b[0]: (11, "worn_out"), b[1]: (19, "worn_out")})


def two_boxes() -> TrialResult:
    by_box = {"1": [f"1-{n:02d}" for n in range(1, 6)], "2": [f"2-{n:02d}" for n in range(1, 6)]}
    habits = box_habits(by_box)
    units, is_b, slots = box_units(by_box, 14, 2, seed=4, rng=np.random.default_rng(4))
    p = Protocol(trial="Two boxes", question="cut_or_strength", ask="Which of these two boxes plays better for me?",
                 instrument="clarinet", habits=habits, design="day_by_day", outcome="day_rating", matters=1.0,
                 start=on(1), days=14, units=units, dealt=tuple(habits[int(x)].key for x in is_b), slots=slots, seed=4)
    rng = np.random.default_rng(9)
    mine = {r: rng.normal(6 + 1.2 * r.startswith("2"), 0.6) for r in p.reeds}
    return _read(p, rated(p, lambda reed, day, habit: float(np.round(2 * (mine[reed] + rng.normal(0, 0.5))) / 2)))


def one_reed_left() -> TrialResult:
    """Of six pairs, all but one reed were lost before they were rated three times."""
    p = by_reed((2,) * 6)
    keep = p.reeds[0]
    rows = [r for r in rated(p, near(6, 1, 0.5)) if r["reed"] == keep or r["date"] <= on(3)]
    gone = [{"reed": r, "date": on(4), "reason": "lost"} for r in p.reeds if r != keep]
    return _read(p, rows, retirements=gone)


def sameness() -> TrialResult:
    p = squares(14)
    return _read(p, rated(p, near(6.5, 0.1, 0.5, seed=3)))


def better_but_small() -> TrialResult:
    p = squares(14)
    return _read(p, rated(p, near(6.0, 0.8, 0.6, seed=5)))


def better_surely() -> TrialResult:
    p = squares(14)
    return _read(p, rated(p, near(5.0, 2.5, 0.5, seed=6)))


def early_look() -> TrialResult:
    p = squares(14)
    return _read(p, [r for r in rated(p, near(6, 1.5, 0.6, seed=7)) if r["date"] <= on(12)], today=on(12),
                 open_early=True)


def ended_by_hand() -> TrialResult:
    p = squares(14)
    rows = [r for r in rated(p, near(6, 0.6, 0.8, seed=8)) if r["date"] <= on(11)]
    trials = [{"trial": p.trial, "started": p.start, "ended": on(11), "ended_why": "A cold, and then a tour",
               "protocol_sha256": p.sha256, "protocol": p.to_json()}]
    return _read(p, rows, trials=trials)


def looked_twice() -> TrialResult:
    """A finished trial of sameness after two early looks: its range is at 952 in 1,000."""
    p = squares(14)
    looks = [{"trial": p.trial, "date": on(d), "why": "curious"} for d in (8, 15)]
    return _read(p, rated(p, near(6.5, 0.9, 0.7, seed=12)), looks=looks)


def old_diary() -> TrialResult:
    p = one_a_day(10, how_dealt="not", question="wetting")
    return _read(p, rated(p, near(6, 0.8, 0.7, seed=10)))


ODD: Final = (Habit("k1", "on the windowsill, “flat side” up (Müller's way)"),
              Habit("k2", 'the "long" soak: ten minutes in lukewarm water, then a wipe with grandfather\'s old linen '
                          "cloth, then straight into the case."))


def odd_names() -> TrialResult:
    """Long names with quotes, umlauts and commas."""
    p = _in_other_words(squares(7), ODD)
    rng = np.random.default_rng(11)
    return _read(p, rated(p, lambda reed, day, key: float(np.clip(np.round(2 * (
        6 + 1.3 * (key == "k2") + rng.normal(0, 0.5))) / 2, 0, 10))))


def _in_other_words(p: Protocol, habits: tuple[Habit, Habit]) -> Protocol:
    """Return the plan with two other ways, dealt to the same units."""
    return replace(p, habits=habits, dealt=tuple(habits["AB".index(x)].key for x in p.arms))


def at_the_ceiling() -> TrialResult:
    p = squares(14)
    return _read(p, rated(p, near(9.8, 0.1, 0.5, seed=13)))


def one_set_lost() -> TrialResult:
    """Of seven matched sets one lost a reed that broke on the second day."""
    p = by_reed((2,) * 7)
    lost = p.units[0].unit
    rows = [r for r in rated(p, near(6, 1.2, 0.6, seed=14)) if r["reed"] != lost or r["date"] <= on(2)]
    return _read(p, rows, retirements=[{"reed": lost, "date": on(2), "reason": "damaged"}])


def stopped_before_the_cap() -> TrialResult:
    """Rotation, until every reed is done: ended by hand with reeds still short of the cap."""
    p = _in_other_words(
        by_reed((8,), outcome="life_hours", days=30, slots=False, same_days=False, cap_hours=25.0, question="rotation"),
        (Habit("single", "one reed at a time"), Habit("turns", "taking reeds in turn")))
    a = of_way(p, "single")
    rows, gone = lives(p, {r: (8 + 3 * k, "worn_out") for k, r in enumerate(a)})
    trials = [{"trial": p.trial, "started": p.start, "ended": on(20), "ended_why": "moved house",
               "protocol_sha256": p.sha256, "protocol": p.to_json()}]
    rows = [r for r in rows if r["date"] <= on(20)]
    return _read(p, rows, retirements=gone, trials=trials, today=on(25))


def masked() -> TrialResult:
    """A helper hid which was which, and the player guessed."""
    p = by_reed((8,), masked="helper", expected=B.key)
    guesses = [{"trial": p.trial, "unit": u.unit, "habit": B.key if k % 3 else None, "date": after(p)}
               for k, u in enumerate(p.units)]
    return _read(p, rated(p, near(5.5, 1.5, 0.5, seed=15)), guesses=guesses)


MAKERS: Final = (
    none_worn_out, one_worn_out, two_worn_out, worn_out_with_one_way, all_missing_with_one_way, all_alike,
    open_on_both_sides, open_on_one_side, two_boxes, one_reed_left, sameness, better_but_small, better_surely,
    early_look, ended_by_hand, looked_twice, old_diary, odd_names, at_the_ceiling, one_set_lost,
    stopped_before_the_cap, masked)


def write_pages(folder: Path) -> list[Path]:
    """Write every trial's page as text and HTML; return the files."""
    folder.mkdir(parents=True, exist_ok=True)
    out = []
    for k, make in enumerate(MAKERS, start=1):
        a = answer(make())
        for ending, text in (("txt", a.to_text(110)), ("html", a.to_html())):
            path = folder / f"{k:02d}-{make.__name__}.{ending}"
            path.write_text(text, encoding="utf8")
            out.append(path)
    return out
