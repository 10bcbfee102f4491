"""From frames to an answer: seals, states, readings and the frames of a result."""

from __future__ import annotations

import dataclasses
import math
from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from reedlab.analysis.remarks.catalogue import REMARKS, remark
from reedlab.analysis.shuffling.compare import compare
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.analysis.trial import analyse
from reedlab.errors import ProtocolError
from reedlab.rows.tables import Frames
from reedlab.trial.dealing import all_arrangements, layout_of
from reedlab.trial.protocol import Protocol

from ._players import A, B, after, by_reed, frames, on, one_a_day, rated, squares


def noisy(gap: float = 1.0, seed: int = 3, sd: float = 0.7):
    rng = np.random.default_rng(seed)
    level: dict[str, float] = {}

    def rating(reed: str, day: int, habit: str) -> float:
        q = level.setdefault(reed, float(rng.normal(6, 0.8)))
        return float(np.clip(np.round(2 * (q + gap * (habit == B.key) + rng.normal(0, sd))) / 2, 0, 10))

    return rating


def codes(result) -> set[str]:
    return {r.code for r in result.remarks}


# --- sealed, opened, ended ----------------------------------------------------------------------


@pytest.mark.parametrize("make", [squares, by_reed, lambda: by_reed((4, 4), outcome="life_hours")])
def test_a_running_trial_is_sealed(make) -> None:
    p = make()
    f = frames(p, rated(p, noisy()))
    r = analyse(p, f, today=on(5))
    assert r.state == "running"
    assert r.main is r.as_done is r.damage_counts is r.settle is r.units is r.points is None
    assert r.also_seen == r.second_opinion == ()
    assert all(REMARKS[c].sealed_ok for c in codes(r))


def test_nothing_of_a_running_trial_changes_when_one_habit_is_rated_higher() -> None:
    p = squares()
    one, two = (analyse(p, frames(p, rated(p, noisy(gap, sd=0.3))), today=on(9)) for gap in (0.0, 2.0))
    assert one == two


def test_rows_after_today_do_not_count() -> None:
    p = squares()
    rows = rated(p, noisy())
    early = [r for r in rows if r["date"] <= on(6)]
    one, two = (analyse(p, frames(p, x), today=on(6), open_early=True, side_readings=False) for x in (rows, early))
    assert one.main == two.main


def test_an_early_look_is_dear_and_never_claims_sameness() -> None:
    p = squares()
    r = analyse(p, frames(p, rated(p, lambda *_: 6.0)), today=on(13), open_early=True, side_readings=False)
    assert (r.state, r.main.verdict, r.looks) == ("opened_early", "cannot_tell", 1)
    assert r.main.level == pytest.approx(0.999)
    look = next(x for x in r.remarks if x.code == "early_look")
    assert look.fact("can_claim") == 0.0
    assert "block_lost" not in codes(r)
    assert next(x for x in r.remarks if x.code == "could_never_tell").fact("why") == "early"
    assert r.settle is None  # a forecast, only where it is asked for


def test_with_enough_sets_an_early_look_can_name_a_winner() -> None:
    p = squares(13)
    r = analyse(p, frames(p, rated(p, noisy(3.0, sd=0.2))), today=on(24), open_early=True, side_readings=False)
    assert r.main.verdict == "b_better"
    assert next(x for x in r.remarks if x.code == "early_look").fact("can_claim") == 1.0


def test_looks_before_the_end_cost_and_later_ones_do_not() -> None:
    p = squares()
    looks = [{"trial": "t", "date": on(d), "why": "?"} for d in (3, 8, 20)]
    r = analyse(p, frames(p, rated(p, noisy()), looks=looks), today=on(21), side_readings=False)
    assert r.looks == 2
    assert r.main.level == pytest.approx(0.952)
    assert next(x for x in r.remarks if x.code == "looks_paid").fact("p_final") == pytest.approx(0.048)


