from __future__ import annotations

import re
from dataclasses import replace

import pytest

from reedlab.errors import InputError, PlanRefused
from reedlab.questions import CATALOGUE, OVERRIDABLE, Question, check_habits, own_question
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.practice import CAUTIONS
from reedlab.trial.protocol import Habit
from tests.readability import grade

QUESTIONS = list(CATALOGUE.values())
WANTED = {"wetting", "rotation", "break_in", "drying", "storage_case", "humidity_control", "position",
          "ligature", "mouthpiece", "two_reeds", "daily_limit", "cut_or_strength", "resting_days", "rinse", "own"}


def texts(q: Question) -> list[str]:
    """Everything of a question that a player reads."""
    return [q.title, q.ask, q.why, *q.traps, q.mask or "", q.no_mask,
            *(t for h in q.habits for t in (h.name, h.steps))]


def test_the_catalogue_holds_the_questions_promised() -> None:
    assert set(CATALOGUE) == WANTED
    assert all(q.key == key for key, q in CATALOGUE.items())


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.key)
def test_each_question_says_all_that_a_player_needs(q: Question) -> None:
    assert q.ask.endswith("?")
    assert q.why
    assert q.traps
    assert all(h.name and h.steps for h in q.habits)
    assert set(q.cautions) <= set(CAUTIONS)
    assert q.mask or q.no_mask
    for design in q.designs:
        assert q.outcome_for(design) in q.outcomes
    for outcome in q.outcomes:
        assert q.days[outcome] >= 14
        assert q.matters[outcome] > (1 if OUTCOMES[outcome].scale == "ratio" else 0)


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.key)
def test_lasting_habits_are_never_asked_day_by_day(q: Question) -> None:
    assert not (q.lasts and "day_by_day" in q.designs)


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.key)
def test_each_question_reads_at_grade_eight_or_lower(q: Question) -> None:
    whole = " ".join(t if t.endswith((".", "?")) else t + "." for t in texts(q) if t)
    assert grade(whole) <= 8


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.key)
def test_no_question_uses_the_words_kept_from_players(q: Question) -> None:
    words = r"\b(arm|arms|block|subject|treatment|hazard|null|significan\w*|p-value|interval|protocol|proves?)\b"
    assert not re.search(words, " ".join(texts(q)).lower())


def test_habits_that_set_the_hours_waive_the_same_days() -> None:
    assert {q.key for q in QUESTIONS if not q.same_days} == {"rotation", "daily_limit", "resting_days"}
    assert {q.key for q in QUESTIONS if q.from_new} == {"break_in"}


@pytest.mark.parametrize("q", [q for q in QUESTIONS if q.sets_hours], ids=lambda q: q.key)
def test_hours_are_never_evened_out_where_the_habit_sets_them(q: Question) -> None:
    assert "age_hours" not in q.adjustments


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.key)
def test_overrides_name_a_habit_and_a_default(q: Question) -> None:
    keys = {h.key for h in q.habits}
    assert all(h in keys and name in OVERRIDABLE for h, name, _ in q.overrides)


@pytest.mark.parametrize("q", QUESTIONS, ids=lambda q: q.key)
def test_our_own_ways_pass_the_word_check(q: Question) -> None:
    check_habits(q.habits)


@pytest.mark.parametrize("name", [
    "not cleaning", "never wiping the reed", "leaving it unwiped", "do not clean", "without rinsing", "store wet",
    "storing it wet", "putting the reed away wet", "a wet reed in a closed case", "stored damp in a tube",
    "sharing a reed", "a friend's reed", "dirty reeds", "mouldy reeds"])
def test_ways_that_can_make_ill_are_refused_even_when_confirmed(name: str) -> None:
    with pytest.raises(PlanRefused) as err:
        check_habits([Habit("x", name)], confirmed=True)
    assert err.value.code == "forbidden_habit"
    assert err.value.instead


