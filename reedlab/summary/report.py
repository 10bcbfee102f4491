"""The full report: the 25 items of the reporting list for trials with one person, and all the numbers.

The list is CENT 2015 (Vohra et al., BMJ 2015;350:h1738), which keeps the 25 numbers of CONSORT 2010. The names
of the items are our own words; the order of the later ones is from memory.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from .case import Case
from .page import context_of, environment
from .said import Said
from .words import report_found as found
from .words import report_plan as planned

__all__ = ["Item", "report_items", "report_page"]

_ITEMS: Final[tuple[tuple[str, str, Callable[[Case], str]], ...]] = (
    ("In short", "What this is", planned.title),
    ("Why", "Question, and why one player", planned.question),
    ("How", "Design, and changes after the start", planned.design),
    ("How", "Player, reeds and place", planned.who),
    ("How", "The two ways", planned.ways),
    ("How", "What was measured", planned.measured),
    ("How", "How many, and when to stop", planned.how_many),
    ("How", "How the ways were dealt", planned.dealt),
    ("How", "Whether the deal could be steered", planned.hidden),
    ("How", "Who dealt, and who carried it out", planned.dealt_by_whom),
    ("How", "Who knew which way was which", planned.masked),
    ("How", "How it was worked out", planned.analysed),
    ("What came out", "What became of the reeds", found.became_of),
    ("What came out", "Dates, and why it ended", found.dates),
    ("What came out", "The reeds at the start", found.at_the_start),
    ("What came out", "What was counted", found.counted),
    ("What came out", "The answer, its size and its range", found.result),
    ("What came out", "Other readings", found.side_readings),
    ("What came out", "Harm", found.harm),
    ("What it means", "What limits it", found.limited),
    ("What it means", "For whom it holds", found.for_whom),
    ("What it means", "How sure, and what next", found.means),
    ("Behind it", "Register", planned.registered),
    ("Behind it", "The whole plan", planned.frozen),
    ("Behind it", "Money and reeds", planned.money),
)


@dataclass(frozen=True)
class Item:
    """One item of the list: its number, the part it belongs to, its name and what this trial has to say."""

    number: int
    part: str
    name: str
    text: str


def report_items(answer: Said) -> tuple[Item, ...]:
    """Return the 25 items in order. Those that do not apply say so."""
    case = Case(answer.result)
    return tuple(Item(i, part, name, write(case)) for i, (part, name, write) in enumerate(_ITEMS, 1))


def report_page(answer: Said) -> str:
    """Return the full report as a page that stands alone in one file."""
    return environment().get_template("report.html.j2").render(
        **context_of(answer), parts=_parts(report_items(answer)))


def _parts(items: tuple[Item, ...]) -> list[tuple[str, list[Item]]]:
    """Return the items by the part they belong to, in order."""
    return [(part, list(mine)) for part, mine in groupby(items, key=lambda i: i.part)]