def test_ended_by_hand_is_read_as_an_early_look() -> None:
    p = squares()
    row = [{"trial": "t", "started": p.start, "ended": on(9), "ended_why": "moved house",
            "protocol_sha256": p.sha256, "protocol": p.to_json()}]
    r = analyse(p, frames(p, rated(p, noisy()), trials=row), today=on(30), side_readings=False)
    assert r.state == "ended_early"
    assert r.main.level == pytest.approx(0.999)
    assert next(x for x in r.remarks if x.code == "ended_early").fact("why") == "moved house"
    assert r.points["day"].max() <= 9


def test_an_old_diary_is_only_a_hint() -> None:
    p = squares(how_dealt="not")
    r = analyse(p, frames(p, rated(p, noisy(3.0))), today=on(5), side_readings=False)
    assert (r.state, r.main.verdict) == ("diary", "hint_only")
    assert "not_randomised" in codes(r)


def test_a_life_trial_is_finished_as_soon_as_every_reed_is() -> None:
    p = by_reed((2, 2), outcome="life_hours", days=200, slots=False)
    rows = [{"date": on(d), "reed": r, "play_min": 60, "overall": 8 if d < 5 else 3} for r in p.reeds
            for d in range(1, 8)]
    f = frames(p, rows)
    assert analyse(p, f, today=on(7), side_readings=False).state == "finished"
    assert analyse(p, frames(p, rows[:-3]), today=on(7)).state == "running"


def test_where_the_habit_sets_the_hours_the_trial_runs_until_every_reed_is_done() -> None:
    p = by_reed((4, 4), outcome="life_hours", days=10, slots=False, same_days=False, cap_hours=20.0)
    rows = [{"date": on(d), "reed": r, "play_min": 60, "overall": 8} for r in p.reeds for d in range(1, 13)]
    running = analyse(p, frames(p, rows), today=on(40))
    assert running.state == "running"
    assert (running.progress.day, running.progress.days, running.progress.last_day) == (12, 10, on(10).isoformat())
    done = [{"date": on(d), "reed": r, "play_min": 60, "overall": 8} for r in p.reeds for d in range(1, 21)]
    assert analyse(p, frames(p, done), today=on(40), side_readings=False).state == "finished"
    row = [{"trial": "t", "started": p.start, "ended": on(15), "protocol_sha256": p.sha256,
            "protocol": p.to_json()}]
    r = analyse(p, frames(p, rows, trials=row), today=on(40), side_readings=False)
    assert (r.state, r.main.verdict) == ("ended_early", "cannot_tell")
    assert "stopped_before_cap" in codes(r)


def test_an_empty_trial_says_nothing_and_does_not_fail() -> None:
    lives, wear = by_reed((4, 4), outcome="life_hours"), by_reed(outcome="wear_rate")
    for p in (squares(), one_a_day(), by_reed(), lives, wear):
        r = analyse(p, frames(p, []), today=after(p))
        assert r.main.verdict == "cannot_tell"
        assert np.isnan(r.main.estimate)
        assert r.main.p_value == 1.0


# --- readings -----------------------------------------------------------------------------------


def test_without_adjustment_the_answer_is_that_of_compare() -> None:
    p = by_reed((4, 6))
    r = analyse(p, frames(p, rated(p, noisy())), today=after(p), side_readings=False)
    c = compare(r.units["value"], r.units["arm"], r.units["block"])
    for name in ("estimate", "p_value", "low", "high", "low90", "high90", "least_p", "arrangements"):
        assert getattr(r.main, name) == pytest.approx(getattr(c, name)), name
    assert r.as_done == dataclasses.replace(r.main, reading="as_done", verdict=None, exceeds=None)


