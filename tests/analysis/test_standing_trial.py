"""A standing trial may be read on any day; nothing of it is sealed, and a winner once named stays named."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta

import numpy as np
import pytest

from reedlab.analysis.shuffling.follow_lives import follow_lives
from reedlab.analysis.trial import analyse
from reedlab.rows.tables import Frames, typed
from reedlab.summary import answer
from reedlab.summary.words.standing import odds_words
from reedlab.trial.opened_boxes import as_opened, deal_rows, opening, with_boxes
from reedlab.trial.protocol import Protocol

from ..readability import grade
from ..trial.test_opened_boxes import PLAN

END = date(2027, 6, 1)


def played(ratio: float, boxes: int = 4, *, seed: int = 1, chips: float = 0.15, slips: float = 0.0,
           start: Protocol = PLAN) -> tuple[Protocol, Frames]:
    """Play boxes of ten, four reeds in turn and an hour a day; the second way's lives are `ratio` times as long."""
    rng = np.random.default_rng(seed)
    plan, on = start, start.start
    sittings, gone, active, queue = [], [], [], []
    left: dict[str, float] = {}
    box = 0
    while on < END and (active or queue or box < boxes):
        while len(active) < 4 and (queue or box < boxes):
            if not queue:
                box += 1
                reeds = [f"{box}-{i:02d}" for i in range(1, 11)]
                plan = with_boxes(plan, [*deal_rows(plan), *opening(plan, reeds, on)])
                queue = list(reeds)
                for r in reeds:
                    way = plan.habit_for(r, 1)
                    left[r] = rng.weibull(2) * 9 * (ratio if way == plan.habits[1] else 1)
                    left[r + "x"] = rng.random() * 12 if rng.random() < chips else 99.0
            active.append(queue.pop(0))
        for r in active[:2]:
            way = plan.habit_for(r, 1)
            other = next(h for h in plan.habits if h != way)
            sittings.append({"date": on, "reed": r, "play_min": 60.0, "sitting": f"s{len(sittings)}",
                             "habit": (other if rng.random() < slips else way).key})
            for k in (r, r + "x"):
                left[k] -= 1
        done = [r for r in active[:2] if min(left[r], left[r + "x"]) <= 0]
        gone += [{"reed": r, "date": on, "reason": "worn_out" if left[r] <= 0 else "damaged"} for r in done]
        active = [*active[2:], *active[:2]]
        active = [r for r in active if r not in done]
        on += timedelta(days=1)
    rows = {"boxes": [{"box": str(k), "instrument": "clarinet"} for k in range(1, box + 1)],
            "reeds": [{"reed": r, "box": r.split("-")[0], "first_play": 6.0} for r in plan.reeds],
            "sittings": sittings, "retirements": gone, "deals": deal_rows(plan),
            "trials": [{"trial": plan.trial, "started": plan.start, "protocol": plan.to_json(),
                        "protocol_sha256": plan.sha256}]}
    return plan, Frames.trusted(**rows)


def as_of(frames: Frames, on: date) -> Frames:
    def cut(table: str) -> object:
        frame = getattr(frames, table)
        return frame[frame["date"].dt.date <= on]

    return replace(frames, **{t: cut(t) for t in ("sittings", "retirements", "deals")})


@pytest.fixture(scope="module")
def longer() -> tuple[Protocol, Frames]:
    return played(2.5)


def test_it_is_read_while_it_runs_and_says_what_follow_lives_says(longer: tuple[Protocol, Frames]) -> None:
    plan, frames = longer
    result = analyse(plan, frames, today=END, opinions=False)
    assert result.state == "running"
    assert result.main is not None
    assert result.odds is not None
    assert result.units is not None
    u = result.units[result.units["hours"] > 0]
    one = follow_lives(u["hours"], u["worn_out"], u["arm"], u["block"], matters=1.5, at_every_step=False)
    assert result.odds.e_value == pytest.approx(one.e_value, rel=1e-12)
    assert (result.main.verdict, result.main.estimate) == (one.verdict, one.estimate)
    assert (result.main.low, result.main.high) == (one.low, one.high)
    assert result.main.p_value == pytest.approx(1 / max(e for _, e, _ in result.odds.course))
    assert result.main.verdict == "b_better"
    assert [n for n, _ in result.odds.boxes] == [1, 2, 3, 4]


def test_each_point_of_the_course_is_the_reading_of_that_day(longer: tuple[Protocol, Frames]) -> None:
    plan, frames = longer
    course = analyse(plan, frames, today=END, opinions=False).odds.course
    for on, e_value, ends in course[::7]:
        then = as_of(frames, on)
        result = analyse(as_opened(plan, then), then, today=on, opinions=False)
        assert result.odds.e_value == pytest.approx(e_value, rel=1e-9)
        assert sum(result.main.events) <= ends
    assert [d for d, *_ in course] == sorted(d for d, *_ in course)


def test_a_winner_once_named_stays_named_and_its_range_stays_off_no_difference() -> None:
    plan, frames = played(3.0, 2, seed=2)
    named = analyse(plan, frames, today=END, opinions=False).odds.named
    assert named is not None
    worse = frames.retirements.copy()  # from then on the other way's reeds all outlive the rest
    late = (worse["date"].dt.date > named).to_numpy()
    worse.loc[late, "reason"] = [
        "damaged" if plan.habit_for(r, 1) == plan.habits[0] else "worn_out" for r in worse.loc[late, "reed"]]
    result = analyse(plan, replace(frames, retirements=worse), today=END, opinions=False)
    assert result.main.verdict == "b_better"
    assert result.main.low > 1
    assert result.odds.named == named


