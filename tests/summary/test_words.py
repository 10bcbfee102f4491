"""Whole answers read over a grid of results: plain, true to the numbers, and in the habits' own names."""

from __future__ import annotations

import math
import re
import sys
from dataclasses import replace
from pathlib import Path

import pandas as pd
import pytest

from reedlab.analysis.remarks.catalogue import remark
from reedlab.summary import Answer, answer, figures
from reedlab.summary.case import Case
from reedlab.summary.words import surety
from reedlab.summary.words.limits import ONE_RATIO
from reedlab.summary.words.measure import gap_sentence
from reedlab.summary.words.next_steps import settle_sentences
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.result import Settle
from tests.readability import grade

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

GRID = dict(made.grid())
ANSWERS = {name: answer(r) for name, r in GRID.items()}


def everything(a: Answer) -> str:
    sections = [f"{title}\n{text}" for title, text in a.sections]
    return "\n".join([a.headline, a.summary, *sections, *(w["text"] for w in a.warnings)])


def test_the_grid_holds_every_verdict_outcome_and_design() -> None:
    """At least 60 results, no pair of verdict and outcome left out."""
    assert len(GRID) >= 60
    pairs = {(r.main.verdict, r.main.outcome) for r in GRID.values() if r.main}
    assert pairs == {(v, o) for v in made.VERDICTS for o in OUTCOMES}
    assert {r.protocol.unit_kind for r in GRID.values()} == {"reed", "sitting", "diagonal", "pair"}


@pytest.mark.parametrize("name", GRID)
def test_every_summary_reads_at_grade_8_or_lower(name: str) -> None:
    a = ANSWERS[name]
    assert grade(a.summary) <= 8, a.summary
    assert grade(" ".join(text for _, text in a.sections)) <= 8


@pytest.mark.parametrize("name", GRID)
def test_no_word_a_player_should_not_meet(name: str) -> None:
    text = everything(ANSWERS[name])
    found = [b for b in made.BANNED if re.search(b, text)]
    assert not found, (found, text)


@pytest.mark.parametrize("name", GRID)
def test_every_sentence_is_whole(name: str) -> None:
    """Starts with a capital or a digit and ends with a full stop; the headline is the summary's first sentence."""
    a = ANSWERS[name]
    assert a.summary.startswith(a.headline)
    for text in [a.headline, a.summary, *(t for _, t in a.sections), *(w["text"] for w in a.warnings)]:
        assert re.match(r"[A-Z0-9]", text), text
        assert text.endswith((".", "?")), text
        assert not re.search(r"[.?] [a-z]", text), text


@pytest.mark.parametrize("name", [n for n, r in GRID.items() if r.main is not None])
def test_the_habits_go_by_their_own_names(name: str) -> None:
    r = GRID[name]
    said = ANSWERS[name].headline
    assert any(h.name in said for h in r.protocol.habits)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_winner_names_itself_first_and_is_told_for_this_player_only(outcome: str) -> None:
    for verdict, first in (("a_better", "a short soak"), ("b_better", "a long soak")):
        a = answer(made.result(outcome, verdict))
        assert a.headline.startswith(f"With {first}, ")
        assert "This holds for you, this instrument and mouthpiece, these reeds, these weeks." in a.summary
        assert "times in 100" in a.summary or "time in 1" in a.summary


def test_a_gap_at_least_as_big_as_what_matters_is_told_apart_from_a_perhaps() -> None:
    surely, perhaps = (answer(made.result("mean_rating", v)).summary for v in ("a_better", "b_better"))
    assert "Surely. " in surely
    assert "All of that is at least 1 point" in surely
    assert "Perhaps. You said that 1 point would matter." in perhaps


def test_swapping_the_habits_mirrors_the_words() -> None:
    """The same gap the other way round gives the same sentences with the names exchanged."""
    one = made.result("mean_rating", "b_better")
    assert one.main is not None
    f = one.main
    other = made.result("mean_rating", "a_better", estimate=-f.estimate, low=-f.high, high=-f.low, low90=-f.high90,
                        high90=-f.low90, p_value=f.p_value, exceeds=f.exceeds, means=(7.6, 6.4))
    swapped = answer(other).summary.replace("short", "#").replace("long", "short").replace("#", "long")
    assert swapped == answer(one).summary