def test_lives_are_those_of_compare_lives_and_damage_is_read_both_ways() -> None:
    p = by_reed((4, 4), outcome="life_hours", days=30, slots=False)
    rows, gone = [], []
    for i, reed in enumerate(p.reeds):
        life = 5 + 2 * i
        rows += [{"date": on(d), "reed": reed, "play_min": 60, "overall": 8 if d < life else 3}
                 for d in range(1, min(life + 1, 30) + 1)]
        gone += [{"reed": reed, "date": on(life + 2), "reason": "worn_out"}] if i < 6 else []
    rows = [r for r in rows if r["reed"] != p.reeds[7] or r["date"] <= on(4)]
    gone.append({"reed": p.reeds[7], "date": on(5), "reason": "damaged"})
    r = analyse(p, frames(p, rows, retirements=gone), today=after(p))
    u = r.units
    c = compare_lives(u["hours"], u["worn_out"], u["arm"], u["block"], matters=p.matters, seed=p.seed)
    assert r.main.estimate == pytest.approx(c.ratio)
    assert (r.main.p_value, r.main.events) == (pytest.approx(c.p_value), c.events)
    d = compare_lives(u["hours"], u["worn_out"] | (u["ended"] == "damaged"), u["arm"], u["block"], seed=p.seed)
    assert r.damage_counts.p_value == pytest.approx(d.p_value)
    assert sum(r.damage_counts.events) == sum(c.events) + 1
    assert [f.verdict for f in r.also_seen] == [None] * len(r.also_seen)


def test_read_as_done_divides_by_the_share_on_the_habit_and_keeps_the_deal() -> None:
    """Half the B sittings were done on A: u(d) = u − d·share, the dealt arms reshuffled (counted by hand)."""
    p = by_reed((2,) * 6)
    rows = rated(p, noisy(1.5))
    for i, r in enumerate(rows):
        if r["habit"] == B.key and i % 2:
            r["habit"] = A.key
    r = analyse(p, frames(p, rows), today=after(p), side_readings=False)
    share = r.units["share_b"].to_numpy()
    value = r.units["value"].to_numpy()
    is_b = (r.units["arm"] == "B").to_numpy()
    sign = np.where(is_b, 1.0, -1.0)
    set_of = pd.factorize(r.units["block"])[0]
    gap = np.array([(sign * value)[set_of == k].sum() for k in range(6)])
    turn = np.array([(sign * share)[set_of == k].sum() for k in range(6)])
    assert r.as_done.estimate == pytest.approx(gap.sum() / turn.sum())
    assert r.as_done.p_value == r.main.p_value
    assert "plan_not_followed" in codes(r)
    assert r.as_done.estimate > r.main.estimate


def test_swapping_the_habits_mirrors_the_whole_answer() -> None:
    p = squares(adjust=("age_hours",))
    rows = rated(p, noisy(0.7))
    turned = dataclasses.replace(p, dealt=tuple(A.key if k == B.key else B.key for k in p.dealt))
    swap = [{**r, "habit": A.key if r["habit"] == B.key else B.key} for r in rows]
    one = analyse(p, frames(p, rows), today=after(p), side_readings=False).main
    two = analyse(turned, frames(turned, swap), today=after(p), side_readings=False).main
    assert two.estimate == pytest.approx(-one.estimate)
    assert (two.low, two.high) == (pytest.approx(-one.high), pytest.approx(-one.low))
    assert two.p_value == pytest.approx(one.p_value)


def test_a_missing_row_and_an_empty_rating_give_the_same_answer() -> None:
    p = squares(adjust=("age_hours", "humidity"))
    rows = [{**r, "play_min": 20.0} for r in rated(p, noisy())]
    empty = [{**r, "overall": None} if i in (3, 17) else r for i, r in enumerate(rows)]
    gone = [{**r, "overall": None, "where": "practice"} if i in (3, 17) else r for i, r in enumerate(rows)]
    one, two = (analyse(p, frames(p, x), today=after(p), side_readings=False).main for x in (empty, gone))
    assert one == two
    last = [r for i, r in enumerate(rows) if i < len(rows) - 2]
    blank = [{**r, "overall": None} if i >= len(rows) - 2 else r for i, r in enumerate(rows)]
    one, two = (analyse(p, frames(p, x), today=after(p), side_readings=False).main for x in (last, blank))
    assert one == two


