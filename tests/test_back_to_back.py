"""Back to back, from the plan to the answer: the order dealt, what is asked, what is read, blind and known."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.trial import analyse
from reedlab.errands.papers import write_sheet
from reedlab.errors import InputError, PlanRefused, ProtocolError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.plan import draw_up
from reedlab.rows.records import Sitting
from reedlab.screens import Asked, Entry, Refused, Written, save, today
from reedlab.screens.due import needs_rating, running
from reedlab.summary import answer
from reedlab.trial.pairs import choices, said
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, batch_trials, simulate, to_frames
from tests.keeping import keeping
from tests.plan._reeds import reeds

START = date(2026, 3, 2)


def drawn(**more: Any) -> Protocol:
    how: dict[str, Any] = {"start": START, "seed": 5, "instrument": "clarinet", "outcome": "preference",
                           "simulations": 100, "compared": False}
    return draw_up("position", reeds(6), **{**how, **more}).protocol


@pytest.fixture
def kept(tmp_path: Path) -> Iterator[Any]:
    yield from keeping(tmp_path, drawn, 6)


# --- the plan ------------------------------------------------------------------------------------


def test_half_of_each_set_of_pairs_begins_with_either_way() -> None:
    plan = drawn(days=14)
    assert (plan.unit_kind, plan.design_name, plan.rating) == ("pair", "back_to_back", "preference")
    assert all(len(u.cells) == 1 and u.reeds == (u.cells[0][0],) for u in plan.units)
    sets: dict[str, Counter[str]] = {}
    for u, key in zip(plan.units, plan.dealt, strict=True):
        sets.setdefault(u.block, Counter())[key] += 1
    assert [sorted(c.values()) for c in sets.values()] == [[4, 4], [4, 4], [6, 6]]
    served = Counter(u.reeds[0] for u in plan.units)
    assert max(served.values()) - min(served.values()) <= 1
    assert Protocol.from_json(plan.to_json()) == plan


def test_too_few_pairs_are_refused_with_the_days_that_would_do() -> None:
    with pytest.raises(PlanRefused, match="too few pairs") as no:
        drawn(days=5, reeds_a_day=1)
    assert "at least 8 days" in no.value.instead
    assert len(drawn(days=8, reeds_a_day=1).units) == 8


def test_a_plan_that_contradicts_itself_is_told() -> None:
    with pytest.raises(ProtocolError, match="only there, it is preference"):
        replace(drawn(), rating="overall")


# --- the test ------------------------------------------------------------------------------------


def test_p_is_that_of_turning_the_order_round_in_every_way_the_plan_allowed(kept: Any) -> None:
    """By plain enumeration: the sign of each pair for every way to give half of them either order."""
    one = kept(days=10, reeds_a_day=1)
    one.play_pairs(0.7)
    found = analyse(one.plan, one.book.frames(), today=date(2026, 4, 1)).main
    points = one.book.frame("sittings")["preference"].to_numpy(float)
    is_b = np.array(one.plan.arms) == "B"

    def gap(first_b: np.ndarray) -> float:
        return float(points[first_b].mean() - points[~first_b].mean()) / 2

    every = [np.isin(np.arange(10), which) for which in itertools.combinations(range(10), 5)]
    gaps = np.array([gap(w) for w in every])
    high, low = (np.mean(gaps >= gap(is_b) - 1e-9), np.mean(gaps <= gap(is_b) + 1e-9))
    assert found.p_value == pytest.approx(min(1.0, 2 * min(high, low)))
    assert found.arrangements == len(every)
    assert found.estimate == pytest.approx(gap(is_b))


@pytest.mark.parametrize("favoured", [-2.0, 0.0, 1.5])
def test_what_going_second_adds_changes_nothing(kept: Any, favoured: float) -> None:
    one = kept(days=14)
    one.play_pairs(1.0)
    frames = one.book.frames()
    moved = frames.sittings.assign(preference=frames.sittings["preference"] + favoured)
    plain = analyse(one.plan, frames, today=date(2026, 4, 1)).main
    other = analyse(one.plan, type(frames).trusted(**{**vars(frames), "sittings": moved}), today=date(2026, 4, 1)).main
    assert (other.estimate, other.p_value) == pytest.approx((plain.estimate, plain.p_value))
    assert plain.verdict == "b_better"


def test_one_trial_and_thousands_are_judged_alike() -> None:
    plan = drawn(days=10)
    batch = simulate(plan, World(effect_points=0.8, second_points=0.4), 12, 9, fresh_deals=True)
    many = judge_batch(batch_trials(batch), full=True, at=[0.5])
    for i in range(12):
        own = batch.protocol_of(i)
        one = analyse(own, to_frames(batch, i), today=date(2026, 4, 1), side_readings=False)
        assert one.main is not None
        assert one.main.verdict == many.verdict[i]
        assert (one.main.p_value, one.main.estimate) == pytest.approx((many.p_value[i], many.estimate[i]))


def test_no_difference_each_time_is_an_answer(kept: Any) -> None:
    one = kept(days=14)
    for u in one.plan.units:
        ((reed, day),) = u.cells
        one.book.add(Sitting(date=one.turn_to(day), reed=reed, play_min=10, preference=0.0))
    result = analyse(one.plan, one.book.frames(), today=date(2026, 4, 1))
    assert result.main.verdict == "no_real_difference"
    told = {(method, what): value for method, what, value in result.second_opinion}
    assert told["pairs for A, for neither, for B", "neither"] == 28


# --- what is asked and shown ---------------------------------------------------------------------


def test_the_day_says_which_way_first_and_asks_which_go_was_better(kept: Any) -> None:
    one = kept()
    on = one.turn_to(1)
    frames, plans = one.book.frames(), {one.plan.trial: one.plan}
    line = today(frames, plans, on).lines[0]
    first = one.plan.habit_for(line.reed, 1)
    assert line.way == f"First {first.name}, then {one.plan.other_than(first).name}"
    assert line.steps.startswith(f"First: {first.steps} Then: ")
    assert (line.rating, line.planned.key) == ("preference", first.key)
    assert needs_rating({"reed": line.reed, "where": None}, running(plans, frames, on)) == "preference"
    row = {"date": on, "reed": line.reed, "play_min": "10", "where": "practice", "habit": first.key}
    refused = save(one.book, Entry({**row, "overall": "7"}, "desk-a"))
    assert isinstance(refused, Refused)
    assert "Which go was better" in refused.lines[0]
    other = save(one.book, Entry({**row, "preference": "1", "habit": one.plan.other_than(first).key}, "desk-b"))
    assert isinstance(other, Asked)
    assert "begins with" in other.lines[0]
    done = save(one.book, Entry({**row, "preference": "-0.5"}, "desk-c"))
    assert isinstance(done, Written)
    assert done.spoken["Better go"] == "second just better (½)"
    assert done.spoken["What you did"] == f"{first.name} first"
    assert today(one.book.frames(), plans, on).lines[0].done


def test_a_helper_hides_the_order_from_every_page_but_the_helpers(kept: Any, tmp_path: Path) -> None:
    one, open_one = kept(masked="helper"), kept()
    on = one.turn_to(1)
    line = today(one.book.frames(), {one.plan.trial: one.plan}, on).lines[0]
    assert line.way == "Your helper sets it up one way, then the other."
    assert (line.planned, line.ways) == (None, ())
    mine, theirs = tmp_path / "mine.html", tmp_path / "theirs.html"
    write_sheet(one.book, mine, today=on)
    write_sheet(one.book, theirs, today=on, for_helper=True)
    names = [h.name for h in one.plan.habits]
    assert not any(n in mine.read_text(encoding="utf8") for n in names)
    assert "The player must not see this page" in theirs.read_text(encoding="utf8")
    assert sum(theirs.read_text(encoding="utf8").count(f"{n} first") for n in names) == 14
    with pytest.raises(InputError, match="No helper hides anything"):
        write_sheet(open_one.book, tmp_path / "x.html", today=on, for_helper=True)


def test_every_answer_on_offer_fits_the_column_and_is_called_by_its_words() -> None:
    offered = choices()
    assert [p for _, p in offered] == sorted((p for _, p in offered), reverse=True)
    assert {p for _, p in offered} == {-p for _, p in offered}
    assert all(said(p) == text for text, p in offered)
    assert (said(1.0), said(0.0), said(-2.5)) == ("first a little better (1)", "no difference", "second better by 2½")


# --- the answer ----------------------------------------------------------------------------------


@pytest.mark.parametrize("hidden", [False, True])
def test_the_answer_is_sealed_to_the_end_then_said_in_three_lines(kept: Any, hidden: bool) -> None:
    one = kept(masked="helper" if hidden else "none")
    one.play_pairs(1.5)
    assert analyse(one.plan, one.book.frames(), today=START + timedelta(days=6)).main is None
    result = analyse(one.plan, one.book.frames(), today=date(2026, 4, 1))
    assert result.main.verdict == "b_better"
    told = answer(result)
    better, worse = (h.name for h in reversed(one.plan.habits))
    assert told.headline.startswith(f"With {better}, your reeds played about 1.5 points better than with {worse}, ")
    whole = " ".join(told.to_text(full=True).split())
    assert "of 28 pairs" in whole
    assert ("You knew which go was which" in whole) != hidden


def test_a_folder_of_it_goes_out_and_in_again_with_the_same_bytes(kept: Any, tmp_path: Path) -> None:
    one = kept()
    one.play_pairs(1.0, upto=5)
    export_folder(one.book, tmp_path / "out")
    assert "preference" in (tmp_path / "out" / "sittings.csv").read_text(encoding="utf8").splitlines()[0]
    with Logbook.create(tmp_path / "again.logbook", now=lambda: one.now) as again:
        import_folder(tmp_path / "out", again)
        export_folder(again, tmp_path / "once more")
        assert again.frame("sittings")["preference"].tolist() == one.book.frame("sittings")["preference"].tolist()
    for path in (tmp_path / "out").rglob("*.csv"):
        assert path.read_bytes() == (tmp_path / "once more" / path.relative_to(tmp_path / "out")).read_bytes()


def test_pairs_left_out_for_how_they_went_hold_the_answer_back(kept: Any) -> None:
    """A winner that would fall had the missing pairs gone against it; days without play are no choice."""
    one = kept(days=14, matters=0.1)
    one.play_pairs(0.3)
    frames = one.book.frames()
    whole = analyse(one.plan, frames, today=date(2026, 4, 1))
    assert whole.main.verdict == "b_better"
    arm = {u.cells[0]: a for u, a in zip(one.plan.units, one.plan.arms, strict=True)}
    rows = frames.sittings
    number = [(d.date() - START).days + 1 for d in rows["date"]]
    towards = np.array([p * (1 if arm[r, n] == "B" else -1) for p, r, n in
                        zip(rows["preference"], rows["reed"], number, strict=True)])
    first_of_day = ~rows["date"].duplicated().to_numpy()
    chosen = np.zeros(len(rows), dtype=bool)
    chosen[[i for i in np.argsort(towards, kind="stable") if first_of_day[i]][:6]] = True
    days = rows["date"].isin(sorted(rows["date"].unique())[:3]).to_numpy()
    assert (chosen.sum(), days.sum()) == (6, 6)

    def read(left_out: np.ndarray) -> Any:
        return analyse(one.plan, type(frames).trusted(**{**vars(frames), "sittings": rows[~left_out]}),
                       today=date(2026, 4, 1))

    held = read(chosen)
    assert held.main.verdict == "cannot_tell"
    told = {r.code: r for r in held.remarks}["uneven"]
    assert (told.fact("kind"), told.fact("held")) == ("missing", 1.0)
    assert "On days of play, 6 of 28 pairs are missing" in " ".join(answer(held).to_text(full=True).split())
    assert read(days).main.verdict == "b_better"