def test_a_ratio_below_one_is_told_from_the_longer_life() -> None:
    said = answer(made.result("life_hours", "a_better", estimate=0.5, low=0.25, high=0.8, exceeds="perhaps")).headline
    assert said == ("With a short soak, your reeds lasted about twice as many playing hours as with a long soak: "
                    "better, but perhaps too little to matter.")


def test_the_end_of_a_range_is_what_could_be_and_the_best_guess_is_named_where_there_is_one() -> None:
    one_sided = answer(made.result("life_hours", "b_better", estimate=math.inf, low=1.3, high=math.inf,
                                   exceeds="perhaps"))
    assert one_sided.headline == ("With a long soak, your reeds lasted longer than with a short soak, but by how much "
                                  "is open.")
    assert "reeds could last 1.3 times as long or more with a long soak; no upper end can be given" in one_sided.summary
    surely = answer(made.result("life_hours", "b_better", estimate=math.inf, low=1.95, high=math.inf,
                                exceeds="surely"))
    assert surely.headline.endswith("longer than with a short soak: better, and surely by enough to matter.")
    guess = answer(made.result("life_hours", "b_better", estimate=2.6, low=1.3, high=math.inf, exceeds="perhaps"))
    assert "lasted about 2.6 times as many playing hours" in guess.headline
    assert not [a for a in (one_sided, surely, guess)
                if re.search(r"(last|lasted|be) (at least [\d.]+|many) times", a.to_text(10_000, full=True))]


@pytest.mark.parametrize(("exceeds", "low", "tail"), [
    ("surely", 1.04, "and surely by enough to matter."), ("perhaps", 0.31, "but perhaps too little to matter.")])
def test_a_winners_headline_figure_and_size_agree_on_whether_it_matters(exceeds: str, low: float, tail: str) -> None:
    r = made.result("mean_rating", "b_better", low=low, exceeds=exceeds)
    a = answer(r)
    assert a.headline.endswith(tail)
    assert " ".join(figures.gap_figure(r).get_suptitle().split()) == a.picture
    assert ("beyond the grey band" in a.picture) == (exceeds == "surely")
    assert ("All of that is at least 1 point" in a.summary) == (exceeds == "surely")


@pytest.mark.parametrize("verdict", ["a_better", "no_real_difference", "cannot_tell"])
def test_a_page_that_tells_a_ratio_of_lives_says_that_one_ratio_stands_for_all(verdict: str) -> None:
    told = dict(answer(made.result("life_hours", verdict)).sections)
    assert "One ratio stands for the lives of all reeds." in " ".join(told.values())
    assert grade(ONE_RATIO) <= 8
    rated = answer(made.result("mean_rating", "a_better"))
    few = answer(made.result("life_hours", "cannot_tell", events=(1, 0)))
    assert ONE_RATIO not in everything(rated) + everything(few)


@pytest.mark.parametrize("events", [(0, 0), (1, 0), (0, 2), (1, 1)])
@pytest.mark.parametrize("outcome", ["life_hours", "good_hours"])
def test_of_one_or_two_ends_nothing_is_said_of_life_but_that(outcome: str, events: tuple[int, int]) -> None:
    """Neither in the answer nor beside it, however the numbers came out."""
    r = made.result(outcome, "cannot_tell", events=events, estimate=math.inf, low=1.2, high=math.inf)
    assert r.main is not None
    beside = tuple(replace(r.main, reading=x, verdict=None, estimate=0.4, low=0.0)
                   for x in ("damage_counts", "expected", "also_seen"))
    r = replace(r, damage_counts=beside[0], readings=(r.main, *beside[:2]), also_seen=beside[2:])
    text = answer(r).to_text(10_000, full=True)
    ended = {("life_hours", 0): "No reed came to its end", ("life_hours", 1): "Only 1 reed came to its end",
             ("life_hours", 2): "Only 2 reeds came to their end", ("good_hours", 0): "No reed stopped being good",
             ("good_hours", 1): "Only 1 reed stopped being good", ("good_hours", 2): "Only 2 reeds stopped being good"}
    assert text.count(f"{ended[outcome, sum(events)]}, too few to say anything of") >= 1
    assert not re.search(r"[\d.]+ times as|twice as|longer than|as long (or more )?with|fading|is better"
                         r"|half of the reeds", text.partition("What next?")[0])


