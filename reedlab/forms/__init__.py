"""The forms of the pages: thin controls over the plan, the logbook and the answer.

>>> from reedlab import forms
>>> book = forms.here()          # the logbook of this folder
>>> page = forms.today(book)     # a form; named last in a cell, it shows
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ._book import Book, bring_up_to_date

if TYPE_CHECKING:
    from ._form import Form

__all__ = [
    "Book", "boxes", "bring_up_to_date", "case", "class_deal", "class_files", "class_hand_in", "class_paper",
    "class_plan", "class_together", "day", "ear", "end", "first_play", "here", "old_diary", "outing", "paper", "plan",
    "result", "retire", "setup", "sheet", "start", "today", "week", "why", "worked_on",
]

here = Book.here


def start(book: Book | None = None) -> Form:
    """Return what the logbook of this folder holds, and where it is."""
    from .start_form import StartForm

    return StartForm(book or here())


def boxes(book: Book | None = None) -> Form:
    """Return the form for a new box of reeds."""
    from .box_form import BoxForm

    return BoxForm(book or here())


def setup(book: Book | None = None) -> Form:
    """Return the form for a mouthpiece and ligature."""
    from .setup_form import SetupForm

    return SetupForm(book or here())


def first_play(book: Book | None = None) -> Form:
    """Return the form for the first play of a box."""
    from .first_play_form import FirstPlayForm

    return FirstPlayForm(book or here())


def plan(book: Book | None = None) -> Form:
    """Return the form that plans a trial and starts it."""
    from .plan_form import PlanForm

    return PlanForm(book or here())


def end(book: Book | None = None) -> Form:
    """Return the form that ends a trial before its last day."""
    from .end_form import EndForm

    return EndForm(book or here())


def ear(book: Book | None = None) -> Form:
    """Return the double rating: how well the player's own ratings repeat."""
    from .ear_form import EarForm

    return EarForm(book or here())


def old_diary(book: Book | None = None) -> Form:
    """Return the reading of an old diary, and the fair trial that would settle it."""
    from .old_diary_form import OldDiaryForm

    return OldDiaryForm(book or here())


def today(book: Book | None = None) -> Form:
    """Return today's plan and the entry of a sitting."""
    from .today_form import TodayForm

    return TodayForm(book or here())


def week(book: Book | None = None) -> Form:
    """Return the player's usual week, days off and concerts to come."""
    from .week_form import WeekForm

    return WeekForm(book or here())


def outing(book: Book | None = None) -> Form:
    """Return the form for a rehearsal or a concert."""
    from .outing_form import OutingForm

    return OutingForm(book or here())


def case(book: Book | None = None) -> Form:
    """Return the reed case: every reed, which are ready, and how long they may last."""
    from .case_form import CaseForm

    return CaseForm(book or here())


def day(book: Book | None = None) -> Form:
    """Return the form for the day itself: air, day off, pause."""
    from .day_form import DayForm

    return DayForm(book or here())


def retire(book: Book | None = None) -> Form:
    """Return the form for a reed that leaves service."""
    from .retire_form import RetireForm

    return RetireForm(book or here())


def worked_on(book: Book | None = None) -> Form:
    """Return the form for a reed that was sanded, scraped or clipped."""
    from .worked_on_form import WorkedOnForm

    return WorkedOnForm(book or here())


def result(book: Book | None = None) -> Form:
    """Return the answers: of this logbook, and of the invented example."""
    from .result_form import ResultForm

    return ResultForm(book or here())


def paper(book: Book | None = None) -> Form:
    """Return the buttons that make the sheet, the labels, the calendar and the spreadsheet."""
    from .paper_form import PaperForm

    return PaperForm(book or here())


def sheet(book: Book | None = None) -> Form:
    """Return the form for typing a filled sheet back in."""
    from .sheet_form import SheetForm

    return SheetForm(book or here())


def why() -> Form:
    """Return the page for a class: why not just try it? It needs no logbook."""
    from .why_form import WhyForm

    return WhyForm()


def class_files(book: Book | None = None) -> Form:
    """Return what the class's folder holds, and the control that takes in files that were sent."""
    from .class_files_form import ClassFilesForm

    return ClassFilesForm(book or here())


def class_plan(book: Book | None = None) -> Form:
    """Return the teacher's form for the plan to hand out."""
    from .class_plan_form import ClassPlanForm

    return ClassPlanForm(book or here())


def class_deal(book: Book | None = None) -> Form:
    """Return the pupil's form that deals their own reeds from the class's plan."""
    from .class_deal_form import ClassDealForm

    return ClassDealForm(book or here())


def class_hand_in(book: Book | None = None) -> Form:
    """Return the pupil's form that writes an ended trial to a small file."""
    from .class_hand_in_form import ClassHandInForm

    return ClassHandInForm(book or here())


def class_paper(book: Book | None = None) -> Form:
    """Return the teacher's form for pupils on paper."""
    from .class_paper_form import ClassPaperForm

    return ClassPaperForm(book or here())


def class_together(book: Book | None = None) -> Form:
    """Return the teacher's form that puts together what was handed in."""
    from .class_together_form import ClassTogetherForm

    return ClassTogetherForm(book or here())
