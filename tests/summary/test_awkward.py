"""Twenty awkward trials, each page held to its numbers (`python -m tests.benchmarks.awkward_pages FOLDER` prints)."""

from __future__ import annotations

import dataclasses
import math
import re
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import pandas as pd
import pytest

from reedlab.summary import Answer, answer, numbers
from reedlab.summary.case import Case
from reedlab.summary.figures import gap_figure
from reedlab.summary.words.lives import FEWEST_ENDS
from reedlab.summary.words.ranges import told_range
from reedlab.trial.result import TrialResult
from tests.readability import grade

from . import _awkward as made
from ._results import BANNED

NAMES = [m.__name__ for m in made.MAKERS]
VERDICTS = {
    "none_worn_out": "cannot_tell", "one_worn_out": "cannot_tell", "two_worn_out": "cannot_tell",
    "worn_out_with_one_way": "b_better", "all_missing_with_one_way": "cannot_tell", "all_alike": "cannot_tell",
    "open_on_both_sides": "cannot_tell", "open_on_one_side": "b_better", "two_boxes": "b_better",
    "one_reed_left": "cannot_tell", "sameness": "no_real_difference", "better_but_small": "b_better",
    "better_surely": "b_better", "early_look": "cannot_tell", "ended_by_hand": "cannot_tell",
    "looked_twice": "b_better", "old_diary": "hint_only", "odd_names": "b_better", "at_the_ceiling": "cannot_tell",
    "one_set_lost": "b_better", "stopped_before_the_cap": "cannot_tell", "masked": "b_better"}


@cache
def read(name: str) -> tuple[TrialResult, Answer]:
    result = next(m for m in made.MAKERS if m.__name__ == name)()
    return result, answer(result)


def said(a: Answer) -> str:
    """Return all that the page says in sentences, without the names of the ways."""
    text = "\n".join([a.headline, *(t for _, t in a.sections), *(w["text"] for w in a.warnings)])
    for side in "AB":
        text = text.replace(Case(a.result).name(side), "the way")
    return text


@pytest.mark.parametrize("name", NAMES)
def test_the_headline_says_the_verdict_and_no_more(name: str) -> None:
    result, a = read(name)
    assert result.main is not None
    assert result.main.verdict == VERDICTS[name]
    winner = Case(result).winner
    direction = re.search(r"higher (with|than)|lasted (longer|about)|kept about", a.headline.partition("whether")[0])
    if winner:
        surely = result.main.exceeds == "surely"
        assert direction
        assert a.headline.index(Case(result).name(winner)) < a.headline.index(Case(result).name("AB".strip(winner)))
        assert ("surely" in a.headline) == surely
        assert ("All of that is at least" in said(a)) == surely
        assert not (surely and "perhaps too little" in a.headline)
    elif result.main.verdict == "no_real_difference":
        assert "about the same" in a.headline
        assert "no difference that matters" in a.headline
    elif result.main.verdict == "hint_only":
        assert a.headline.startswith("Only a hint")
    else:
        assert not direction
        assert re.search(r"can't tell|could never have told|Too (much was lost|few reeds came)", a.headline)


@pytest.mark.parametrize("name", NAMES)
def test_words_on_a_range_match_its_level(name: str) -> None:
    result, a = read(name)
    parts = dict(a.sections)
    told = re.findall(r"hold the true gap in about ([\d,]+) of ([\d,]+) trials", said(a))
    if told:
        assert told == [numbers.out_of(told_range(Case(result)).level)]
    beside = set(re.findall(r"Such a range holds in about ([\d,]+) of ([\d,]+) trials", said(a)))
    levels = {numbers.out_of(f.level) for f in (*result.also_seen, *result.readings)} | {("90", "100")}
    assert beside <= levels
    for text in parts.get("Also seen", "").split("\n\n"):
        assert ("Such a range holds" in text) == ("Going by your log" in text and "no gap at all" not in text), text


@pytest.mark.parametrize("name", NAMES)
def test_no_direction_where_a_range_has_no_end_on_either_side(name: str) -> None:
    result, a = read(name)
    if result.main is None or not told_range(Case(result)).is_open or name == "old_diary":
        return
    parts = dict(a.sections)
    front = " ".join([a.headline, parts["Does it matter?"], parts["How sure is it?"]])
    assert not re.search(r"in favour of|higher than with|about [\d.]+ (points|times as)|is better", front), front


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_said_of_life_on_fewer_than_three_ends(name: str) -> None:
    result, a = read(name)
    text = said(a).partition("\n\n\n")[0]
    for found in (result.main, result.damage_counts, *result.also_seen):
        if found is not None and found.scale == "ratio" and sum(found.events or ()) < FEWEST_ENDS:
            if found.outcome == result.protocol.outcome:
                assert not re.search(r"reeds (could |would )?last(ed)? (about|up to|anything|\d)|lasted longer", text)
            else:
                assert not re.search(r"stay(ed)? good (for )?(about|up to|anything|\d)", text)
    assert "many times" not in text


@pytest.mark.parametrize("name", NAMES)
def test_it_reads_at_grade_8_without_code_words(name: str) -> None:
    _, a = read(name)
    short = said(a)
    assert grade(short) <= 8.0
    assert not [b for b in BANNED if re.search(b, short)], [b for b in BANNED if re.search(b, short)]
    assert not re.search(r"\b[a-z]+_[a-z_]+\b", a.to_text(10_000, full=True))
    assert not re.search(r"(?<![\d.,])(1 (reeds|ratings|boxes|matched sets|swaps|days|points)|0 (reeds|right|of)"
                         r"|−0(?![.\d]))", short)
    assert not re.search(r": [^.]*: |squares?\b|as many playing hours as with the way, but by", short)


