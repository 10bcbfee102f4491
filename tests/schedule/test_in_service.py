"""A standing trial asks for nothing: its days list the reeds in service, each with its way."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from reedlab.cli.now import what_now
from reedlab.rows.tables import Frames, typed
from reedlab.schedule import schedule, what_to_play
from reedlab.screens.due import needs_rating, odd_things, running, trial_day
from reedlab.screens.today import today
from reedlab.trial.opened_boxes import deal_rows, opening, with_boxes
from reedlab.trial.protocol import Protocol

from ..trial.test_opened_boxes import PLAN
from ._plans import book, plan

ON = date(2026, 3, 20)
BOX = tuple(f"1-{i:02d}" for i in range(1, 7))
STANDING = with_boxes(PLAN, opening(PLAN, BOX, date(2026, 1, 2)))
LATE = with_boxes(PLAN, [*deal_rows(STANDING), *opening(STANDING, ("2-01", "2-02"), date(2026, 3, 21))])


def frames(plan: Protocol = STANDING, **more: list[dict[str, object]]) -> Frames:
    reeds = [{"reed": r, "box": r[0], "first_play": 6.0, **({"set_aside": True} if r == "1-06" else {})}
             for r in plan.reeds]
    rows: dict[str, list[dict[str, object]]] = {
        "boxes": [{"box": b, "instrument": "clarinet"} for b in sorted({r[0] for r in plan.reeds})], "reeds": reeds,
        "trials": [{"trial": plan.trial, "started": plan.start, "protocol": plan.to_json(),
                    "protocol_sha256": plan.sha256}],
        "deals": deal_rows(plan), **more}
    made = Frames.trusted(**rows)
    return replace(made, **{t: getattr(made, t).assign(entry_id=range(1, len(getattr(made, t)) + 1))
                            for t in ("sittings", "trials")})


SAT = [{"date": ON, "reed": "1-01", "play_min": 30.0, "sitting": "a"}]
GONE = [{"reed": "1-02", "date": date(2026, 3, 1), "reason": "worn_out"},
        {"reed": "1-03", "date": ON, "reason": "damaged"}]


def test_reeds_in_service_are_listed_with_their_ways_and_nothing_is_owed() -> None:
    day = what_to_play(LATE, frames(LATE, sittings=SAT, retirements=GONE), ON)
    assert [x.reed for x in day.lines] == ["1-01", "1-04", "1-05"]  # gone, set aside and not yet dealt: not there
    assert [x.habit for x in day.lines] == [STANDING.habit_for(r, 1).key for r in ("1-01", "1-04", "1-05")]
    assert [x.done for x in day.lines] == [True, False, False]
    assert not any(x.rate or x.minutes for x in day.lines)
    week = schedule(LATE, frames(LATE, sittings=SAT, retirements=GONE), today=ON)
    assert len(week.days) == 7
    assert {"2-01", "2-02"} <= {x.reed for x in week.days[1].lines}


def test_today_does_not_nag() -> None:
    held = frames(sittings=SAT)
    days = running({PLAN.trial: STANDING}, held, ON)
    assert not days[0].missing
    assert not needs_rating({"reed": "1-04", "where": None}, days)
    entry = {"reed": "1-05", "date": ON, "play_min": 40.0, "where": None, "habit": None}
    assert not odd_things(entry, held, days)
    page = today(held, {PLAN.trial: STANDING}, ON, days=days)
    assert page.trials == ("rinse: 5 reeds in service, play those you like",)
    assert [x.reed for x in page.lines] == ["1-01", "1-02", "1-03", "1-04", "1-05"]
    assert not page.messages
    said = what_now({PLAN.trial: STANDING}, held, ON)
    assert "rinse. Play the reeds you like, each with its way:" in said
    assert any(x.startswith("  1-01: ") and x.endswith("(done)") for x in said)


def test_it_waits_is_paused_and_ends() -> None:
    assert what_to_play(STANDING, frames(), date(2025, 12, 30)).state == "waiting"
    off = frames(days=[{"date": ON, "pause": True}])
    assert what_to_play(STANDING, off, ON).state == "paused"
    held = frames()
    ended = replace(held, trials=held.trials.assign(ended=ON).astype({"ended": "datetime64[ns]"}))
    assert what_to_play(STANDING, ended, ON).state == "over"
    assert trial_day(STANDING, held, date(2027, 3, 1)).state == "on"


def test_another_trial_keeps_its_whole_day() -> None:
    other = plan()
    both = book(other)
    row = {"trial": PLAN.trial, "started": PLAN.start, "protocol": PLAN.to_json(), "protocol_sha256": PLAN.sha256}
    two = replace(both, trials=typed("trials", [*both.trials.to_dict("records"), row]))
    assert what_to_play(other, two, other.start) == what_to_play(other, both, other.start)
