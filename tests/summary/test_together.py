"""Several trials' combined answer read whole, for every verdict and outcome; its figure and its page."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from typing import Any

import pytest

from reedlab.summary import together_answer
from reedlab.summary.figures import PAGE, svg_uri, together_figure
from reedlab.summary.words.together import part_row
from reedlab.trial.outcomes import OUTCOMES
from reedlab.trial.result import Contribution, Finding, Remark, Spread, Together
from tests.readability import grade

from ._results import plan

_BANNED = re.compile(r"\b(subject|treatment|hazard|null|significan\w*|p-value|arm|block|interval|protocol|should|"
                     r"prove\w*|nan|inf|none \w+ with)\b", re.IGNORECASE)
NUMBERS = {  # verdict: (estimate, low, high, low90, high90) for differences, then for ratios
    "b_better": ((0.8, 0.3, 1.3, 0.4, 1.2), (2.0, 1.3, 3.1, 1.4, 2.8)),
    "a_better": ((-1.6, -2.1, -1.2, -2.0, -1.3), (0.5, 0.3, 0.8, 0.35, 0.7)),
    "no_real_difference": ((0.2, 0.05, 0.4, 0.1, 0.35), (1.1, 0.9, 1.3, 0.95, 1.25)),
    "cannot_tell": ((0.3, -0.6, 1.4, -0.4, 1.2), (1.3, 0.7, math.inf, 0.8, 4.0)),
}


def together(verdict: str, outcome: str, *, players: int = 3, rating: str = "overall", **more: Any) -> Together:
    ratio = OUTCOMES[outcome].scale == "ratio"
    k = 0.1 if outcome == "wear_rate" else 1.0
    nums = NUMBERS[verdict][ratio] if ratio else tuple(k * x for x in NUMBERS[verdict][0])
    protocol = plan(outcome, rating="preference" if OUTCOMES[outcome].pairs else rating)
    main = Finding(outcome, "together", OUTCOMES[outcome].scale, *nums, 0.95,
                   0.03 if "better" in verdict else 0.3, 1e-6, False, 10**8, (20, 20), 20,
                   events=(9, 11) if ratio else None, verdict=verdict,
                   exceeds="perhaps" if "better" in verdict else None)
    parts = tuple(Contribution(f"P{i:02d}", f"P{min(i, players):02d}", nums[0], nums[1], nums[2], 0.2, (7, 7), 7,
                               math.nan if ratio else w, nums[0], p)
                  for i, w, p in ((1, 0.5, 0.2), (2, 0.3, 0.04), (3, 0.2, 0.01)))
    spread = Spread("player" if players > 1 else "trial", 3, (), nums[0], nums[1], nums[2], 0.3, 0.31, 2.0,
                    0.01 if players > 1 else 0.4, nums[3] if ratio else nums[1] - k,
                    nums[4] if ratio else nums[2] + k, 0.95)
    base: dict[str, Any] = {
        "protocol": protocol, "matters": protocol.matters, "main": main,
        "as_done": replace(main, reading="as_done"), "parts": parts, "spread": spread, "players": players,
        "p_needed": 0.05, "held": "", "looks": 0,
        "ended_early": (), "instruments": ("clarinet",), "fingerprints": (("P01", "a" * 64),)}
    return Together(**{**base, **more})


GRID = [(v, o, n, "overall") for v in NUMBERS for o in OUTCOMES for n in (1, 3)] + [
    (v, "day_rating", 3, r) for v in NUMBERS for r in ("response", "tone", "stiffness")]


@pytest.mark.parametrize(("verdict", "outcome", "players", "rating"), GRID)
def test_every_combined_answer_reads_at_grade_eight_in_plain_words(
        verdict: str, outcome: str, players: int, rating: str) -> None:
    told = together_answer(together(verdict, outcome, players=players, rating=rating))
    whole = " ".join([told.headline, *(text for _, text in told.sections)])
    assert grade(whole) <= 8.0
    assert grade(told.summary) <= 8.8  # long names of the two ways weigh more in a short text
    for text in (whole, told.summary, told.to_text(full=True)):
        assert not _BANNED.search(text), _BANNED.search(text)
        assert "{" not in text
    assert "It is no rule for anyone else." in whole
    assert "trials that were not handed in" in whole
    json.dumps(told.to_dict(), allow_nan=False)


def test_a_trials_line_shows_its_numbers_with_their_sides_and_where_its_range_has_no_end() -> None:
    def line(outcome: str, *nums: float, weight: float = 0.249) -> dict[str, str]:
        both = together("cannot_tell", outcome)
        low, gap, high = nums
        return part_row(both, replace(both.parts[0], estimate=gap, low=low, high=high, weight=weight))

    told = line("mean_rating", -0.62, 0.01, 1.23)
    assert (told["gap"], told["range"], told["share"]) == ("0", "−0.6 to +1.2", "25")
    told = line("life_hours", 0.0, 1.304, math.inf, weight=math.nan)
    assert (told["gap"], told["range"], told["share"]) == ("1.3", "no end either side", "")
    assert line("life_hours", 0.5, 0.804, math.inf)["range"] == "0.5 to no end"
    assert line("mean_rating", -math.inf, math.nan, math.inf)["gap"] == "none"


def test_remarks_of_the_trials_read_plainly_and_name_a_few_of_a_large_class() -> None:
    facts = (("reeds", 1), ("sittings", 4), ("missing", 9))
    codes = ("worked_on", "setup_changed", "plan_not_followed", "missing_days")
    for n in (1, 2, 30):
        every = tuple((f"P{i:02d}", Remark(c, facts)) for i in range(1, n + 1) for c in codes)
        told = together_answer(replace(together("b_better", "day_rating"), remarks=every))
        assert [w["code"] for w in told.warnings] == list(codes)
        for w in told.warnings:
            assert grade(w["text"]) <= 8.0
            assert not _BANNED.search(w["text"])
        assert f"{n} reed{'s' if n > 1 else ''})" in told.warnings[0]["text"]
        assert ("P06 and 24 more" in told.warnings[0]["text"]) == (n == 30)


def test_a_winner_among_these_is_not_told_as_one_for_players_at_large() -> None:
    t = together("b_better", "mean_rating")
    assert t.spread is not None
    wide = replace(t, spread=replace(t.spread, low=-0.2, high=1.8))
    told = together_answer(wide)
    assert "for players at large, these can't tell yet" in dict(told.sections)["Do players differ?"]
    assert "at large" in told.summary
    assert "at large" not in together_answer(t).to_text(full=True)


def test_the_first_screen_is_the_answer_in_three_lines_with_the_first_remark() -> None:
    facts = (("reeds", 1), ("sittings", 4), ("missing", 9))
    told = together_answer(replace(together("b_better", "day_rating"), remarks=tuple(
        ("P01", Remark(code, facts)) for code in ("worked_on", "missing_days"))))
    titles = [title for title, _ in told.sections]
    brief, whole = told.to_text(), told.to_text(full=True)
    assert titles[:3] == ["Does it matter?", "How sure is it?", "What next?"]
    assert [t for t in (*titles, "The trials") if t in brief] == titles[:3]
    assert all(t in whole for t in (*titles, "The trials"))
    assert brief.split("\n\n")[:2] == whole.split("\n\n")[:2]  # the question and the headline
    remarks = [" ".join(w["text"].split()) for w in told.warnings]
    assert [r in " ".join(brief.split()) for r in remarks] == [True, False]
    assert all(r in " ".join(whole.split()) for r in remarks)


def test_the_headline_names_the_winner_and_the_number_of_trials() -> None:
    said = together_answer(together("b_better", "mean_rating")).headline
    assert said == ("Over 3 trials together, reeds rated about 0.8 points higher with a long soak than with a "
                    "short soak, but perhaps too little to matter.")
    assert "lasted about twice as many playing hours with a short soak" in together_answer(
        together("a_better", "life_hours")).headline


def test_it_says_on_whose_trial_the_answer_hangs() -> None:
    told = dict(together_answer(together("b_better", "mean_rating")).sections)
    assert "Without P01, no winner could be named" in told["Who adds how much?"]
    firm = together("b_better", "mean_rating")
    firm = replace(firm, parts=tuple(replace(p, p_without=0.01) for p in firm.parts))
    assert "the winner is still the same" in dict(together_answer(firm).sections)["Who adds how much?"]


@pytest.mark.parametrize("held", ["ceiling", "all_alike", "as_done", "early", "leans", "players_differ"])
def test_it_says_why_a_small_gap_is_not_called_none(held: str) -> None:
    told = dict(together_answer(together("cannot_tell", "mean_rating", held=held)).sections)
    assert "can't be called no difference" in told["How sure is it?"]


@pytest.mark.parametrize("held", ["missing", "given_up"])
def test_it_says_why_neither_answer_is_given(held: str) -> None:
    facts = (("kind", held), ("count_a", 2), ("of_a", 40), ("count_b", 14), ("of_b", 40), ("p", 0.004), ("held", 1.0))
    told = together_answer(together("cannot_tell", "mean_rating", held=held, remarks=(("", Remark("uneven", facts)),)))
    assert re.search("(none is|no answer is) given", dict(told.sections)["How sure is it?"])
    text = told.warnings[-1]["text"]
    assert "14 of 40" in text or "14 reeds" in text
    assert "fewer than 1 time in 100" in text
    assert grade(text) <= 8


def test_it_owns_up_to_looks_early_ends_and_mixed_instruments() -> None:
    t = together("b_better", "mean_rating", looks=2, ended_early=("P02",),
                 instruments=("clarinet", "tenor saxophone"))
    limits = dict(together_answer(t).sections)["What limits this answer?"]
    for words in ("looked early twice", "Ended before the planned day: P02", "tenor saxophone"):
        assert words in limits


@pytest.mark.parametrize(("kind", "words"), [
    ("diagonal", "20 swaps"), ("sitting", "40 days of play in 20 pairs of days"),
    ("reed", "40 reeds in 20 matched sets")])
def test_it_says_what_was_counted(kind: str, words: str) -> None:
    outcome = "mean_rating" if kind == "reed" else "day_rating"
    t = together("b_better", outcome, protocol=plan(outcome, kind=kind))
    told = together_answer(t)
    assert f"It rests on {words}" in dict(told.sections)["What limits this answer?"]
    assert told.rows[0]["rests_on"].startswith("7 swaps" if kind == "diagonal" else "14 ")


def test_a_small_gap_that_is_there_is_told_beside_no_difference_that_matters() -> None:
    told = dict(together_answer(together("no_real_difference", "mean_rating")).sections)
    assert "There may be a small gap in favour of a long soak." in told["Does it matter?"]


@pytest.mark.parametrize("outcome", ["mean_rating", "life_hours", "wear_rate"])
def test_the_figure_has_a_row_for_each_trial_all_together_and_one_more(outcome: str) -> None:
    fig = together_figure(together("b_better", outcome), width=PAGE)
    ax = fig.axes[0]
    assert [t.get_text() for t in ax.get_yticklabels()] == ["P01", "P02", "P03", "together", "one more player"]
    assert ax.get_xlim()[0] == -ax.get_xlim()[1]
    assert svg_uri(fig).startswith("data:image/svg+xml;base64,")


def test_a_trial_with_nothing_to_compare_is_told_and_drawn() -> None:
    t = together("cannot_tell", "mean_rating")
    empty = Contribution("P04", "P04", math.nan, -math.inf, math.inf, math.nan, (0, 0), 0, 0.0, 0.3, 0.3)
    t = replace(t, parts=(*t.parts, empty))
    assert "Nothing in P04 could be compared" in dict(together_answer(t).sections)["Who adds how much?"]
    assert any(x.get_text() == "too little to compare" for x in together_figure(t).axes[0].texts)


def test_what_a_teacher_typed_is_escaped_on_the_page() -> None:
    t = together("b_better", "mean_rating")
    t = replace(t, protocol=replace(t.protocol, ask="<script>alert(1)</script>"))
    page = together_answer(t).to_html()
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
    assert page.count("<img") == 1
