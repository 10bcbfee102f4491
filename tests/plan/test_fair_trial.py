"""An old diary as a plan: what it counts, how it is laid out, and what it refuses. All diaries are invented."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.trial import analyse
from reedlab.errors import InputError, PlanRefused
from reedlab.plan.fair_trial import diary_frames, free_of_trials, old_diary
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Protocol
from reedlab.trial.result import Diary

FIRST = date(2025, 11, 3)
TODAY = date(2026, 2, 1)
Row = dict[str, Any]


def sitting(day: int, reed: str, rating: float | None, habit: str | None, **more: Any) -> Row:
    name = f"s{day}-{reed}-{more.get('order', 1)}-{habit}"
    return {"sitting": name, "date": FIRST + timedelta(days=day), "reed": reed, "play_min": 30.0, "overall": rating,
            "habit": habit} | more


def logbook(rows: list[Row], **more: Any) -> Frames:
    reeds = sorted({r["reed"] for r in rows})
    boxes = sorted({r.split("-")[0] for r in reeds})
    return Frames.of(
        sittings=rows, reeds=[{"reed": r, "box": r.split("-")[0]} for r in reeds],
        boxes=[{"box": b, "instrument": more.pop(f"box_{b}", "clarinet")} for b in boxes], **more)


def by_day(days: int = 12, reeds: int = 4, seed: int = 1) -> list[Row]:
    """Two of the reeds a day; water on even days, mouth on odd ones."""
    rng = np.random.default_rng(seed)
    rows = []
    for d in range(days):
        for k in range(2):
            reed = f"1-{1 + (d // 2 + k) % reeds:02d}"
            rows.append(sitting(d, reed, float(rng.integers(8, 17)) / 2, ("water", "mouth")[d % 2]))
    return rows


def by_reed(reeds: int = 6, days: int = 8, seed: int = 2, boxes: int = 1) -> list[Row]:
    """Odd reeds dry in the open, even ones go straight into the case; each is played every day."""
    rng = np.random.default_rng(seed)
    return [sitting(d, f"{1 + (n // 2) % boxes}-{n:02d}", float(rng.integers(8, 17)) / 2, ("straight", "open")[n % 2])
            for d in range(days) for n in range(1, reeds + 1)]


def read(rows: list[Row], question: str | None = None, **more: Any) -> Diary:
    settings = {k: more.pop(k) for k in ("life", "lasts") if k in more}
    return old_diary(logbook(rows, **more), question, today=TODAY, **settings)


def plain_count(rows: list[Row]) -> dict[str, tuple[int, int, int, date, date]]:
    """Entries, reeds, days, first and last day of each way, counted one by one."""
    seen: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        seen[row["habit"]].append(row)
    return {k: (len(v), len({r["reed"] for r in v}), len({r["date"] for r in v}), min(r["date"] for r in v),
                max(r["date"] for r in v)) for k, v in seen.items()}


def told(diary: Diary) -> dict[str, tuple[int, int, int, date, date]]:
    return {w.key: (w.entries, w.reeds, w.days, w.first, w.last) for w in diary.ways}


@pytest.mark.parametrize("rows", [by_day(), by_reed()], ids=["day by day", "reed by reed"])
def test_every_rating_is_counted_once_as_by_hand(rows: list[Row]) -> None:
    diary = read(rows)
    assert told(diary) == plain_count(rows)
    assert diary.left_out == ()


def test_reeds_that_served_both_ways_make_a_unit_of_each_reed_and_day() -> None:
    rows = by_day()
    plan = read(rows).protocol
    assert (plan.design, plan.outcome, plan.how_dealt, plan.question) == ("day_by_day", "day_rating", "not", "wetting")
    assert (plan.start, plan.days) == (FIRST, 12)
    for row in rows:
        day = (row["date"] - FIRST).days + 1
        habit = plan.habit_for(row["reed"], day)
        assert habit is not None
        assert habit.key == row["habit"]
    assert all(u.block == u.reeds[0] and len(u.cells) == 1 for u in plan.units)
    assert len(plan.units) == len(rows)


def test_reeds_that_kept_to_one_way_are_units_themselves() -> None:
    plan = read(by_reed()).protocol
    assert (plan.design, plan.outcome, plan.question) == ("reed_by_reed", "mean_rating", "drying")
    assert dict(zip([u.unit for u in plan.units], plan.dealt, strict=True)) == {
        f"1-{n:02d}": ("straight", "open")[n % 2] for n in range(1, 7)}


def test_each_box_is_a_matched_set_only_where_each_served_both_ways() -> None:
    assert {u.block for u in read(by_reed(8, boxes=2)).protocol.units} == {"1", "2"}
    apart = [{**r, "reed": f"{1 + (r['habit'] == 'open')}-{r['reed'][2:]}"} for r in by_reed()]
    assert {u.block for u in read(apart).protocol.units} == {"1"}


def test_a_slip_now_and_then_does_not_make_a_reed_serve_both_ways() -> None:
    rows = by_reed(days=12)
    slip = next(r for r in rows if r["reed"] == "1-01" and r["date"] == FIRST)
    slip["habit"] = "straight"
    diary = read(rows)
    assert diary.protocol.design == "reed_by_reed"
    assert told(diary)["open"][0] == 3 * 12 - 1
    frames = diary_frames(diary, logbook(rows), today=TODAY)
    assert frames.sittings["overall"].isna().sum() == 1


def test_plain_averages_are_those_of_pandas_day_by_day() -> None:
    rows = by_day()
    frames = logbook(rows)
    diary = old_diary(frames, today=TODAY)
    found = analyse(diary.protocol, diary_frames(diary, frames, today=TODAY), today=TODAY, side_readings=False)
    assert found.main is not None
    assert found.main.verdict == "hint_only"
    want = frames.sittings.groupby("habit")["overall"].mean()
    assert found.main.means == pytest.approx((want["mouth"], want["water"]))
    assert found.progress.sittings_rated == len(rows)


@pytest.mark.parametrize("days", [12, 80])
def test_the_gap_compares_each_reed_with_itself(days: int) -> None:
    """The mean of the reeds' own gaps, each weighed by how much both ways were used; also for a long diary."""
    rows = by_day(days, seed=3)
    frames = logbook(rows)
    diary = old_diary(frames, today=TODAY)
    found = analyse(diary.protocol, diary_frames(diary, frames, today=TODAY), today=TODAY, side_readings=False).main
    gaps, weights = [], []
    for reed in sorted({r["reed"] for r in rows}):
        mouth, water = ([r["overall"] for r in rows if (r["reed"], r["habit"]) == (reed, k)]
                        for k in ("mouth", "water"))
        gaps.append(sum(water) / len(water) - sum(mouth) / len(mouth))
        weights.append(len(water) * len(mouth) / (len(water) + len(mouth)))
    assert found is not None
    assert found.exact == (days == 12)
    assert found.estimate == pytest.approx(sum(g * w for g, w in zip(gaps, weights, strict=True)) / sum(weights))