@pytest.mark.parametrize("outcome", ["mean_rating", "life_hours"])
def test_a_range_with_no_end_on_either_side_has_no_direction(outcome: str) -> None:
    low = 0.0 if outcome == "life_hours" else -math.inf
    r = made.result(outcome, "cannot_tell", low=low, high=math.inf, low90=low, high90=math.inf)
    assert r.main is not None
    other = replace(r.main, reading="also_seen", verdict=None)
    r = replace(r, damage_counts=None, also_seen=(other,), as_done=replace(other, reading="as_done", p_value=0.7),
                readings=(r.main, replace(other, reading="complete", estimate=1.1)))
    text = answer(r).to_text(10_000, full=True).partition("The numbers")[0]
    assert "It is open whether your reeds" in text
    assert "; open" not in text
    assert not re.search(r"in favour of|higher with \w+ \w+ \w+ than|about [\d.]+ (points|times (as|long))", text)


@pytest.mark.parametrize(("level", "said"), [(0.95, "95 of 100"), (0.949, "949 of 1,000"), (0.97, "97 of 100")])
def test_every_range_carries_the_words_of_its_own_level(level: float, said: str) -> None:
    """Sameness is told by the 90 in 100 range and says so; a winner's range by its own level."""
    same = answer(made.result("mean_rating", "no_real_difference", level=level)).to_text(10_000, full=True)
    assert "up to 0.3 points in favour of a short soak, or up to 0.4 points" in same
    assert "show it, in about 90 of 100 trials" in same
    won = answer(made.result("mean_rating", "b_better", level=level)).to_text(10_000, full=True)
    assert "from 0.3 to 2.1 points" in won
    assert f"show it, in about {said} trials" in won


ENDS = [
    # low, high, and what is said of it: crossing, one end open, one end at no gap at all, both at least
    (-0.71, 1.55, "could be up to 0.7 points in favour of a short soak, or up to 1.6 points in favour of a long"),
    (-0.71, math.inf, "in favour of a short soak; in favour of a long soak, no upper end can be given"),
    (-math.inf, 1.55, "up to 1.6 points in favour of a long soak; in favour of a short soak, no upper end can"),
    (0.0, 1.55, "could be anything from none at all to 1.6 points in favour of a long soak"),
    (-1.55, 0.0, "could be anything from none at all to 1.6 points in favour of a short soak"),
    (0.0, math.inf, "there could be no gap at all, or one in favour of a long soak; for that one, no upper end"),
    (0.31, math.inf, "could be 0.3 points or more in favour of a long soak; no upper end can be given"),
    (-math.inf, -0.31, "could be 0.3 points or more in favour of a short soak; no upper end can be given"),
    (0.0, 0.0, "there is no gap at all"),
]


@pytest.mark.parametrize(("low", "high", "said"), ENDS)
def test_every_shape_of_a_range_has_its_own_sentence(low: float, high: float, said: str) -> None:
    a = answer(made.result("mean_rating", "cannot_tell", low=low, high=high))
    assert said in dict(a.sections)["Does it matter?"]


LIFE_ENDS = [
    (0.8, 2.75, "last up to 1.3 times as long with a short soak, or up to 2.8 times as long with a long soak"),
    (0.0, 2.75, "up to 2.8 times as long with a long soak; if they last longer with a short soak, no upper end"),
    (0.5, math.inf, "up to twice as long with a short soak; if they last longer with a long soak, no upper end"),
    (0.0, 1.0, "could last just as long either way, or longer with a short soak; for that, no upper end"),
    (1.0, 1.8, "could last anything from just as long to 1.8 times as long with a long soak"),
    (0.0, 0.5, "could last twice as long or more with a short soak; no upper end can be given"),
]


@pytest.mark.parametrize(("low", "high", "said"), LIFE_ENDS)
def test_every_shape_of_a_range_of_lives_has_its_own_sentence(low: float, high: float, said: str) -> None:
    a = answer(made.result("life_hours", "cannot_tell", low=low, high=high))
    assert said in dict(a.sections)["Does it matter?"]


