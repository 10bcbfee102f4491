"""The full report: the 25 items of the reporting list for trials with one person, and all the numbers.

The list is CENT 2015 (Vohra et al., BMJ 2015;350:h1738), which keeps the 25 numbers of CONSORT 2010. The names
of the items are our own words.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from ..wording import tr
from .case import Case
from .page import context_of, environment
from .report_tables import accounted, sequence
from .said import Said
from .words import report_found as found
from .words import report_plan as planned

__all__ = ["Item", "report_items", "report_page"]

_ITEMS: Final[tuple[tuple[str, str, Callable[[Case], str]], ...]] = (
    (tr("In short"), tr("What this is"), planned.title),
    (tr("Why"), tr("Question, and why one player"), planned.question),
    (tr("How"), tr("Design, and changes after the start"), planned.design),
    (tr("How"), tr("Player, reeds and place"), planned.who),
    (tr("How"), tr("The two ways"), planned.ways),
    (tr("How"), tr("What was measured"), planned.measured),
    (tr("How"), tr("How many, and when to stop"), planned.how_many),
    (tr("How"), tr("How the ways were dealt"), planned.dealt),
    (tr("How"), tr("Whether the deal could be steered"), planned.hidden),
    (tr("How"), tr("Who dealt, and who carried it out"), planned.dealt_by_whom),
    (tr("How"), tr("Who knew which way was which"), planned.masked),
    (tr("How"), tr("How it was worked out"), planned.analysed),
    (tr("What came out"), tr("What became of the reeds"), found.became_of),
    (tr("What came out"), tr("Dates, and why it ended"), found.dates),
    (tr("What came out"), tr("The reeds at the start"), found.at_the_start),
    (tr("What came out"), tr("What was counted"), found.counted),
    (tr("What came out"), tr("The answer, its size and its range"), found.result),
    (tr("What came out"), tr("Other readings"), found.side_readings),
    (tr("What came out"), tr("Harm"), found.harm),
    (tr("What it means"), tr("What limits it"), found.limited),
    (tr("What it means"), tr("For whom it holds"), found.for_whom),
    (tr("What it means"), tr("How sure, and what next"), found.means),
    (tr("Behind it"), tr("Register"), planned.registered),
    (tr("Behind it"), tr("The whole plan"), planned.frozen),
    (tr("Behind it"), tr("Money and reeds"), planned.money),
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
    case = Case(answer.result)
    return environment().get_template("report.html.j2").render(
        **context_of(answer), parts=_parts(report_items(answer)), accounted=accounted(case), sequence=sequence(case),
        other_tests=planned.other_tests(case))


def _parts(items: tuple[Item, ...]) -> list[tuple[str, list[Item]]]:
    """Return the items by the part they belong to, in order."""
    return [(part, list(mine)) for part, mine in groupby(items, key=lambda i: i.part)]
