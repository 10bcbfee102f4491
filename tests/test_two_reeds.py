"""Two reeds side by side, from the plan to the answer: the reeds are the ways, and the pairs of a day are a set."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reedlab import forms
from reedlab.analysis.batch import judge_batch
from reedlab.analysis.trial import analyse
from reedlab.analysis.verdicts.repeats import earlier_names
from reedlab.classes.class_plan import class_plan
from reedlab.errands.away import read_away, write_away
from reedlab.errands.papers import write_sheet
from reedlab.errors import InputError, PlanRefused, ProtocolError
from reedlab.folder.clock import TODAY_FILE
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.phone.pages import day_page
from reedlab.phone.work import Work
from reedlab.plan import draw_up
from reedlab.plan.means import Means
from reedlab.plan.next_plan import next_plan
from reedlab.plan.ranking import rank
from reedlab.questions import CATALOGUE
from reedlab.reedcase import open_case
from reedlab.rows.records import Retirement
from reedlab.rows.tables import typed as as_typed
from reedlab.screens import Entry, Written, save, today
from reedlab.screens.plan import plan_wishes, reed_choices, reeds_first, ways_to_expect
from reedlab.screens.stands_in import stands_in
from reedlab.summary import answer
from reedlab.summary.report import report_items
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, batch_trials, simulate, to_frames
from tests.errands._away import handed
from tests.forms._playing import Clock, add_box, new_book, play_all_first, said
from tests.keeping import keeping
from tests.plan._reeds import reeds
from tests.screens.test_plan import typed

START = date(2026, 3, 2)
LATER = date(2026, 4, 1)


def drawn(**more: Any) -> Protocol:
    how: dict[str, Any] = {"start": START, "seed": 5, "instrument": "clarinet", "simulations": 100, "compared": False}
    return draw_up("two_reeds", reeds(6), **{**how, **more}).protocol


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Any]:
    yield from keeping(tmp_path, drawn, 6)


# --- the plan ------------------------------------------------------------------------------------


def test_each_day_has_a_pair_that_begins_with_either_reed() -> None:
    plan = drawn(days=14)
    assert (plan.unit_kind, plan.design_name, plan.two_reeds) == ("pair", "side_by_side", True)
    assert tuple(h.key for h in plan.habits) == plan.reeds == ("1-01", "1-02")
    days: dict[int, list[str]] = {}
    for u, key in zip(plan.units, plan.dealt, strict=True):
        ((under, day),) = u.cells
        assert (u.reeds, int(u.block)) == (plan.reeds, day)
        days.setdefault(day, []).append(key)
        assert under in plan.reeds
    assert all(sorted(keys) == sorted(plan.reeds) for keys in days.values())
    assert len(days) == 14
    assert Counter(u.cells[0][0] for u in plan.units) == {"1-01": 14, "1-02": 14}
    assert Protocol.from_json(plan.to_json()) == plan


def test_one_pair_a_day_is_dealt_in_sets_over_days() -> None:
    plan = drawn(days=16, reeds_a_day=1)
    sets: dict[str, Counter[str]] = {}
    for u, key in zip(plan.units, plan.dealt, strict=True):
        sets.setdefault(u.block, Counter())[key] += 1
    assert [sorted(c.values()) for c in sets.values()] == [[4, 4], [4, 4]]


def test_the_best_two_are_taken_unless_two_are_given() -> None:
    table = reeds(6)
    best = set(table.sort_values("first_play", ascending=False)["reed"][:2])
    assert set(drawn().reeds) == best
    plan = draw_up("two_reeds", table[table["reed"].isin(["1-03", "1-05"])], start=START, seed=1, simulations=100,
                   instrument="clarinet", compared=False).protocol
    assert plan.reeds == ("1-03", "1-05")


def test_too_little_is_refused_in_words() -> None:
    with pytest.raises(PlanRefused, match="you gave one") as one:
        draw_up("two_reeds", reeds(1), start=START, seed=1, instrument="clarinet")
    assert one.value.code == "not_two_reeds"
    with pytest.raises(PlanRefused, match="too few pairs") as few:
        drawn(days=4)
    assert "at least 6 days" in few.value.instead
    with pytest.raises(InputError, match="a class has no two reeds in common"):
        class_plan("two_reeds")
    plan = drawn()
    with pytest.raises(ProtocolError, match="one pair of the two reeds"):
        replace(plan, units=(replace(plan.units[0], reeds=("1-01", "1-03")), *plan.units[1:]))


def test_the_ranking_knows_it_and_its_plan_has_the_same_chance() -> None:
    rows = rank(Means(reeds=as_typed("reeds", reeds(8)), minutes_a_day=60, weeks=2, world=World()),
                questions=["two_reeds"]).rows
    assert [(r.question, r.outcome, r.reeds) for r in rows] == [("two_reeds", "preference", 2)]
    assert 0.2 < rows[0].right < 0.8


# --- the test ------------------------------------------------------------------------------------


def test_p_is_that_of_turning_each_day_round(kept: Any) -> None:
    """By plain enumeration: a coin a day says which of its two pairs begins with which reed."""
    one = kept(days=8)
    one.play_pairs(0.3)
    found = analyse(one.plan, one.book.frames(), today=LATER).main
    of = {(r, d): y for r, d, y in zip(one.book.frame("sittings")["reed"], [
        (x.date() - START).days + 1 for x in one.book.frame("sittings")["date"]],
        one.book.frame("sittings")["preference"], strict=True)}
    first_b = {u.cells[0]: arm == "B" for u, arm in zip(one.plan.units, one.plan.arms, strict=True)}
    of_day = []  # half of what the pair that began with the second reed said, less the other
    for day in range(1, 9):
        b, a = (next(of[c] for c in of if c[1] == day and first_b[c] is side) for side in (True, False))
        of_day.append((b - a) / 2)
    gaps = np.array([np.mean(np.array(signs) * of_day) for signs in itertools.product((1, -1), repeat=8)])
    at = np.mean(of_day)
    assert found.estimate == pytest.approx(at)
    assert found.p_value == pytest.approx(min(1, 2 * min(np.mean(gaps >= at - 1e-9), np.mean(gaps <= at + 1e-9))))


def test_one_trial_and_thousands_are_judged_alike() -> None:
    plan = drawn(days=10)
    batch = simulate(plan, World(effect_points=0.8, second_points=0.4), 12, 9, fresh_deals=True)
    many = judge_batch(batch_trials(batch), full=True, at=[0.5])
    for i in range(12):
        own = batch.protocol_of(i)
        one = analyse(own, to_frames(batch, i), today=LATER, side_readings=False)
        assert one.main is not None
        assert one.main.verdict == many.verdict[i]
        assert (one.main.p_value, one.main.estimate) == pytest.approx((many.p_value[i], many.estimate[i]))


def test_a_reeds_good_days_are_shared_by_the_pairs_of_a_day() -> None:
    """With days that differ much and no other noise, the two pairs of a day say the same but for their order."""
    plan = drawn(days=14)
    quiet = World(noise_sd=0.0, reed_day_sd=1.5, step=0.01, adherence=1, unsure_reed=0, day_off=0, forgotten=0,
                  unrated=0, from_memory=0)
    run = simulate(plan, quiet, 400, 3, fresh_deals=True)
    towards = np.where(run.used_b, 1, -1) * run.rating
    day = run.plan.slot_day
    per_day = np.stack([towards[:, day == d] for d in range(1, 15)], axis=1)
    both = ~np.isnan(per_day).any(axis=2)
    apart = per_day[..., 0] - per_day[..., 1]
    assert np.nanmax(np.abs(apart[both])) < 0.02
    assert np.nanstd(per_day[..., 0]) == pytest.approx(1.5 * np.sqrt(2), rel=0.05)
    verdicts = judge_batch(batch_trials(run)).verdict
    assert np.isin(verdicts, ("a_better", "b_better")).mean() < 0.08


def test_the_same_two_reeds_once_more_are_a_repeat_and_two_others_are_not(kept: Any) -> None:
    one = kept(days=7)
    one.play_pairs(1.0)
    frames = one.book.frames()
    again = replace(one.plan, trial="again", start=LATER)
    other = draw_up("two_reeds", reeds(6)[2:4], start=LATER, seed=1, instrument="clarinet", simulations=100,
                    compared=False).protocol
    assert earlier_names(again, frames) == (one.plan.trial,)
    assert earlier_names(other, frames) == ()


# --- while it runs -------------------------------------------------------------------------------


def test_the_day_names_both_reeds_and_takes_which_go_was_better(kept: Any) -> None:
    one = kept()
    on = one.turn_to(1)
    lines = today(one.book.frames(), one.plans, on).lines
    assert {x.reed for x in lines} == set(one.plan.reeds)
    assert {x.way for x in lines} == {"First reed 1-01, then reed 1-02", "First reed 1-02, then reed 1-01"}
    for n, line in enumerate(lines):
        done = save(one.book, Entry({"date": on, "reed": line.reed, "play_min": "10", "where": "practice",
                                     "habit": line.planned.key, "preference": "-0.5"}, f"desk-{n}"))
        assert isinstance(done, Written)
        assert done.spoken["Better go"] == "second just better (½)"
    assert all(x.done for x in today(one.book.frames(), one.plans, on).lines)


def test_the_phone_shows_both_reeds_and_takes_the_answer(kept: Any) -> None:
    one = kept()
    on = one.turn_to(1)
    (one.folder / TODAY_FILE).write_text(on.isoformat(), encoding="utf8")
    work = Work(one.folder)
    page = day_page(work.show(), nonce="n", token="t", book="b")
    assert "First reed 1-01, then reed 1-02" in page
    assert "Which go was better?" in page
    (u, *_), (key, *_) = one.plan.units, one.plan.dealt
    answer = work.take("save", {"key": "phone-" + "x" * 20, "date": on.isoformat(), "reed": u.cells[0][0],
                                "where": "practice", "play_min": "10", "preference": "1.5", "habit": key})
    assert answer.state == "written"
    assert one.book.frame("sittings")["preference"].tolist() == [1.5]


def test_a_helper_hides_which_reed_is_which_from_all_but_the_helpers_page(kept: Any, tmp_path: Path) -> None:
    one = kept(masked="helper")
    on = one.turn_to(1)
    lines = today(one.book.frames(), one.plans, on).lines
    assert {x.way for x in lines} == {"Your helper hands you one of the two reeds, then the other."}
    assert all((x.planned, x.ways) == (None, ()) for x in lines)
    mine, theirs = tmp_path / "mine.html", tmp_path / "theirs.html"
    write_sheet(one.book, mine, today=on)
    write_sheet(one.book, theirs, today=on, for_helper=True)
    assert "first</" not in mine.read_text(encoding="utf8")
    helper = " ".join(theirs.read_text(encoding="utf8").split())
    assert "Each row is one pair, written down under one of the two reeds." in helper
    assert [helper.count(f"reed {r} first") for r in one.plan.reeds] == [7, 7]


def test_the_page_of_one_file_takes_it_and_hands_it_back(kept: Any, tmp_path: Path) -> None:
    one = kept()
    on = one.turn_to(1)
    page = tmp_path / "away.html"
    write_away(one.book, page, today=on)
    assert "First reed 1-01, then reed 1-02" in page.read_text(encoding="utf8")
    rows = [{"sitting": f"away-mmawxmo{n}-rns4p00{n}", "date": on.isoformat(), "reed": u.cells[0][0], "play_min": "10",
             "where": "practice", "preference": "1.5", "habit": key}
            for n, (u, key) in enumerate(zip(one.plan.units[:2], one.plan.dealt, strict=False))]
    assert read_away(one.book, handed(rows, plan=one.plan.sha256, trial=one.plan.trial)).added == 2
    assert one.book.frame("sittings")["preference"].tolist() == [1.5, 1.5]


def test_while_it_is_sealed_nothing_sets_the_two_reeds_side_by_side(kept: Any) -> None:
    one = kept()
    one.play_pairs(2.0, upto=5)
    view = open_case(one.book.frames(), one.plans, START + timedelta(days=5), World())
    assert not set(view.lives) & set(one.plan.reeds)
    assert view.against == {}
    assert analyse(one.plan, one.book.frames(), today=START + timedelta(days=5)).main is None


def test_a_reed_that_goes_ends_the_asking(kept: Any) -> None:
    one = kept()
    one.play_pairs(1.0, upto=8)
    on = one.turn_to(8)
    gone = one.plan.reeds[0]
    one.book.add(Retirement(reed=gone, date=on, reason="damaged"))
    frames = one.book.frames()
    assert "one of them is gone" in " ".join(stands_in(frames, one.plans, gone, on))
    assert today(frames, one.plans, one.turn_to(9)).lines == ()
    result = analyse(one.plan, one.book.frames(), today=LATER)
    assert (result.progress.sittings_planned, result.progress.sittings_rated) == (16, 16)
    assert result.main.verdict == "b_better"


# --- the answer ----------------------------------------------------------------------------------


#: Where a sentence of ours says "way" and means no way of doing things.
_FINE = (r"possible both ways|other way round|lean this way|Read another way|each of these ways|which way you leaned|"
         r"as far the other way|"
         r"name='(The two ways|How the ways were dealt|Who knew which way was which)'")


@pytest.mark.parametrize(("gap", "noise", "verdict"), [
    (1.5, 0.5, "b_better"), (0.0, 0.5, "no_real_difference"), (0.6, 3.0, "cannot_tell")])
@pytest.mark.parametrize("how", [{}, {"masked": "helper"}, {"reeds_a_day": 1}], ids=["known", "blind", "once a day"])
def test_the_answer_speaks_of_reeds_and_not_of_ways(kept: Any, gap: float, noise: float, verdict: str,
                                                    how: dict[str, Any]) -> None:
    one = kept(days=16, **how)
    one.play_pairs(gap, noise=noise)
    result = analyse(one.plan, one.book.frames(), today=LATER)
    assert result.main.verdict == verdict
    told = answer(result)
    whole = " ".join(told.to_text(full=True).split()) + " ".join(str(i) for i in report_items(told))
    left = re.findall(r"[^.]*\b(?:ways?|habits?)\b[^.]*\.", re.sub(_FINE, "", whole))
    assert left == []
    assert "It is about these two reeds on these days, and no others." in whole
    if verdict == "b_better":
        assert re.match(r"On these days you found reed 1-02 about [\d.]+ points better than reed 1-01", told.headline)


def test_what_would_settle_it_is_told_in_pairs_of_goes(kept: Any) -> None:
    one = kept(days=6)
    one.play_pairs(0.4, noise=1.5)
    frames = one.book.frames()
    result = replace(analyse(one.plan, one.book.frames(), today=LATER), settle=next_plan(one.plan, frames, trials=100))
    assert result.main.verdict == "cannot_tell"
    told = " ".join(answer(result).to_text().split())
    found = re.search(r"plan a trial of (\d+) days; this one had 6. That is (\d+) pairs of goes.", told)
    assert found is None or int(found[2]) == 2 * int(found[1])
    assert found is not None or "it would take more than" in told


def test_a_folder_of_it_goes_out_and_in_again_with_the_same_bytes(kept: Any, tmp_path: Path) -> None:
    one = kept()
    one.play_pairs(1.0, upto=5)
    export_folder(one.book, tmp_path / "out")
    with Logbook.create(tmp_path / "again.logbook", now=lambda: one.now) as again:
        import_folder(tmp_path / "out", again)
        export_folder(again, tmp_path / "once more")
    for path in (tmp_path / "out").rglob("*.csv"):
        assert path.read_bytes() == (tmp_path / "once more" / path.relative_to(tmp_path / "out")).read_bytes()


# --- the plan page -------------------------------------------------------------------------------


def test_the_page_takes_two_ticks_no_more_and_no_fewer() -> None:
    given = {"question": "two_reeds", "outcome": "preference", "names": ("a", "b"), "expected": "1-02"}
    assert "3 are ticked" in " ".join(plan_wishes(typed(**given, reeds=("1-01", "1-02", "1-03")))[1])
    wishes, faults = plan_wishes(typed(**given, reeds=("1-01", "1-02")))
    assert (faults, wishes["expected"]) == ((), "1-02")
    assert ways_to_expect(CATALOGUE["two_reeds"], ["1-02", "1-01"]) == (("reed 1-01", "1-01"), ("reed 1-02", "1-02"))


def test_from_the_plan_page_to_today(tmp_path: Path) -> None:
    clock = Clock()
    book = new_book(tmp_path, clock)
    add_box(book)
    play_all_first(book, clock)
    form = forms.plan(book)
    form.wishes.question.put("wetting")
    assert sum(t.value for t in form.wishes.ticks.values()) == 10
    form.wishes.question.put("two_reeds")
    ticked = [r for r, t in form.wishes.ticks.items() if t.value]
    assert ticked == sorted(reeds_first(CATALOGUE["two_reeds"], reed_choices(book.frames(), book.today())))
    assert [key for _, key in form.wishes.expected.options] == [*ticked, "same", "none"]
    form.wishes.start.value = book.today()
    form.wishes.expected.put(ticked[1])
    form.draw.click()
    assert "If one reed is truly 1 point better" in form.outlook.forecast.value
    form.start.click()
    assert "Started" in said(form)
    page = forms.today(book)
    assert len(page.lines) == 2
    form.wishes.question.put("wetting")
    free = [t for t in form.wishes.ticks.values() if not t.disabled]
    assert all(t.value for t in free)