def test_an_old_diary_is_described_and_a_fair_trial_proposed() -> None:
    """What it holds, its plain averages, why it is only a hint, and the trial for its own kind of question."""
    for outcome, how in (("day_rating", "on days that are picked by chance"),
                         ("mean_rating", "Match reeds of one box")):
        a = answer(made.result(outcome, "hint_only", state="diary", frames=False))
        parts = dict(a.sections)
        assert "Your diary holds 26 ratings of" in parts["What does your diary hold?"]
        assert "6.4 with a short soak and 7.6 with a long soak" in parts["What does your diary hold?"]
        assert "nothing was shuffled" in parts["Why is it only a hint?"]
        assert how in parts["What next?"]


def test_cant_tell_says_what_would_settle_it_and_what_to_do_meanwhile() -> None:
    a = answer(made.result("mean_rating", "cannot_tell"))
    assert "plan a trial with 40 reeds; this one had 14" in a.summary
    assert "about 84 times in 100. The same plan again would find it about 31 times in 100." in a.summary
    assert "about 9 weeks" in a.summary
    bare = answer(replace(made.result("mean_rating", "cannot_tell"), settle=None))
    assert "times in 100" not in dict(bare.sections)["What next?"]
    assert "Meanwhile, use whichever is easier." in a.summary


def test_what_a_next_trial_would_show_follows_from_its_size() -> None:
    """Larger than this one, the same again, or beyond what was tried."""
    def told(need: int | None, most: int, chance: float, unit: str = "days") -> list[str]:
        settle = Settle(kind=unit, have=14, same=0.81, need=need, most=most, chance=chance, gap=1.0, weeks=2.0,
                        trials=300)
        return settle_sentences(Case(made.result("mean_rating", "cannot_tell", settle=settle)))

    again = "Played through on paper with your own numbers, it would find a gap of 1 point about 81 times in 100."
    assert told(14, 14, 0.81) == ["To settle it, play the same plan again.", again]
    assert told(21, 21, 0.84)[0] == "To settle it, plan a trial of 21 days; this one had 14."
    assert told(21, 21, 0.84, "reeds")[0] == "To settle it, plan a trial with 21 reeds; this one had 14."
    assert told(None, 14, 0.4) == [
        "To settle it, plan a longer trial.",
        "Played through on paper with your own numbers, the same plan again would find a gap of 1 point about 81 times "
        "in 100."]
    assert told(None, 15, 0.4)[0] == "To find a gap of 1 point, it would take more than a trial of 15 days."


@pytest.mark.parametrize(("outcome", "estimate", "side"), [
    ("life_hours", 0.6, "A"), ("life_hours", 1.7, "B"), ("life_hours", 0.96, None), ("life_hours", 1.04, None),
    ("life_hours", 0.0, "A"), ("life_hours", math.inf, "B"), ("life_hours", math.nan, None),
    ("mean_rating", -0.6, "A"), ("mean_rating", 0.6, "B"), ("mean_rating", 0.04, None)])
def test_a_finding_leans_to_the_way_that_its_best_guess_favours(outcome: str, estimate: float,
                                                                side: str | None) -> None:
    low, high = (0.3, 2.5) if outcome == "life_hours" else (-1.4, 1.6)
    case = Case(made.result(outcome, "cannot_tell", estimate=estimate, low=low, high=high))
    assert case.main is not None
    assert case.leaning(case.main) == side
    assert case.lead == side
    said = gap_sentence(case, case.main)
    names = [case.name(side), case.name("A" if side == "B" else "B")] if side else []
    assert all(n in said for n in names)
    if side:
        assert said.index(names[0]) < said.index(names[1])
        assert said.startswith(f"With {names[0]}")


def test_a_trial_that_could_never_have_told_says_so_plainly() -> None:
    never = remark("could_never_tell", why="too_few_blocks", least_p=0.0625)
    few = remark("too_few_blocks", **made.FACTS["too_few_blocks"])
    a = answer(made.result("mean_rating", "cannot_tell", remarks=(never, few), least_p=0.0625))
    assert a.headline.startswith("This trial could never have told")
    lost = answer(made.result("mean_rating", "cannot_tell", remarks=(never,), least_p=0.0625))
    assert lost.headline.startswith("Too much was lost for this trial to tell")  # the plan could have
    none = remark("could_never_tell", why="no_worn_out", least_p=0.0001)
    a = answer(made.result("life_hours", "cannot_tell", remarks=(none,), events=(0, 0), estimate=math.nan))
    assert a.headline.startswith("No reed came to its end, so this trial can't tell whether")