@pytest.mark.parametrize("name", ["soaking in bleach", "an airtight box", "rubbing with alcohol"])
def test_doubtful_ways_need_a_confirmation(name: str) -> None:
    with pytest.raises(PlanRefused) as err:
        check_habits([Habit("x", name)])
    assert err.value.code == "confirm_habit"
    check_habits([Habit("x", name)], confirmed=True)


@pytest.mark.parametrize("name", [
    "no humidity pack", "wetting in water", "wiping with a cloth", "keep the reed in the case dry",
    "wet the reed, then put it on", "playing without a ligature cap", "no playing on Sundays"])
def test_harmless_ways_are_let_through(name: str) -> None:
    check_habits([Habit("x", name)])


def test_the_steps_and_the_short_name_are_read_too() -> None:
    for habit in (Habit("store_wet", "way one"), Habit("x", "way one", "Do not wipe the reed.")):
        with pytest.raises(PlanRefused):
            check_habits([habit])


ONE = Habit("warm", "a warm room", "Play in the warm room.")
TWO = Habit("cold", "a cool room", "Play in the cool room.")


def test_an_own_question_that_lasts_is_asked_reed_by_reed_only() -> None:
    q = own_question("Warm or cool?", ONE, TWO, lasts=True)
    assert q.designs == ("reed_by_reed",)
    assert [h.key for h in q.habits] == ["cold", "warm"]


def test_an_own_question_gone_by_the_next_day_may_be_asked_day_by_day() -> None:
    q = own_question("Warm or cool?", ONE, TWO, lasts=False)
    assert q.design == "day_by_day"
    assert q.outcome_for("day_by_day") == "day_rating"


def test_an_own_question_that_sets_the_hours_cannot_be_gone_by_the_next_day() -> None:
    with pytest.raises(PlanRefused) as err:
        own_question("Long or short?", ONE, TWO, lasts=False, sets_hours=True)
    assert err.value.code == "lasting_day_by_day"
    q = own_question("Long or short?", ONE, TWO, lasts=True, sets_hours=True)
    assert not q.same_days
    assert "mean_rating" not in q.outcomes


def test_an_own_question_names_every_fault_at_once() -> None:
    with pytest.raises(InputError) as err:
        own_question(" ", Habit("a b", ""), Habit("a b", ""), lasts=True)
    for part in ("`ask`", "short name", "needs a name", "the same"):
        assert part in str(err.value)


def test_renamed_habits_keep_their_overrides() -> None:
    q = CATALOGUE["rotation"].with_habits(Habit("turns", "turns"), Habit("alone", "alone"))
    assert ("turns", "rotation_size", 4) in q.overrides
    assert ("alone", "rotation_size", 1) in q.overrides
    assert [h.key for h in q.habits] == ["alone", "turns"]


def test_a_contradictory_question_is_named() -> None:
    with pytest.raises(InputError, match="sorted by key"):
        Question(key="x", title="x", ask="x?", habits=(ONE, TWO), lasts=True, designs=("reed_by_reed",), why="x",
                 outcomes=("mean_rating",), traps=("x",))


def test_a_question_is_asked_as_its_outcome_reads() -> None:
    drying = CATALOGUE["drying"]
    assert drying.ask_for("mean_rating") == drying.ask
    assert drying.ask_for("life_hours").startswith("Do reeds last longer when they dry in the open")
    assert drying.ask_for("wear_rate").startswith("Do reeds fade more slowly when")
    for q in CATALOGUE.values():
        for outcome in q.outcomes:
            ask = q.ask_for(outcome)
            assert ask.endswith("?")
            assert outcome in ("day_rating", "preference", "mean_rating", "crossover") or "play better" not in ask


def test_a_question_in_the_players_own_words_stays_as_it_is() -> None:
    own = replace(CATALOGUE["drying"], ask="Is the window sill a good place?")
    assert own.ask_for("life_hours") == "Is the window sill a good place?"
