"""Small sentences, each held to its numbers at and beside the place where it turns."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pandas as pd
import pytest

from reedlab.analysis.remarks.catalogue import remark
from reedlab.summary.case import Case
from reedlab.summary.words.casual import alike_sentences, alike_title, apart_title
from reedlab.summary.words.diary import fair_trial
from reedlab.summary.words.ear import ear_sentences
from reedlab.summary.words.fragile import readings_table
from reedlab.summary.words.remarks import _tools, remark_text
from reedlab.summary.words.repeats import repeat_sentences
from reedlab.summary.words.report_found import dates
from reedlab.summary.words.report_plan import question
from reedlab.summary.words.running import progress_sentences
from reedlab.summary.words.surety import still_true_sentences

sys.path.insert(0, str(Path(__file__).parent))
import _results as made


@pytest.mark.parametrize(("names", "said"), [
    ("", "not named"), ("1-01", "1-01"), ("1-01, 1-02", "1-01 and 1-02"), ("a, b, c", "a, b and c"),
    ("a,b,c,d,e,f", "a, b, c, d, e and f"), ("a,b,c,d,e,f,g", "a, b, c, d, e, f and 1 more")])
def test_names_are_listed_with_an_and_before_the_last(names: str, said: str) -> None:
    assert _tools.listed(names) == said


@pytest.mark.parametrize(("number", "nth"), [(1, "1st"), (2, "2nd"), (3, "3rd"), (4, "4th"), (11, "11th"),
                                             (12, "12th"), (13, "13th"), (21, "21st"), (112, "112th")])
def test_a_repeat_is_counted_as_one_speaks(number: int, nth: str) -> None:
    assert repeat_sentences(number, 0.01)[0] == f"This is your {nth} trial of this question."


@pytest.mark.parametrize(("share", "said"), [(1.0, "every sitting went"), (0.96, "96 in 100 sittings went"),
                                             (0.0, "0 in 100 sittings went")])
def test_the_share_as_planned_is_told_while_it_runs(share: float, said: str) -> None:
    r = made.result("day_rating", None)
    told = progress_sentences(Case(replace(r, progress=replace(r.progress, as_planned_share=share))))
    assert told[-1] == f"Where you wrote down which way you used, {said} as planned."


def test_the_last_planned_day_is_the_day_before_the_answer_opens() -> None:
    assert dates(Case(made.result("day_rating", "cannot_tell"))) == (
        "The trial began on 1 March 2026. The last planned day is 14 March 2026. It ran to its end.")


def test_shares_of_made_up_players_are_told_in_a_hundred() -> None:
    told = alike_sentences((30, 100), (4, 100), (0.011, 0.099))
    assert "fits anything from 1.1 to 9.9." in told[1]
    assert alike_title(0.304).endswith("names a winner 30 times in 100.")
    assert "by 1 point." in apart_title(1.0)
    assert "by 1.5 points." in apart_title(1.5)


@pytest.mark.parametrize(("icc", "share"), [(-0.2, "0 in 100"), (0.63, "63 in 100"), (1.2, "100 in 100")])
def test_the_share_of_the_reeds_stays_between_none_and_all(icc: float, share: str) -> None:
    ear = SimpleNamespace(reeds=8, icc=icc, sem=0.5, smallest_change=1.4, smallest_change_range=(0.9, 2.8), shift=-0.6,
                          remarks=("round_shift",))
    told = ear_sentences(ear)
    assert f"about {share} parts come from the reeds" in " ".join(told)
    assert "lower than your first" in told[-1]
    assert "higher than your first" in ear_sentences(SimpleNamespace(**{**vars(ear), "shift": 0.6}))[-1]
    assert not any("off by about" in x for x in ear_sentences(SimpleNamespace(**{**vars(ear), "sem": 0.0})))
    assert any("anywhere from 0.9 to 2.8 points" in x for x in told)


@pytest.mark.parametrize(("question", "how"), [
    ("wetting", "Let each reed serve both ways"), ("rotation", "for the same hours"), ("drying", "on the same days")])
def test_the_fair_trial_after_a_diary_is_one_that_the_question_allows(question: str, how: str) -> None:
    """The diary itself was read day by day, whatever the question."""
    found = made.result("day_rating", "hint_only", state="diary", plan_more={"question": question})
    assert how in fair_trial(Case(found))[0]


@pytest.mark.parametrize(("rating", "at_end", "said"), [
    ("overall", 0, False), ("overall", 1, True), ("response", 1, True), ("stiffness", 1, True)])
def test_ratings_at_an_end_are_said_from_one_in_twenty_on(rating: str, at_end: int, said: bool) -> None:
    r = made.result("mean_rating", "cannot_tell", plan_more={"rating": rating})
    middle, ends = (-1.0, (-3.0, 0.0)) if rating == "stiffness" else (6.0, (0.0, 10.0))
    for end in ends:
        points = pd.DataFrame({"rating": [end] * at_end + [middle] * (20 - at_end)})
        kept = replace(r, points=points, progress=replace(r.progress, as_planned_share=0.98))
        assert ("ratings at an end" in " ".join(still_true_sentences(Case(kept)))) == said
    rare = replace(r, points=pd.DataFrame({"rating": [ends[0]] + [middle] * 20}),
                   progress=replace(r.progress, as_planned_share=0.97))
    told = " ".join(still_true_sentences(Case(rare)))
    assert "ratings at an end" not in told
    assert "sittings off the plan" in told


def test_readings_are_laid_side_by_side_where_there_are_two() -> None:
    r = made.result("mean_rating", "cannot_tell")
    assert r.main is not None
    other = replace(r.main, reading="as_done", estimate=0.9, low=-0.2, high=2.0)
    assert readings_table(Case(replace(r, readings=(r.main,)))) == []
    assert len(readings_table(Case(replace(r, readings=(r.main, other))))) == 2


#: Each remark with the facts of `_results.FACTS`, word for word; every number in it is one of those facts.
REMARKED = {
    "missing_days": "Of 28 planned ratings, 8 are missing. The answer rests on what is left.",
    "half_squares": "In 2 matched sets of two reeds over two days, a rating is missing. Such a matched set tells a "
                    "little less.",
    "unsure_reed": "You were not sure of the reed in 1 sitting. Left out here, but kept in the log.",
    "from_memory": "You wrote down 4 sittings later, from memory (14 in 100). Memory tends to smooth things out.",
    "plan_not_followed": "In 5 of 28 sittings, you used the other way than planned. That can make a true gap look "
                         "smaller. You confirmed each of them.",
    "overplayed": "On 2 reeds you played past the daily limit, 3 times in all. The usual limit is 60 minutes, and less "
                  "for a new reed. You confirmed 1 of them.",
    "weather_drifted": "The air changed on the way: humidity was about 35% at first and 59% at the end. Shuffling "
                       "guards against it, but the answer mixes both.",
    "weather_uneven": "By chance, the days differed in temperature: about 19 °C with a short soak and 23 °C with a "
                      "long soak. Part of the gap may be the air.",
    "hours_uneven": "The reeds were not played alike: 8 playing hours each with a short soak and 11 playing hours with "
                    "a long soak. Part of the gap may be the playing.",
    "setup_changed": "Another mouthpiece or ligature was used in 4 sittings (old and new). It may have changed your "
                     "ratings.",
    "worked_on": "1 reed was sanded, scraped or clipped (1-04). That may change how a reed plays more than the habit "
                 "does.",
    "ceiling": "About 40 in 100 ratings sit at the top of the scale. A gap can hide there, so no one can call the two "
               "ways the same.",
    "few_worn_out": "Only 3 of 16 reeds wore out, in 88 playing hours in all. With fewer than ten, lives can hardly be "
                    "told apart.",
    "worn_out_unmarked": "By your own rule, 1 reed was worn out and still in use (1-08). Here it counts as worn out at "
                         "that hour.",
    "damage_uneven": "Breakage was uneven: 4 reeds broke with a short soak, and 1 reed with a long soak. If the habit "
                     "breaks reeds, look at the reading that counts breakage.",
    "reeds_left_out": "2 reeds were left out, with fewer than 3 ratings (1-03 and 1-07).",
    "block_lost": "1 matched set lost one of its two ways and could not count. 5 matched sets are left.",
}


@pytest.mark.parametrize("code", REMARKED)
def test_a_remark_says_its_facts_word_for_word(code: str) -> None:
    case = Case(made.result("mean_rating", "cannot_tell"))
    assert remark_text(remark(code, **made.FACTS[code]), case) == REMARKED[code]


@pytest.mark.parametrize(("expected", "said"), [
    ("same", "Before the start, you expected no gap."),
    ("k1", "Before the start, you expected a short soak to do better."),
    ("k2", "Before the start, you expected a long soak to do better."),
    ("", "You did not say before the start what you expected.")])
def test_the_report_says_what_was_expected(expected: str, said: str) -> None:
    more = {"expected": expected} if expected else {}
    assert question(Case(made.result("mean_rating", "cannot_tell", plan_more=more))).count(said) == 1


@pytest.mark.parametrize(("level", "said"), [(0.95, "at most 5 trials in 100"), (0.94, "can still name a winner")])
def test_a_winner_by_luck_is_told_in_a_number_only_at_the_level_that_keeps_it(level: float, said: str) -> None:
    assert said in " ".join(still_true_sentences(Case(made.result("mean_rating", "b_better", level=level))))