def test_no_difference_seen_is_not_called_no_difference() -> None:
    text = everything(answer(made.result("mean_rating", "cannot_tell")))
    assert "no difference that matters" not in text
    assert "Not finding a gap is not the same as finding that there is none." in text


def test_an_early_look_says_so_in_its_headline() -> None:
    for state in ("opened_early", "ended_early"):
        for verdict in ("cannot_tell", "b_better"):
            assert "early" in answer(made.result("day_rating", verdict, state=state)).headline


def test_an_old_diary_is_only_a_hint_and_claims_no_chance() -> None:
    a = answer(made.result("mean_rating", "hint_only", state="diary", frames=False))
    assert a.headline.startswith("Only a hint from your old diary")
    assert "shuffling alone" not in a.to_text(full=True)
    assert "Chance by shuffling" not in a._repr_html_()
    assert "Going by your log" not in a.to_text(full=True)
    assert "Range" not in a.to_text(full=True)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_running_trial_shows_progress_and_nothing_by_habit(outcome: str) -> None:
    r = made.result(outcome, None)
    a = answer(r)
    text = a.to_text(full=True) + a._repr_html_()
    assert "stays sealed" in a.headline
    for h in r.protocol.habits:
        assert h.name not in text.replace(r.protocol.ask, "")
    d = a.to_dict()
    for key in ("estimate", "low", "high", "p_value", "verdict", "events", "units_each", "means", "as_done"):
        assert d[key] is None
    assert (d["least_p"], d["arrangements"], d["level"]) == (2 / 2**7, 2**7, 0.95)  # the plan alone fixes these


def test_a_trial_not_yet_begun_says_when_it_starts() -> None:
    r = made.result("mean_rating", None)
    a = answer(replace(r, progress=replace(r.progress, day=0)))
    assert a.headline == "This trial starts on 1 March 2026."


def test_a_range_that_ends_just_above_nothing_says_almost() -> None:
    a = answer(made.result("mean_rating", "b_better", low=1e-12, p_value=0.0497))
    assert "could be from almost 0 to 2.1 points in favour of a long soak" in a.summary
    assert "just under 5 times in 100" in a.summary
    assert "just over 0 to 2.12" in a.to_text(full=True)


def test_an_early_range_tells_its_own_level() -> None:
    a = answer(made.result("mean_rating", "cannot_tell", state="opened_early", level=0.999))
    assert "about 999 of 1,000 trials" in everything(a)
    assert "Range (999 in 1,000)" in a.to_text(full=True)


def test_a_trial_read_early_is_not_said_to_be_beyond_hope() -> None:
    never = remark("could_never_tell", why="too_few_blocks", least_p=0.5)
    a = answer(made.result("day_rating", "cannot_tell", state="opened_early", remarks=(never,)))
    assert "never" not in a.to_text(full=True)
    assert "Play on as planned to the last day" in a.summary


def test_a_range_speaks_of_the_gap_that_shows_where_ratings_hit_an_end_or_the_plan_was_left() -> None:
    plain = made.result("mean_rating", "b_better")
    kept = replace(plain, progress=replace(plain.progress, as_planned_share=1.0), points=None)
    slipped = replace(kept, progress=replace(kept.progress, as_planned_share=0.9))
    at_end = replace(kept, points=pd.DataFrame({"rating": [10.0, 6.0, 7.0]}))
    sure = {name: surety.still_true_sentences(Case(r)) for name, r in
            (("kept", kept), ("slipped", slipped), ("at_end", at_end))}
    assert "hold the true gap" in sure["kept"][0]
    for name, why in (("slipped", "sittings off the plan"), ("at_end", "ratings at an end of the scale")):
        assert "hold the gap, as your ratings show it, in about 95 of 100" in sure[name][0]
        assert why in sure[name][1]
        assert grade(" ".join(sure[name][:2])) <= 8