def test_adding_a_point_to_every_rating_changes_nothing() -> None:
    p = squares(adjust=("age_hours", "order"))
    rows = [{**r, "overall": min(r["overall"], 9.0)} for r in rated(p, noisy())]
    more = [{**r, "overall": r["overall"] + 1} for r in rows]
    one, two = (analyse(p, frames(p, x), today=after(p), side_readings=False).main for x in (rows, more))
    assert two.estimate == pytest.approx(one.estimate)
    assert (two.low, two.high, two.p_value) == (
        pytest.approx(one.low), pytest.approx(one.high), pytest.approx(one.p_value))


@pytest.mark.slow
def test_bad_days_that_decide_the_habit_make_no_false_alarm_when_read_as_done() -> None:
    """No true gap; on bad days the player falls back to one habit. Of all 36 deals at most a have p <= a."""
    rng = np.random.default_rng(11)
    p0 = by_reed((4, 4), days=12)
    bad = rng.random(13) < 0.4
    rating = {(s.reed, s.day): float(rng.normal(7 - 3 * bad[s.day], 0.5)) for s in p0.slots}
    p_values = []
    for is_b in np.vstack(list(all_arrangements(layout_of(p0.blocks, 2)))):
        p = dataclasses.replace(p0, dealt=tuple(B.key if b else A.key for b in is_b))
        rows = rated(p, lambda r, d, h: rating[r, d])
        for row in rows:
            if bad[(row["date"] - p.start).days + 1]:
                row["habit"] = A.key
        p_values.append(analyse(p, frames(p, rows), today=after(p), side_readings=False).as_done.p_value)
    assert len(p_values) == 36
    for alpha in (0.06, 0.12, 0.25, 0.5):
        assert np.mean(np.array(p_values) <= alpha + 1e-12) <= alpha + 1e-12


# --- progress and frames ------------------------------------------------------------------------


def test_progress_counts_what_is_due() -> None:
    p = squares()
    rows = [r for r in rated(p, noisy()) if r["date"] <= on(4)][:-1]
    g = analyse(p, frames(p, rows), today=on(4)).progress
    assert (g.day, g.days, g.last_day) == (4, 14, on(14).isoformat())
    assert (g.sittings_planned, g.sittings_rated) == (7, 7)  # today's eighth is not late yet
    g = analyse(p, frames(p, rows), today=on(5)).progress
    assert (g.sittings_planned, g.sittings_rated) == (8, 7)
    assert g.play_hours == pytest.approx(7 / 3)
    assert g.as_planned_share == 1.0


def test_progress_before_the_first_day_and_without_logged_habits() -> None:
    p = squares()
    g = analyse(p, frames(p, []), today=p.start - timedelta(days=3)).progress
    assert (g.day, g.sittings_planned, g.as_planned_share) == (0, 0, None)


def test_the_frames_of_a_result_have_a_row_per_unit_and_per_rating() -> None:
    p = squares()
    r = analyse(p, frames(p, rated(p, noisy())[:-4]), today=after(p), side_readings=False)
    assert list(r.units) == ["unit", "block", "arm", "habit", "value", "hours", "ended", "worn_out", "used",
                             "reed", "share_b"]
    assert r.units["used"].tolist() == [True] * 12 + [False] * 2
    assert len(r.points) == 24
    assert r.points["reed"].nunique() == 4
    mean = r.points.groupby("unit")["rating"].mean()
    used = r.units[r.units["used"]].set_index("unit")["value"]
    pd.testing.assert_series_equal(mean.sort_index(), used.sort_index(), check_names=False)


def test_second_opinions_are_given_and_never_decide() -> None:
    p = by_reed((2,) * 6)
    r = analyse(p, frames(p, rated(p, noisy())), today=after(p))
    methods = {m for m, _, _ in r.second_opinion}
    assert {"paired t", "Wilcoxon signed rank", "effect size (Hedges g)"} <= methods
    plain = analyse(p, frames(p, rated(p, noisy())), today=after(p), side_readings=False)
    assert plain.main == r.main