def test_plain_averages_are_means_of_reed_means_reed_by_reed() -> None:
    rows = by_reed()
    frames = logbook(rows)
    diary = old_diary(frames, today=TODAY)
    found = analyse(diary.protocol, diary_frames(diary, frames, today=TODAY), today=TODAY, side_readings=False)
    reeds = frames.sittings.groupby(["habit", "reed"])["overall"].mean().groupby("habit").mean()
    assert found.main is not None
    assert found.main.means == pytest.approx((reeds["open"], reeds["straight"]))
    assert found.main.estimate == pytest.approx(reeds["straight"] - reeds["open"])
    assert not {r.code for r in found.remarks} & {
        "too_few_blocks", "plan_not_followed", "habit_not_logged", "missing_days", "unplanned_ratings"}


def test_what_cannot_be_compared_is_left_out_and_counted() -> None:
    rows = by_day()
    rows += [
        sitting(1, "1-01", None, "mouth", order=2), sitting(2, "1-03", 7.0, "mouth", where="concert"),
        sitting(3, "1-04", 7.0, "mouth", unsure_reed=True), sitting(4, "1-02", 6.0, "brush"),
        sitting(20, "1-01", 6.0, "mouth"), sitting(20, "1-01", 7.0, "water"),
        sitting(21, "1-09", 7.0, "water"), sitting(22, "1-08", 7.0, None)]
    diary = read(rows)
    assert dict(diary.left_out) == {"other_ways": 1, "unsure": 1, "unrated": 2, "both_ways": 1, "one_way": 1}
    assert told(diary) == plain_count(by_day())


