"""The answer as a page: words with one figure, everything else folded. All that a player typed is escaped."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from ..trial.practice import CAUTIONS
from . import ledger
from .case import Case
from .said import Said
from .words.fragile import readings_table
from .words.headline import headline
from .words.limits import when_and_what
from .words.lives import too_few_ends

if TYPE_CHECKING:
    from collections.abc import Callable

    from jinja2 import Environment
    from matplotlib.figure import Figure

__all__ = ["FRONT", "context_of", "environment", "fragment", "whole_page"]

_TEMPLATES = Path(__file__).parent / "templates"
_FOLDED = ("Read another way", "How fragile is it?", "Also seen")
#: Remarks shown in front, the gravest; the rest are counted and folded, so that the page prints as one.
FRONT = 4


@cache
def environment() -> Environment:
    """Return the template environment; everything put into a page is escaped."""
    from jinja2 import Environment, FileSystemLoader  # only where a page is made: the command line needs none

    return Environment(loader=FileSystemLoader(_TEMPLATES), autoescape=True, trim_blocks=True, lstrip_blocks=True)


def fragment(answer: Said) -> str:
    """Return the answer as HTML to stand inside a notebook or page."""
    return environment().get_template("answer.html.j2").render(context_of(answer))


def context_of(answer: Said) -> dict[str, Any]:
    """Return what the templates show of an answer: its words, figures and tables."""
    result = answer.result
    case = Case(result)
    progress = result.progress
    context: dict[str, Any] = {
        # Our own style sheet: the one text that must not be escaped.
        "css": Markup((_TEMPLATES / "answer.css").read_text(encoding="utf8")),
        "trial": result.protocol.trial,
        "ask": result.protocol.ask,
        "when": when_and_what(case),
        "headline": answer.headline,
        "summary": answer.summary,
        "sections": [s for s in answer.sections if s[0] not in _FOLDED],
        "more_sections": [s for s in answer.sections if s[0] in _FOLDED],
        "readings": readings_table(case),
        "warnings": answer.warnings[:FRONT],
        "more_warnings": answer.warnings[FRONT:],
        "figure": None,
        "more_figures": [],
        "curves": None,
        "progress": None,
        "day": progress.day,
        "days": progress.days,
        "numbers": ledger.numbers_table(case),
        "second": ledger.second_opinion_table(case),
        "cautions": cautions(answer),
        "sha": result.protocol_sha256,
    }
    if result.main is None:
        context["progress"] = round(100 * min(1.0, max(0.0, progress.day / max(1, progress.days))))
    else:
        context |= _figures(case)
    return context


def whole_page(answer: Said) -> str:
    """Return a page that stands alone in one file and prints."""
    return environment().get_template("page.html.j2").render(
        trial=answer.result.protocol.trial, fragment=Markup(fragment(answer)))


def cautions(answer: Said) -> list[str]:
    """Return the cautions that belong beside this answer."""
    keys = ["result"]
    if any(w["code"] == "worked_on" for w in answer.warnings):
        keys.append("worked_on")
    return [c.text for c in CAUTIONS.values() if set(keys) & set(c.shown_with)]


def _figures(case: Case) -> dict[str, Any]:
    from . import figures

    result = case.result

    def shown(draw: Callable[..., Figure], said: str | None = None) -> dict[str, str]:
        more = {} if said is None else {"titled": False}
        fig = draw(result, width=figures.PAGE, **more)
        return {"src": figures.svg_uri(fig), "alt": said or fig.get_suptitle().replace("\n", " ")}

    more: list[Callable[..., Figure]] = []
    has_units = result.units is not None and len(result.units) > 0
    has_points = result.points is not None and len(result.points) > 0
    bars = has_units and case.main is not None and too_few_ends(case.main)
    if has_units:
        more.append(figures.lives_figure if case.is_ratio else figures.joined_figure)
    if has_points:
        more.append(figures.ratings_figure)
    what = "The gap." if case.is_diary else "The gap and its range."
    return {
        # with too few ends there is no gap to draw, so each reed's hours stand in front
        "figure": shown(more.pop(0)) if bars else shown(
            figures.gap_figure, f"{what} {headline(case)}"),
        "more_figures": [shown(draw) for draw in more],
        "curves": shown(figures.curves_figure) if case.is_ratio and has_units else None,
    }