def test_sameness_needs_ways_that_were_kept_apart() -> None:
    """Seventeen boxes with two ways alike are called the same; not if a sitting in three was done the other way."""
    same = played(1.0, 17, seed=3, chips=0.0, start=replace(PLAN, matters=2.0))
    assert analyse(*same, today=END, opinions=False).main.verdict == "no_real_difference"
    mixed = played(1.0, 17, seed=3, chips=0.0, slips=0.34, start=replace(PLAN, matters=2.0))
    result = analyse(*mixed, today=END, opinions=False)
    assert result.main.verdict == "cannot_tell"
    assert any(r.code == "same_held_back" and r.fact("why") == "as_done" for r in result.remarks)


def test_reeds_given_up_with_one_way_hold_a_winner_back(longer: tuple[Protocol, Frames]) -> None:
    plan, frames = longer
    gone = frames.retirements.copy()
    b = [plan.habit_for(r, 1) == plan.habits[1] for r in gone["reed"]]
    gone["reason"] = ["by_choice" if x and i % 3 else why
                      for i, (x, why) in enumerate(zip(b, gone["reason"], strict=True))]
    result = analyse(plan, replace(frames, retirements=gone), today=END, opinions=False)
    assert result.main.verdict == "cannot_tell"
    assert any(u.kind == "given_up" and u.held for u in result.uneven)


def test_a_second_standing_trial_of_lives_asks_for_higher_odds(longer: tuple[Protocol, Frames]) -> None:
    plan, frames = longer
    before = replace(plan, trial="before", start=date(2025, 1, 1), units=(), dealt=(), since=())
    before = with_boxes(before, opening(before, ["1-01", "1-02"], date(2026, 1, 1)))
    row = {"trial": "before", "started": before.start, "protocol": before.to_json(), "protocol_sha256": before.sha256}
    two = replace(frames, trials=typed("trials", [row, *frames.trials.to_dict("records")]),
                  deals=typed("deals", [*deal_rows(before), *frames.deals.to_dict("records")]))
    assert analyse(plan, two, today=END, opinions=False).odds.bar > 100
    rated = replace(before, standing="", since=(), outcome="mean_rating", matters=1.0, days=10)
    row |= {"protocol": rated.to_json(), "protocol_sha256": rated.sha256}
    two = replace(frames, trials=typed("trials", [row, *frames.trials.to_dict("records")]))
    assert analyse(plan, two, today=END, opinions=False).odds.bar == pytest.approx(20)


@pytest.mark.parametrize("on", [date(2026, 1, 1), date(2026, 1, 20), date(2026, 4, 1), END])
def test_words_page_and_data_on_any_day(longer: tuple[Protocol, Frames], on: date) -> None:
    plan, frames = longer
    then = as_of(frames, on)
    said = answer(analyse(as_opened(plan, then), then, today=on, opinions=False))
    plain = json.loads(json.dumps(said.to_dict(), allow_nan=False))
    assert plain["design"] == "standing"
    assert plain["e_value"] == pytest.approx(said.result.odds.e_value)
    assert {"estimate", "low", "high", "p_value", "least_p", "verdict", "units", "blocks", "events"} <= set(plain)
    text = said.to_text()
    assert "odds of 20 to 1" in " ".join(text.split())
    assert "3660" not in said.to_html() + said.report_html()
    assert grade(said.summary) <= 8
    if on == END:
        assert "so a winner is named, and stays named" in said.summary
    else:
        assert "You may look on any day" in " ".join(text.split())


def test_before_the_first_box_it_stands_ready() -> None:
    frames = Frames.trusted(trials=[{"trial": PLAN.trial, "started": PLAN.start, "protocol": PLAN.to_json(),
                                     "protocol_sha256": PLAN.sha256}])
    said = answer(analyse(PLAN, frames, today=date(2026, 1, 2), opinions=False))
    assert "deal the first box" in said.headline
    said.to_html()
    said.report_html()


@pytest.mark.parametrize(("e", "words"), [(0.3, "below even"), (1.0, "even"), (1.09, "even"), (6.68, "6.6 to 1"),
                                          (19.99, "19 to 1"), (20.0, "20 to 1"), (1e5, "more than 1,000 to 1")])
def test_odds_are_never_told_as_higher_than_they_are(e: float, words: str) -> None:
    assert odds_words(e) == words


def test_reeds_that_ended_are_counted_alike_everywhere_while_one_way_was_not_played(
        longer: tuple[Protocol, Frames]) -> None:
    plan, frames = longer
    a = {r for r in plan.reeds if plan.habit_for(r, 1) == plan.habits[0]}
    first = list(dict.fromkeys(frames.retirements["reed"][frames.retirements["reed"].isin(a)]))[:1]
    only = replace(frames, sittings=frames.sittings[frames.sittings["reed"].isin(a)].reset_index(drop=True),
                   retirements=frames.retirements[frames.retirements["reed"].isin(first)].assign(reason="worn_out"))
    result = analyse(plan, only, today=END, opinions=False)
    assert result.main.events == (0, 0)  # nothing to hold it against
    text = " ".join(answer(result).to_text().split())
    assert "So far 1 reed has come to its end." in text
    assert "Only 1 reed came to its end, too few to say anything of life." in text
    assert "No reed came to its end" not in text