def test_a_reed_with_few_ratings_or_little_played_does_not_shorten_the_rest() -> None:
    rows = by_reed(days=10)
    rows += [sitting(d, "1-07", 6.0, "open") for d in range(2)]
    rows += [sitting(d, "1-08", 6.0, "straight") for d in range(4)]
    diary = read(rows)
    assert dict(diary.left_out) == {"few_ratings": 1, "little_played": 1}
    assert set(diary.protocol.reeds) == {f"1-{n:02d}" for n in range(1, 7)}


def trial_of(rows: list[Row], **more: Any) -> Protocol:
    plan = read(rows).protocol
    return replace(plan, trial="T", how_dealt="by hand", **more)


def stored(plan: Protocol, **more: Any) -> Row:
    return {"trial": plan.trial, "started": plan.start, "protocol_sha256": plan.sha256,
            "protocol": plan.to_json()} | more


def test_entries_of_a_trial_are_never_read() -> None:
    rows = by_day()
    later = [{**r, "date": r["date"] + timedelta(days=30), "sitting": f"t{n}"} for n, r in enumerate(by_day(seed=9))]
    plan = replace(trial_of(rows), start=FIRST + timedelta(days=30))
    frames = logbook([*rows, *later], trials=[stored(plan)])
    assert list(free_of_trials(frames, TODAY)) == [True] * len(rows) + [False] * len(later)
    diary = old_diary(frames, today=TODAY)
    assert told(diary) == plain_count(rows)
    assert dict(diary.left_out) == {"in_trials": len(later)}
    with pytest.raises(InputError, match="belongs to a trial"):
        old_diary(logbook(later, trials=[stored(plan)]), today=TODAY)


def test_while_a_trial_runs_no_later_entry_of_its_ways_is_read_whatever_the_reed() -> None:
    rows = by_day()
    plan = trial_of(rows)
    other = [{**r, "reed": f"1-{int(r['reed'][2:]) + 4:02d}", "sitting": f"o{n}"} for n, r in enumerate(by_day(seed=5))]
    before = [{**r, "date": r["date"] - timedelta(days=40), "sitting": f"b{n}"} for n, r in enumerate(by_day(seed=6))]
    frames = logbook([*before, *rows, *other], trials=[stored(plan)])
    running = FIRST + timedelta(days=11)
    assert free_of_trials(frames, running).sum() == len(before)
    assert told(old_diary(frames, today=running)) == plain_count(before)
    assert free_of_trials(frames, TODAY).sum() == len(before) + len(other)


def test_a_pause_of_some_trial_does_not_shift_the_diary() -> None:
    rows = by_day()
    frames = logbook(rows, days=[{"date": FIRST + timedelta(days=2), "pause": True}])
    diary = old_diary(frames, today=TODAY)
    found = analyse(diary.protocol, diary_frames(diary, frames, today=TODAY), today=TODAY, side_readings=False)
    assert found.progress.sittings_rated == len(rows)


def lives() -> tuple[list[Row], list[Row]]:
    rows = [sitting(d, f"1-{n:02d}", None, ("straight", "open")[n % 2]) for n in range(1, 7) for d in range(4 * n)]
    gone = [{"reed": f"1-{n:02d}", "date": FIRST + timedelta(days=4 * n + 2), "reason": "worn_out"}
            for n in (1, 2, 3, 4)]
    return rows, gone


