"""What the forms of the class page share: the class's folder, and what is in it, in words."""

from __future__ import annotations

from pathlib import Path

from ...classes.class_plan import ClassPlan
from ...errands.book import Book
from ...errands.class_steps import Shelf, look_through
from ...errors import InputError
from ...trial.outcomes import OUTCOMES
from ...wording import tr
from ..plan_page.words import DESIGN_WORDS, scale_words
from ..shared.fields import Pick
from ..shared.form import rows_table

__all__ = ["FOLDER", "class_folder", "handed_in_path", "offer_plans", "plan_called", "plan_html", "plan_options",
           "shelf_of"]

#: The class's folder, beside the logbook.
FOLDER = "class"


def class_folder(book: Book) -> Path:
    """Return the folder in which a class's files are kept."""
    return book.path.parent / FOLDER


def shelf_of(book: Book) -> Shelf:
    """Return what the class's folder holds now."""
    return look_through(class_folder(book))


def plan_options(shelf: Shelf) -> list[tuple[str, str]]:
    """Return the plans to pick from: file and question, and the file's name."""
    return [(f"{path.name}: {plan.ask}", path.name) for path, plan in shelf.plans]


def offer_plans(pick: Pick, shelf: Shelf) -> None:
    """Offer the plans of a class; one that is the only one is picked."""
    pick.offer(plan_options(shelf), shelf.plans[0][0].name if len(shelf.plans) == 1 else None)


def handed_in_path(book: Book, code: str) -> Path:
    """Return where a pupil's trial is to be written; InputError if it stands there already."""
    path = class_folder(book) / f"{code} handed in.json"
    if path.exists():
        raise InputError(tr("{name} is in the folder already. Take it away first to write it anew.").format(
                             name=path.name))
    return path


def plan_called(shelf: Shelf, name: str | None) -> ClassPlan:
    """Return the plan in the file of this name; InputError if none was picked."""
    for path, plan in shelf.plans:
        if path.name == name:
            return plan
    raise InputError(tr("Choose the class's plan first. Its file has to be in the class folder."))


def plan_html(plan: ClassPlan) -> str:
    """Return a class's plan in plain words."""
    a, b = plan.habits
    outcome = OUTCOMES[plan.outcome]
    unit = outcome.gap_unit
    if plan.matters == 1:
        unit = unit.replace("points", "point", 1)
    how = DESIGN_WORDS["back_to_back" if outcome.pairs else plan.design] + "."
    rows = [[tr("Question"), plan.ask], [tr("The two ways"), tr("{a}, or {b}").format(a=a.name, b=b.name)],
            [tr("How"), how], [tr("What counts"), f"{outcome.title} ({plan.rating})"],
            [tr("Smallest difference that matters"), f"{plan.matters:g} {unit}"], [tr("Days"), f"{plan.days}"],
            [tr("The words of the scale"), scale_words(plan.scale)], [tr("Fingerprint"), plan.sha256[:12]]]
    return rows_table([tr("What"), tr("The plan says")], rows)