def test_second_opinions_say_where_they_are_not_defined() -> None:
    p = by_reed((4, 4))
    r = analyse(p, frames(p, rated(p, lambda *_: 6.0)), today=after(p))
    assert any("not defined" in q for _, q, _ in r.second_opinion)


def test_a_remark_wants_exactly_its_own_facts() -> None:
    with pytest.raises(ValueError, match="unsure_reed"):
        remark("unsure_reed", reeds=1)
    with pytest.raises(KeyError):
        remark("no_such_thing")


# --- a trial that may be read early ---------------------------------------------------------------


def test_a_trial_that_may_be_read_early_goes_by_the_odds_and_pays_nothing() -> None:
    p = squares(13, read_early=True)
    f = frames(p, rated(p, noisy(3.0, sd=0.5)))
    look = analyse(p, f, today=on(18), open_early=True, side_readings=False)
    odds = look.on_the_way
    assert look.main.verdict == "b_better"
    assert odds.decides
    assert odds.bar == pytest.approx(25)
    assert odds.most >= 25
    assert look.main.p_value == pytest.approx(1 / odds.most)
    assert look.main.low > 0
    assert look.main.level == pytest.approx(0.96)
    assert "odds_on_the_way" in codes(look)
    assert "early_look" not in codes(look)
    assert math.isnan(odds.left)
    end = analyse(p, f, today=after(p), side_readings=False)
    assert (end.main.verdict, end.on_the_way.decides) == ("b_better", False)
    seen = dataclasses.replace(f, looks=Frames.trusted(looks=[
        {"trial": p.trial, "date": on(d), "why": "curious"} for d in (5, 9, 18)]).looks)
    after_looks = analyse(p, seen, today=after(p), side_readings=False)
    assert after_looks.main == end.main  # a look costs nothing
    assert "looks_paid" not in codes(after_looks)


def test_an_early_read_of_alike_ways_names_nobody_and_never_says_alike() -> None:
    p = squares(13, read_early=True)
    r = analyse(p, frames(p, rated(p, noisy(0.0, sd=0.3))), today=on(20), open_early=True, side_readings=False)
    assert r.main.verdict == "cannot_tell"
    assert r.main.low < 0 < r.main.high
    assert r.on_the_way.most < 25


def test_a_block_is_bet_on_once_it_can_change_no_more() -> None:
    p = squares(13, read_early=True)
    rows = [s for s in rated(p, noisy(1.0)) if not (s["date"] == on(8) and s["order"] == 2)]
    evening, morning = (analyse(p, frames(p, rows), today=on(d), open_early=True, side_readings=False).on_the_way
                        for d in (8, 9))
    assert [d for d, _ in evening.course] == [2, 4, 6]  # on day 8 itself the second rating may still come
    assert [d for d, _ in morning.course] == [2, 4, 6, 8]
    assert evening.course == morning.course[:3]


def test_a_winner_named_on_the_way_stays_named_at_the_end() -> None:
    p = squares(20, read_early=True)
    turned = noisy(2.5, sd=0.3)

    def rating(reed: str, day: int, habit: str) -> float:
        return turned(reed, day, habit) if day <= 22 else turned(reed, day, A.key if habit == B.key else B.key)

    f = frames(p, rated(p, rating))
    early = analyse(p, f, today=on(20), open_early=True, side_readings=False)
    end = analyse(p, f, today=after(p), side_readings=False)
    assert early.main.verdict == end.main.verdict == "b_better"
    assert end.on_the_way.decides
    assert end.main.p_value == pytest.approx(1 / end.on_the_way.most)
    assert end.main.low > 0


def test_only_coins_may_be_read_early() -> None:
    with pytest.raises(ProtocolError, match="may be read early"):
        by_reed(read_early=True)
    plain, early = squares(), squares(read_early=True)
    assert "read_early" not in plain.to_json()
    assert Protocol.from_json(early.to_json()) == early