def values(x: Any) -> Iterator[float]:
    """Yield every number in a result, however deep."""
    if isinstance(x, bool | str) or x is None:
        return
    if isinstance(x, int | float | np.number):
        yield float(x)
    elif isinstance(x, pd.DataFrame):
        yield float(len(x))
        for column in x.select_dtypes("number"):
            yield from map(float, x[column])
    elif dataclasses.is_dataclass(x):
        for f in dataclasses.fields(x):
            yield from values(getattr(x, f.name))
    elif isinstance(x, tuple | list):
        yield float(len(x))
        numbers_in = [v for v in x if isinstance(v, int | float) and not isinstance(v, bool)]
        if len(numbers_in) == 2:
            yield float(sum(numbers_in))
        for v in x:
            yield from values(v)


def printed(x: float, span: int) -> set[str]:
    """Return the forms in which a number may be printed: rounded, as a count of 100 or 1,000, turned over, by span."""
    if not math.isfinite(x):
        return set()
    out = set()
    for v in {abs(x), abs(x) * span, 1 / abs(x) if x else 0.0, 100 * abs(x), 1000 * abs(x)}:
        for step in (0.5, 0.1, 0.05, 0.01, 0.001, 1.0):
            text = numbers.rounded(v, step).removeprefix("-")
            out |= {text, f"{float(text):,.0f}" if float(text) == int(float(text)) else text}
    return out


#: Numbers of our own sentences: counts out of 100 and 1,000, the levels, two ways, "fewer than 3 ratings".
OURS = {"100", "1,000", "90", "5", "3", "0", "1", "80", "ten", "7"}


@pytest.mark.parametrize("name", NAMES)
def test_every_number_printed_is_a_number_of_the_result(name: str) -> None:
    result, a = read(name)
    span = Case(result).span
    known = set(OURS) | {numbers.out_of(f.level)[0] for f in (*result.readings, *result.also_seen)}
    for v in values(result):
        known |= printed(v, span)
    if result.units is not None and result.main is not None and result.main.scale == "difference":
        wide = result.units[result.units["used"]].pivot_table(index="block", columns="arm", values="value")
        wide = wide.reindex(columns=["A", "B"])  # one way may have lost all its units
        known |= {str(int((x > 1e-9).sum())) for x in (wide["B"] - wide["A"], wide["A"] - wide["B"])}
    for remark in result.remarks:
        for _, fact in remark.facts:
            known |= printed(float(fact), span) if not isinstance(fact, str) else set()
    text = re.sub(r"\b\d-\d\d\b|\b\d{1,2} [A-Z][a-z]+ \d{4}", "", said(a))  # reeds and dates
    text = re.sub(r"The plain averages are .*? and [\d.]+ with the way\.", "", text) if name != "old_diary" else text
    found = set(re.findall(r"(?<![\w.])\d+(?:,\d{3})*(?:\.\d+)?", text))
    assert found <= known, (found - known, text)


def test_there_are_twenty_and_each_has_its_verdict() -> None:
    assert len(NAMES) >= 20
    assert set(NAMES) == set(VERDICTS)


def test_two_boxes_count_draws_and_say_that_box_and_cut_are_one() -> None:
    _, a = read("two_boxes")
    page = " ".join([a.summary, *(t for _, t in a.sections)])
    assert "It rests on 28 draws of one reed from each box, and so on 56 ratings" in page
    assert "What was shuffled is the order of each day; a reed belongs to its box." in page
    assert "box and cut can't be told apart" in a.summary
    assert "shuffling alone" not in page
    assert not re.search(r"days of play|matched set", a.to_text(10_000, full=True).lower())


def test_a_trial_ended_by_hand_was_ended_on_that_day() -> None:
    _, a = read("ended_by_hand")
    texts = {w["code"]: w["text"] for w in a.warnings}
    assert "ended on day 11 of 28" in texts["ended_early"]
    assert "In 1 swap of two reeds over two days, a rating is missing" in texts["half_squares"]


def test_what_was_lost_is_no_fault_of_the_plan() -> None:
    """Six pairs could have told; what was left of them could not."""
    for name in ("all_missing_with_one_way", "one_reed_left"):
        assert "never" not in read(name)[1].to_text(10_000, full=True)
    assert "could never have told" in read("open_on_both_sides")[1].headline


def test_the_figure_of_the_gap_shows_the_players_own_gaps() -> None:
    """One dot for each swap, at B's rating less A's, worked out here from the units alone."""
    result, _ = read("better_but_small")
    assert result.units is not None
    wide = result.units.pivot_table(index="block", columns="arm", values="value")
    ax = gap_figure(result).axes[0]
    dots = next(line for line in ax.lines if line.get_marker() == "o")
    assert sorted(np.round(dots.get_xdata(), 6)) == sorted(np.round(wide["B"] - wide["A"], 6))


def test_sets_of_more_than_two_show_each_reed_against_the_other_way() -> None:
    result, _ = read("masked")
    assert result.units is not None
    a, b = (result.units.loc[result.units["arm"] == x, "value"].to_numpy(float) for x in "AB")
    dots = next(line for line in gap_figure(result).axes[0].lines if line.get_marker() == "o")
    assert sorted(np.round(dots.get_xdata(), 6)) == sorted(np.round([*(b - a.mean()), *(b.mean() - a)], 6))
