"""The forms of the pages: thin controls over the plan, the logbook and the answer.

>>> from reedlab import forms
>>> book = forms.here()          # the logbook of this folder
>>> page = forms.today(book)     # a form; named last in a cell, it shows
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from ..errands.book import Book, bring_up_to_date

if TYPE_CHECKING:
    from .shared.form import Form

__all__ = [
    "Book", "away", "boxes", "bring_up_to_date", "case", "class_deal", "class_files", "class_hand_in", "class_paper",
    "class_plan", "class_together", "day", "diary", "ear", "end", "first_play", "get_ready", "here", "new_reeds",
    "not_playing", "old_diary", "outing", "paper", "plan", "plan_more", "result", "retire", "setup", "sheet",
    "standing", "start",
    "today", "week", "why", "worked_on",
]

here = Book.here


def _open(module: str, name: str, book: Book | None) -> Form:
    from .shared.opened import opened

    return opened(module, name, book)


def get_ready() -> None:
    """Load all that the pages need, so that the first form shows at once."""
    from .shared.ready import load_all

    load_all()


def start(book: Book | None = None) -> Form:
    """Return what the logbook of this folder holds, and where it is."""
    return _open("start_page.form", "StartForm", book)


def boxes(book: Book | None = None) -> Form:
    """Return the form for a new box of reeds."""
    return _open("plan_page.box_form", "BoxForm", book)


def setup(book: Book | None = None) -> Form:
    """Return the form for a mouthpiece and ligature."""
    return _open("today_page.setup_form", "SetupForm", book)


def first_play(book: Book | None = None) -> Form:
    """Return the form for the first play of a box."""
    return _open("plan_page.first_play_form", "FirstPlayForm", book)


def plan(book: Book | None = None) -> Form:
    """Return the form that plans a trial and starts it."""
    return _open("plan_page.form", "PlanForm", book)


def new_reeds(book: Book | None = None) -> Form:
    """Return a new box, its first play and the set-up, each behind one word; what is next is open."""
    return _open("plan_page.beside", "NewReedsForm", book)


def plan_more(book: Book | None = None) -> Form:
    """Return what is rarer on the plan page, each behind one word: an old diary, the end of a trial."""
    return _open("plan_page.beside", "MoreForm", book)


def standing(book: Book | None = None) -> Form:
    """Return the form for a trial that goes on until it is settled: begin it, deal the next box."""
    return _open("plan_page.standing_form", "StandingForm", book)


def end(book: Book | None = None) -> Form:
    """Return the form that ends a trial before its last day."""
    return _open("plan_page.end_form", "EndForm", book)


def ear(book: Book | None = None) -> Form:
    """Return the double rating: how well the player's own ratings repeat."""
    return _open("ear_page.form", "EarForm", book)


def old_diary(book: Book | None = None) -> Form:
    """Return the reading of an old diary, and the fair trial that would settle it."""
    return _open("plan_page.old_diary_form", "OldDiaryForm", book)


def today(book: Book | None = None) -> Form:
    """Return today's plan and the entry of a sitting."""
    return _open("today_page.form", "TodayForm", book)


def week(book: Book | None = None) -> Form:
    """Return the player's usual week, days off and concerts to come."""
    return _open("today_page.week_form", "WeekForm", book)


def outing(book: Book | None = None) -> Form:
    """Return the form for a rehearsal or a concert."""
    return _open("today_page.outing_form", "OutingForm", book)


def case(book: Book | None = None) -> Form:
    """Return the reed case: every reed, which are ready, and how long they may last."""
    return _open("case_page.form", "CaseForm", book)


def not_playing(book: Book | None = None) -> Form:
    """Return the form for not playing, today or until a date."""
    return _open("today_page.not_playing_form", "NotPlayingForm", book)


def day(book: Book | None = None) -> Form:
    """Return the form for the day itself: the room's air, a remark."""
    return _open("today_page.day_form", "DayForm", book)


def retire(book: Book | None = None) -> Form:
    """Return the form for a reed that leaves service."""
    return _open("today_page.retire_form", "RetireForm", book)


def worked_on(book: Book | None = None) -> Form:
    """Return the form for a reed that was sanded, scraped or clipped."""
    return _open("today_page.worked_on_form", "WorkedOnForm", book)


def result(book: Book | None = None) -> Form:
    """Return the answers: of this logbook, and of the invented example."""
    return _open("result_page.form", "ResultForm", book)


def paper(book: Book | None = None) -> Form:
    """Return the buttons that make the sheet, the labels, the calendar and the spreadsheet."""
    return _open("paper_page.form", "PaperForm", book)


def sheet(book: Book | None = None) -> Form:
    """Return the form for typing a filled sheet back in."""
    return _open("paper_page.sheet_form", "SheetForm", book)


def away(book: Book | None = None) -> Form:
    """Return the button that makes a page of one file to take along, and the reading of what it hands back."""
    return _open("paper_page.away_form", "AwayForm", book)


def diary(book: Book | None = None) -> Form:
    """Return the form that takes in a diary as it is: any table, matched column by column and word by word."""
    return _open("diary_page.form", "DiaryForm", book)


def why() -> Form:
    """Return the page for a class: why not just try it? It needs no logbook."""
    from .why_page.form import WhyForm

    return WhyForm()


def class_files(book: Book | None = None) -> Form:
    """Return what the class's folder holds, and the control that takes in files that were sent."""
    return _open("class_page.files", "ClassFilesForm", book)


def class_plan(book: Book | None = None) -> Form:
    """Return the teacher's form for the plan to hand out."""
    return _open("class_page.plan", "ClassPlanForm", book)


def class_deal(book: Book | None = None) -> Form:
    """Return the pupil's form that deals their own reeds from the class's plan."""
    return _open("class_page.deal", "ClassDealForm", book)


def class_hand_in(book: Book | None = None) -> Form:
    """Return the pupil's form that writes an ended trial to a small file."""
    return _open("class_page.hand_in", "ClassHandInForm", book)


def class_paper(book: Book | None = None) -> Form:
    """Return the teacher's form for pupils on paper."""
    return _open("class_page.paper", "ClassPaperForm", book)


def class_together(book: Book | None = None) -> Form:
    """Return the teacher's form that puts together what was handed in."""
    return _open("class_page.together", "ClassTogetherForm", book)
