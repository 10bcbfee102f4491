"""Each remark stands when it should, with its facts, and not otherwise."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from reedlab.analysis.remarks.catalogue import REMARKS
from reedlab.analysis.trial import analyse
from reedlab.trial.result import TrialResult
from reedlab.worlds import World, batch_trials, simulate, to_frames

from .._players import A, B, after, by_reed, frames, on, one_a_day, plan, rated, squares


def steady(reed: str, day: int, habit: str) -> float:
    return 5.0 + (sum(map(ord, reed)) + 3 * day) % 5 * 0.5 + (habit == B.key)


def calm():
    rng = np.random.default_rng(7)
    return lambda reed, day, habit: float(np.round(2 * rng.normal(6, 0.35)) / 2)


def read(p, rows=None, **more) -> TrialResult:
    rows = rated(p, steady) if rows is None else rows
    return analyse(p, frames(p, rows, **more), today=more.pop("today", after(p)), side_readings=False)


def facts(r: TrialResult, code: str) -> dict:
    found = [x for x in r.remarks if x.code == code]
    assert found, f"{code} is not among {[x.code for x in r.remarks]}"
    return dict(found[0].facts)


def codes(r: TrialResult) -> set[str]:
    return {x.code for x in r.remarks}


def test_a_well_kept_trial_earns_no_remark() -> None:
    assert codes(read(squares())) == set()


def test_every_remark_has_its_facts_and_a_reason_to_stand() -> None:
    assert all(k.when and k.code == code for code, k in REMARKS.items())


# --- how it was made ----------------------------------------------------------------------------


def test_five_pairs_are_too_few_and_could_never_tell() -> None:
    r = read(by_reed((2,) * 5))
    assert facts(r, "too_few_blocks")["least_p"] == 0.0625
    assert facts(r, "could_never_tell") == {"why": "too_few_blocks", "least_p": 0.0625}
    assert "too_few_blocks" not in codes(read(by_reed((2,) * 6)))


def test_one_box_and_a_box_to_each_habit() -> None:
    p = by_reed((4, 4))
    assert facts(read(p), "one_box") == {"box": "1", "reeds": 8}
    b = [u.unit for u, k in zip(p.units, p.dealt, strict=True) if k == B.key]
    split = [{"reed": r, "box": "2" if r in b else "1"} for r in p.reeds]
    assert facts(read(p, reeds=split), "box_is_arm") == {"box_a": "1", "box_b": "2"}
    mixed = [{"reed": r, "box": str(1 + i % 2)} for i, r in enumerate(p.reeds)]
    assert not codes(read(p, reeds=mixed)) & {"one_box", "box_is_arm"}


def test_ways_played_on_different_days_are_named_where_ratings_are_compared() -> None:
    p = by_reed((4, 4))
    assert "days_apart" not in codes(read(p))
    assert facts(read(dataclasses.replace(p, same_days=False)), "days_apart") == {"level": 0.95}


def test_many_ratings_of_two_reeds_are_two_reeds() -> None:
    r = read(by_reed((2,)))
    assert facts(r, "ratings_not_reeds") == {"reeds": 2, "ratings": 20, "reeds_a": 1, "reeds_b": 1}
    assert r.main.p_value == 1.0
    assert r.main.verdict == "cannot_tell"


def test_a_lasting_habit_asked_day_by_day_is_one_reed_rated_often() -> None:
    r = read(one_a_day(question="break_in"))
    assert facts(r, "ratings_not_reeds") == {"reeds": 2, "ratings": 14, "reeds_a": 2, "reeds_b": 2}


# --- on the way ---------------------------------------------------------------------------------


def test_missing_ratings_are_said_from_three_in_ten_on() -> None:
    p = squares()
    rows = rated(p, steady)
    assert "missing_days" not in codes(read(p, rows[8:]))
    assert facts(read(p, rows[9:]), "missing_days") == pytest.approx(
        {"planned": 28, "rated": 19, "missing": 9, "share": 9 / 28})
    assert facts(read(p, rows[3:]), "half_squares")["squares"] == 1


def test_a_trial_that_lost_days_off_and_a_few_ratings_is_seldom_warned() -> None:
    p = squares(7)
    batch = simulate(p, World(), 60, 4)
    missing = ~np.isfinite(batch_trials(batch).scores)
    assert (missing.mean(axis=1) >= 0.1).mean() > 0.5  # the world as assumed loses that much
    warned = ["missing_days" in codes(analyse(p, to_frames(batch, i), today=after(p), side_readings=False))
              for i in range(60)]
    assert sum(warned) <= 6


def test_a_reed_that_left_service_is_not_missing_afterwards() -> None:
    p = by_reed((4, 4))
    rows = [r for r in rated(p, steady) if r["reed"] not in p.reeds[:4] or r["date"] <= on(7)]
    gone = [{"reed": r, "date": on(7), "reason": "damaged"} for r in p.reeds[:4]]
    assert facts(read(p, rows), "missing_days")["missing"] == 4 * 6  # days 9, 11 ... 19, had the reeds gone on
    r = read(p, rows, retirements=gone)
    assert "missing_days" not in codes(r)
    assert (r.progress.sittings_planned, r.progress.sittings_rated) == (80 - 4 * 6, 80 - 4 * 6)
    one = [{"reed": p.reeds[0], "date": on(7), "reason": "damaged"}]
    rows = [r for r in rated(p, steady) if r["reed"] != p.reeds[0] or r["date"] <= on(7)]
    assert facts(read(p, rows, retirements=one), "window_short")["block"] == "set 1"


def test_units_left_out_and_sets_lost_are_named() -> None:
    p = by_reed((2,) * 7)
    rows = [r for r in rated(p, steady) if r["reed"] != p.reeds[0]]
    r = read(p, rows)
    assert facts(r, "reeds_left_out") == {"units": 1, "names": "1-01", "fewest": 3}
    assert facts(r, "block_lost")["names"] == "set 1"
    assert r.main.blocks == 6


@pytest.mark.parametrize(("off", "said"), [(1, False), (2, True)])
def test_the_other_habit_is_said_above_one_in_twenty(off: int, said: bool) -> None:
    p = squares()
    rows = rated(p, steady)
    for row in rows[:off]:
        row["habit"] = A.key if row["habit"] == B.key else B.key
    r = read(p, rows)
    assert ("plan_not_followed" in codes(r)) == said
    assert r.progress.as_planned_share == pytest.approx(1 - off / 28)


def test_habits_not_written_down_are_read_as_done_as_dealt() -> None:
    p = squares()
    r = read(p, rated(p, steady, log_habit=False))
    assert facts(r, "habit_not_logged")["share"] == 1.0
    assert r.as_done.estimate == r.main.estimate


def test_unsure_from_memory_unplanned_mouldy_worked_on_and_other_setup() -> None:
    p = squares()
    rows = rated(p, steady)
    rows[0]["unsure_reed"] = True
    for row in rows[4:8]:
        row["from_memory"] = True
    for i, row in enumerate(rows):
        row["setup"] = "old" if i < 25 else "new"
    rows.append({"date": on(1), "reed": "1-03", "play_min": 10, "overall": 9, "setup": "old"})
    reeds = [{"reed": r, "box": "1", "worked_on": on(3) if r == "1-02" else None} for r in p.reeds]
    r = read(p, rows, reeds=reeds, setups=[{"setup": "old"}, {"setup": "new"}],
             retirements=[{"reed": "1-04", "date": on(14), "reason": "mouldy"}])
    assert facts(r, "unsure_reed") == {"sittings": 1}
    assert facts(r, "from_memory")["sittings"] == 4
    assert facts(r, "unplanned_ratings") == {"sittings": 1, "confirmed": 0}
    assert facts(r, "setup_changed") == {"setups": "new, old", "sittings": 3}
    assert facts(r, "worked_on") == {"reeds": 1, "names": "1-02"}
    assert facts(r, "mouldy") == {"reeds": 1, "names": "1-04"}


def test_overplayed_reeds_but_not_where_the_habit_is_to_play_on() -> None:
    p = by_reed((4, 4), days=4)
    rows = [{**r, "play_min": 100} for r in rated(p, steady)]
    assert facts(read(p, rows), "overplayed") == {"reed_days": 16, "reeds": 8, "limit_min": 60,
                                                    "confirmed": 0}
    free = dataclasses.replace(p, overrides=((A.key, "daily_limit_min", 720.0), (B.key, "daily_limit_min", 30.0)))
    assert facts(read(free, rows), "overplayed")["reeds"] == 4
    assert "overplayed" not in codes(read(p, [{**r, "play_min": 75} for r in rows]))


def test_what_was_confirmed_when_it_was_entered_is_counted() -> None:
    p = by_reed((4, 4), days=4)
    rows = [{**r, "play_min": 100} for r in rated(p, steady)]
    rows[0]["confirmed"] = True
    rows.append({**rows[0], "sitting": None, "play_min": 1, "overall": None})  # that reed and day once
    assert facts(read(p, rows), "overplayed")["confirmed"] == 1
    p = squares()
    rows = rated(p, steady)
    for k, row in enumerate(rows[:4]):
        row["habit"] = A.key if row["habit"] == B.key else B.key
        row["confirmed"] = k < 3
    rows.append({"date": on(1), "reed": "1-03", "play_min": 10, "overall": 9, "confirmed": True})
    r = read(p, rows)
    assert facts(r, "plan_not_followed")["confirmed"] == 3
    assert facts(r, "unplanned_ratings") == {"sittings": 1, "confirmed": 1}


def test_new_reeds_have_their_ramp() -> None:
    p = by_reed((4, 4), days=6, from_new=True)
    rows = [{**r, "play_min": {1: 10, 2: 10, 3: 25, 4: 25}.get((r["date"] - p.start).days + 1, 45)}
            for r in rated(p, steady)]
    assert "overplayed" not in codes(read(p, rows))
    assert facts(read(p, [{**r, "play_min": 45} for r in rows]), "overplayed")["reed_days"] == 16


def test_air_that_drifts_and_air_that_falls_unevenly() -> None:
    p = one_a_day(7)
    drift = [{"date": on(d), "humidity_pct": 30 + 2 * d, "temp_c": 20} for d in range(1, 15)]
    assert facts(read(p, days=drift), "weather_drifted")["kind"] == "humidity"
    arm = {c: k for u, k in zip(p.units, p.dealt, strict=True) for c in u.cells}
    of_day = {d: k for (_, d), k in arm.items()}
    uneven = [{"date": on(d), "humidity_pct": 60 if of_day[d] == B.key else 40} for d in range(1, 15)]
    r = read(p, days=uneven)
    assert facts(r, "weather_uneven") == {"kind": "humidity", "mean_a": 40.0, "mean_b": 60.0}
    assert "weather_drifted" not in codes(r)


# --- ratings ------------------------------------------------------------------------------------


def test_a_quarter_at_ten_holds_sameness_back() -> None:
    p = squares(9)
    rows = rated(p, lambda r, d, h: 10.0 if d % 3 == 0 else 8.0 + d % 2 * 0.5)
    r = read(p, rows)
    assert facts(r, "ceiling")["end"] == "top"
    assert facts(r, "ceiling")["value"] == 10.0
    assert facts(r, "same_held_back") == {"why": "ceiling"}
    assert r.main.verdict == "cannot_tell"


def test_ratings_all_alike_hold_sameness_back() -> None:
    r = read(squares(), rated(squares(), lambda *_: 7.0))
    assert facts(r, "all_alike") == {"values": 1, "ratings": 28}
    assert facts(r, "same_held_back") == {"why": "all_alike"}


def test_sameness_is_claimed_where_nothing_holds_it_back() -> None:
    assert read(squares(), rated(squares(), calm())).main.verdict == "no_real_difference"


def test_sameness_is_held_back_where_the_reading_as_done_disagrees() -> None:
    p = squares()
    rows = rated(p, calm())
    for i, row in enumerate(rows):
        row["habit"] = A.key if row["habit"] == B.key and i % 4 else row["habit"]
    r = read(p, rows)
    assert facts(r, "same_held_back") == {"why": "as_done"}


def test_the_plans_wish_to_adjust_for_what_the_habit_sets_is_refused() -> None:
    r = read(by_reed((4, 4), same_days=False, adjust=("age_hours", "humidity")))
    left = {(x.fact("name"), x.fact("why")) for x in r.remarks if x.code == "adjust_left_out"}
    assert left == {("age_hours", "not_allowed"), ("humidity", "missing")}


def test_an_answer_that_was_expected_says_so_unless_a_helper_hid_the_ways() -> None:
    p = squares(expected=B.key)
    rows = rated(p, lambda r, d, h: 6.0 + d % 2 * 0.5 + 2 * (h == B.key))
    assert facts(read(p, rows), "knew_which") == {"masked": "none", "expected": B.key}
    assert "knew_which" not in codes(read(squares(expected=A.key), rows))
    assert "knew_which" not in codes(read(squares(expected=B.key, masked="helper"), rows))


# --- lives --------------------------------------------------------------------------------------


def test_no_worn_out_reed_could_never_tell() -> None:
    p = by_reed((4, 4), outcome="life_hours")
    r = read(p, rated(p, lambda *_: 8.0))
    assert facts(r, "few_worn_out")["worn_out"] == 0
    assert facts(r, "could_never_tell")["why"] == "no_worn_out"
    assert np.isnan(r.main.estimate)


def test_few_worn_out_reeds_reach_no_small_p_and_could_never_tell() -> None:
    """Two of eight wore out and the rest went on as long: 2·C(6, 2)/C(8, 4) = 30/70, whatever the deal."""
    p = by_reed((8,), outcome="life_hours")
    r = read(p, rated(p, lambda reed, day, _: 2.0 if reed in p.reeds[:2] and day > 5 else 8.0))
    assert sum(r.main.events) == 2
    assert r.main.least_p == pytest.approx(30 / 70)
    assert 2 / r.main.arrangements == pytest.approx(2 / 70)
    assert facts(r, "could_never_tell") == {"why": "too_few_worn_out", "least_p": r.main.least_p}


def test_worn_out_by_choice_and_worn_out_unmarked_are_named() -> None:
    p = by_reed((4, 4), outcome="life_hours")
    rows = rated(p, lambda r, d, h: 3.0 if r == "1-02" and d > 10 else 8.0)
    rows = [r for r in rows if r["reed"] != "1-01" or r["date"] <= on(9)]
    r = read(p, rows, retirements=[{"reed": "1-01", "date": on(9), "reason": "worn_out"}])
    assert facts(r, "worn_out_by_choice") == {"reeds": 1, "names": "1-01"}
    assert facts(r, "worn_out_unmarked") == {"reeds": 1, "names": "1-02"}


def test_accidents_that_fall_on_one_habit_are_said() -> None:
    p = by_reed((4, 4), outcome="life_hours")
    hurt = [u.unit for u, k in zip(p.units, p.dealt, strict=True) if k == B.key][:3]
    r = read(p, rated(p, lambda *_: 8.0),
             retirements=[{"reed": x, "date": on(20), "reason": "damaged"} for x in hurt])
    assert facts(r, "damage_uneven") == {"damaged_a": 0, "damaged_b": 3}


def test_hours_that_differ_between_the_habits_are_said() -> None:
    p = by_reed((4, 4))
    rows = [{**r, "play_min": 20 if r["habit"] == A.key else 30} for r in rated(p, steady)]
    assert facts(read(p, rows), "hours_uneven") == pytest.approx({"hours_a": 10 / 3, "hours_b": 5.0})


def test_a_wide_range_says_that_either_habit_could_still_be_better() -> None:
    rng = np.random.default_rng(1)
    p = by_reed((2,) * 6)
    level = {r: rng.normal(6, 2) for r in p.reeds}
    r = read(p, rated(p, lambda reed, d, h: float(np.clip(level[reed] + rng.normal(0, 1), 0, 10))))
    f = facts(r, "wide_range")
    assert f["low"] < -1 < 1 < f["high"]


def test_a_plan_without_slots_or_cells_is_never_called_incomplete() -> None:
    p = by_reed((4, 4), slots=False)
    rows = [{"date": on(d), "reed": r, "play_min": 20, "overall": 6 + d % 3} for r in p.reeds for d in (1, 2, 3)]
    r = read(p, rows)
    assert "missing_days" not in codes(r)
    assert r.progress.sittings_planned == r.progress.sittings_rated == 24


def test_boxes_are_read_from_the_code_where_the_reed_is_not_in_the_table() -> None:
    p = plan("reed_by_reed", "mean_rating", by_reed((4,)).units)
    assert facts(read(p, [], reeds=[{"reed": "9-99", "box": "9"}]), "one_box")["box"] == "1"
