"""The full report: all 25 items, in plain words, nothing by habit while sealed."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from reedlab.analysis.remarks.catalogue import remark
from reedlab.summary import answer
from reedlab.summary.case import Case
from reedlab.summary.report import report_items
from reedlab.summary.report_tables import accounted, sequence
from tests.readability import grade

sys.path.insert(0, str(Path(__file__).parent))
import _results as made

GRID = dict(made.grid())
BANNED = (
    r"p-values?", "significan", r"\bnull\b", r"\bsubjects?\b", r"\btreatments?\b", r"\bhazards?\b", r"\bprove",
    r"\barms?\b", r"\bblocks?\b", r"\bintervals?\b", r"\bprotocol\b", r"\bscores?\b", r"\bnan\b", r"\binf\b",
    r"\bNone\b(?!\.)", r"  ", r"\.\.", r" \.", r" ,",
)


@pytest.mark.parametrize("name", GRID)
def test_the_report_answers_all_25_items_in_plain_words(name: str) -> None:
    """CENT 2015 (BMJ 2015;350:h1738) has 25 items; each has whole sentences, at grade 8 or lower in all."""
    items = report_items(answer(GRID[name]))
    assert [i.number for i in items] == list(range(1, 26))
    for item in items:
        assert re.match(r"[A-Z0-9]", item.text), item
        assert item.text.endswith((".", "?")), item
        assert not [b for b in BANNED if re.search(b, item.text)], item
    assert grade(" ".join(i.text for i in items)) <= 8


def test_what_does_not_apply_says_so() -> None:
    text = {i.number: i.text for i in report_items(answer(made.result("mean_rating", "b_better", frames=False)))}
    assert text[23].startswith("Not applicable")
    diary = made.result("mean_rating", "hint_only", state="diary", frames=False, plan_more={"how_dealt": "not"})
    text = {i.number: i.text for i in report_items(answer(diary))}
    for number in (7, 9, 10):
        assert text[number].startswith("Not applicable"), number
    assert text[8] == "Nothing was dealt by chance."


def test_the_report_of_a_running_trial_keeps_the_seal() -> None:
    a = answer(made.result("mean_rating", None))
    text = {i.number: i.text for i in report_items(a)}
    for number in (16, 17, 18, 22):
        assert "sealed" in text[number]
    html = a.report_html()
    assert "<img" not in html
    assert "Second opinions" not in html


def test_the_report_holds_every_remark_and_number_and_stands_alone() -> None:
    a = answer(made.result("life_hours", "b_better", remarks=made.all_remarks()))
    html = a.report_html()
    assert {w["code"] for w in a.warnings} == set(re.findall(r'data-code="(\w+)"', html))
    assert not re.search(r"(?:src|href|srcset)=\"(?!data:)", html)
    assert html.count("<img") == 4
    assert html.count(a.result.protocol_sha256) == 1  # in the small print at the end
    assert html.index(a.result.protocol_sha256) > html.index("Cautions")


#: CENT 2015 (Vohra et al., BMJ 2015;350:h1738): its items in short words of our own, and what answers each.
CENT = {
    1: ("named a trial of one person", "A trial by one player on that player's own reeds"),
    2: ("why, why one person, what was known before", "Known before: no earlier trial of this question"),
    3: ("design, periods, wash-out, changes after the start", "Wash-out: from a reed's sitting with one way"),
    4: ("who, where, and leave to do it", "One player, clarinet.*in your normal practice. Leave to run"),
    5: ("what was done, so that it can be done again", "A short soak.*Where you wrote down which way you used"),
    6: ("what was measured, and how well it repeats", "This alone carries the answer.*were spread by .* here"),
    7: ("how many, and when to stop", "The clearest result it could give.*An early look may name a winner only if"),
    8: ("how the order was made, and the whole order", "Dealt by computer from the seed 7.*table of the order"),
    9: ("hidden until dealt", "the computer dealt last, in one go"),
    10: ("who dealt and who carried it out", "The computer dealt. You chose the reeds before"),
    11: ("who did not know", "Nothing was hidden. You knew which way was which"),
    12: ("the reckoning; carry-over, days, repeats", "dealt again in every manner.*such tests do not know that"),
    13: ("what became of all, with the missing", "Of 28 ratings due, 26 are in.*The table of what was planned"),
    14: ("from when to when, and why it stopped", "The trial began on 1 March 2026.*It ran to its end"),
    15: ("at the start", "The reeds came from box 1.*broken in before day 1"),
    16: ("how many were counted", "It rests on 7 swaps, each counted once"),
    17: ("the answer with its range", "your reeds rated about 1.2 points higher.*could be from 0.3 to 2.1"),
    18: ("other readings", "Counting what you really did gives the same answer"),
    19: ("harm", "No reed of the trial was retired as mouldy. The log does not ask about other harm"),
    20: ("limits", "You knew which way was which when you rated, and that can sway a rating"),
    21: ("for whom", "This holds for you, this instrument and mouthpiece, these reeds, these weeks"),
    22: ("what it means", "shuffling alone would give a gap this big about 2 times in 100.*go on with a long soak"),
    23: ("register", "Not applicable: a player's own trial stands in no public register"),
    24: ("where the plan is", "The whole plan stands in your logbook"),
    25: ("money", "Not asked. If someone gave reeds or money"),
}


@pytest.mark.parametrize("number", CENT)
def test_each_item_of_the_reporting_list_is_answered(number: int) -> None:
    item = report_items(answer(made.result("day_rating", "b_better")))[number - 1]
    assert item.number == number
    assert re.search(CENT[number][1], item.text), item.text


def test_what_was_planned_adds_up_and_every_rating_stands_in_the_order_of_the_days() -> None:
    r = made.result("day_rating", "b_better")
    assert r.points is not None
    gone = r.points.drop(index=[0, 5, 6])  # one of a pair of ratings, and both of another
    assert r.units is not None
    units = r.units.assign(used=[u in set(gone["unit"]) for u in r.units["unit"]])
    case = Case(replace(r, points=gone, units=units))
    found = accounted(case)
    assert found is not None
    counts = {row[0]: [int(x) for x in row[1:] if x] for row in found[1]}
    for i in range(3):
        assert counts["Pairs of ratings planned"][i] == sum(
            counts[f"Pairs of ratings {x}"][i] for x in ("whole", "half", "left out"))
    assert sum(counts["Pairs of ratings planned"][:2]) == len(r.protocol.units) == 14
    assert counts["Pairs of ratings half"][2] + counts["Pairs of ratings left out"][2] in (2, 3)
    assert counts["Ratings due"][0] == counts["Ratings given"][0] + counts["Ratings missing"][0]
    table = sequence(case)
    assert table is not None
    told = [cell for _, _, cells in table[1] for cell in cells.split(" · ")]
    assert len(told) == sum(len(u.cells) for u in r.protocol.units)
    assert sum(cell.endswith("missing") for cell in told) == 3
    assert [int(row[0]) for row in table[1]] == sorted(int(row[0]) for row in table[1])


def test_everything_typed_is_escaped_in_the_report_too() -> None:
    evil = "<script>alert(1)</script>"
    r = made.result("mean_rating", "b_better", habits=(evil, "a soak"), frames=False,
                    plan_more={"trial": evil, "ask": evil, "setup": evil, "scale": ((2, evil), (10, "best"))},
                    remarks=(remark("setup_changed", setups=evil, sittings=2),))
    html = answer(r).report_html()
    assert "<script" not in html
    assert "&lt;script&gt;" in html
