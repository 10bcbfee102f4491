"""The answer as a page: three lines and a picture, the rest folded. All that a player typed is escaped."""

from __future__ import annotations

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from markupsafe import Markup

from ..look import DARK, FONT, INVENTED, LIGHT, templates, variables
from ..trial.practice import CAUTIONS
from ..wording import tr
from . import ledger
from .case import Case
from .said import Said
from .words.fragile import readings_table
from .words.limits import when_and_what
from .words.lives import too_few_ends

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.figure import Figure

__all__ = ["BESIDE", "PRINTED", "cautions", "context_of", "environment", "fragment", "standing_alone", "style"]

_TEMPLATES = Path(__file__).parent / "templates"
#: What stands beside the answer and never decides it: one fold.
BESIDE = (tr("Read another way"), tr("How fragile is it?"), tr("Also seen"))
#: Remarks that the printed page has room for, the gravest; the rest are counted.
PRINTED = 3
#: What fills in the templates of an answer.
environment = partial(templates, _TEMPLATES)


def style() -> Markup:
    """Return our own style sheet: the one text that must not be escaped."""
    mine = ".reedlab-answer"
    return Markup(
        variables(mine, {"font": FONT, **LIGHT}) + variables(f'[data-jp-theme-light="false"] {mine}', DARK)
        + "@media screen and (prefers-color-scheme: dark){"
        + variables(f"html.rl-alone, .rl-alone {mine}", DARK) + "}\n"
        + (_TEMPLATES / "answer.css").read_text(encoding="utf8"))


def fragment(answer: Said) -> str:
    """Return the answer as HTML to stand inside a notebook or page."""
    return environment().get_template("answer.html.j2").render(context_of(answer))


def standing_alone(name: str, shown: str) -> str:
    """Return what was made to stand inside a page as a page of its own, in one file that prints."""
    return environment().get_template("page.html.j2").render(trial=name, fragment=Markup(shown))


def context_of(answer: Said) -> dict[str, Any]:
    """Return what the templates show of an answer: its words, figures and tables."""
    result = answer.result
    case, progress = Case(result), result.progress
    context: dict[str, Any] = {
        "css": style(),
        "said": answer,
        "invented": INVENTED if answer.about.invented else "",
        "when": when_and_what(case),
        "first_folds": [f for f in answer.folds if f[0] not in BESIDE],
        "beside": [f for f in answer.folds if f[0] in BESIDE],
        "printed": PRINTED,
        "readings": readings_table(case),
        "figure": None,
        "more_figures": [],
        "progress": None,
        "numbers": ledger.numbers_table(case),
        "second": ledger.second_opinion_table(case),
        "cautions": cautions({"result", *(w["code"] for w in answer.warnings)}),
    }
    if result.main is None:
        context["progress"] = round(100 * min(1.0, max(0.0, progress.day / max(1, progress.days))))
    else:
        context |= _figures(case, answer)
    return context


def cautions(shown_with: set[str]) -> list[str]:
    """Return the cautions that belong beside what is shown; the code of a remark is the key of its caution."""
    return [c.text for c in CAUTIONS.values() if shown_with & set(c.shown_with)]


def _figures(case: Case, answer: Said) -> dict[str, Any]:
    from . import figures

    result = case.result

    def shown(draw: Callable[..., Figure], said: str | None = None) -> dict[str, str]:
        fig = draw(result, width=figures.PAGE, titled=False) if said else draw(result, width=figures.PAGE)
        return {"src": figures.svg_uri(fig), "alt": said or fig.get_suptitle().replace("\n", " ")}

    more: list[Callable[..., Figure]] = []
    if result.units is not None and len(result.units):
        more += [figures.lives_figure, figures.curves_figure] if case.is_ratio else [] if (
            case.plan.pairs) else [figures.joined_figure]
    if result.points is not None and len(result.points):
        more.append(figures.ratings_figure)
    few = case.main is not None and too_few_ends(case.main)
    front: tuple[Callable[..., Figure], str | None] = figures.gap_figure, f"{answer.picture} {answer.headline}"
    if result.odds is not None:
        front = figures.odds_figure, answer.picture
        more = [draw for draw in more if draw is not figures.curves_figure] if few else [figures.gap_figure, *more]
    elif few and figures.lives_figure in more:  # there is no gap to draw, so each reed's hours stand in front
        front = figures.lives_figure, None
        more.remove(figures.lives_figure)
    return {"figure": shown(*front), "titled": front[1] is None, "more_figures": [shown(draw) for draw in more]}