def test_life_is_counted_in_playing_hours_up_to_the_players_own_word() -> None:
    rows, gone = lives()
    frames = logbook(rows, retirements=gone)
    diary = old_diary(frames, today=TODAY, life=True)
    assert (diary.protocol.outcome, diary.protocol.worn_out_rule) == ("life_hours", "player")
    found = analyse(diary.protocol, diary_frames(diary, frames, today=TODAY), today=TODAY, side_readings=False)
    assert found.main is not None
    assert found.main.events == (2, 2)
    units = found.units
    assert units is not None
    want = {f"1-{n:02d}": 2.0 * n for n in range(1, 7)}
    assert dict(zip(units["unit"], units["hours"], strict=True)) == pytest.approx(want)


def test_life_needs_worn_out_reeds_that_kept_to_one_way() -> None:
    rows, _ = lives()
    with pytest.raises(InputError, match="no reed that was worn out"):
        read(rows, life=True)
    with pytest.raises(InputError, match="served both ways"):
        read(by_day(), life=True)


REFUSED: dict[str, tuple[list[Row], str | None, str]] = {
    "no way anywhere": ([{**r, "habit": None} for r in by_day()], None, "column `habit` is empty"),
    "one way": ([{**r, "habit": "water"} for r in by_day()], None, "All 24 entries of your diary name one way"),
    "three ways": ([*by_day(), sitting(3, "1-03", 6.0, "glass")], "own", "3 ways ('glass' 1 time, 'mouth' 12 times"),
    "other words": ([{**r, "habit": r["habit"] + "s"} for r in by_day()], "wetting", "'mouth' and 'water'. Write"),
    "two spellings": ([*by_day(), sitting(3, "1-03", 6.0, "Water")], "wetting", "one manner (Water, water)"),
    "two questions": ([*by_day(), *by_reed()], None, "wetting or drying"),
    "no ratings": ([{**r, "overall": None} for r in by_day()], None, "has a rating"),
    "few ratings": (by_day(2), None, "2 with 'mouth' and 2 with 'water'; wanted at least 3"),
    "few per reed": (by_reed(days=2), None, "no reed with 'open' or 'straight' has 3 of them"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_a_diary_that_cannot_hint_says_why_and_what_to_do(case: str) -> None:
    rows, question, words = REFUSED[case]
    with pytest.raises(InputError, match=re.escape(words)):
        read(rows, question)


def test_ways_spelt_with_other_capitals_still_belong_to_their_question() -> None:
    rows = [{**r, "habit": r["habit"].title()} for r in by_day()]
    plan = read(rows, "wetting").protocol
    assert [(h.key, h.name) for h in plan.habits] == [("Mouth", "wetting in the mouth"), ("Water", "wetting in water")]


def test_ways_that_no_question_knows_become_a_question_of_ones_own() -> None:
    rows = [{**r, "habit": {"water": "long_soak", "mouth": "lick"}[r["habit"]]} for r in by_day()]
    plan = read(rows).protocol
    assert plan.question == "own"
    assert [h.name for h in plan.habits] == ["lick", "long soak"]
    assert plan.ask == "Which is better for me, lick or long soak?"


def test_a_way_that_can_make_ill_is_refused() -> None:
    rows = [{**r, "habit": {"water": "uncleaned", "mouth": "wiped"}[r["habit"]]} for r in by_day()]
    with pytest.raises(PlanRefused, match="make you ill"):
        read(rows)


def test_reeds_of_two_instruments_are_not_read_together() -> None:
    rows = [*by_day(), *({**r, "reed": "2" + r["reed"][1:], "sitting": f"x{n}"} for n, r in enumerate(by_day()))]
    with pytest.raises(InputError, match="for alto saxophone and clarinet"):
        read(rows, box_2="alto saxophone")


def test_a_habit_that_sets_the_hours_is_compared_by_fading() -> None:
    rows = [{**r, "habit": {"open": "rotation", "straight": "single"}[r["habit"]]} for r in by_reed()]
    plan = read(rows).protocol
    assert (plan.question, plan.outcome, plan.same_days) == ("rotation", "wear_rate", True)
