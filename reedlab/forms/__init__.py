"""The forms of the pages: thin controls over the plan, the logbook and the answer.

>>> from reedlab import forms
>>> book = forms.here()          # the logbook of this folder
>>> page = forms.today(book)     # a form; named last in a cell, it shows
"""

from __future__ import annotations

from collections.abc import Callable
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


def get_ready() -> None:
    """Load all that the pages need, so that the first form shows at once."""
    from .shared.ready import load_all

    load_all()


def _form(module: str, name: str, what: str) -> Callable[..., Form]:
    """Return what opens a form, by default on this folder's logbook; the form is loaded when it is first wanted."""

    def shown(book: Book | None = None) -> Form:
        from .shared.opened import opened

        return opened(module, name, book)

    shown.__doc__ = f"Return {what}."
    return shown


start = _form("start_page.form", "StartForm", "what the logbook of this folder holds, and where it is")

new_reeds = _form("plan_page.beside", "NewReedsForm",
                  "a new box, its first play and the set-up, each behind one word; what is next is open")
boxes = _form("plan_page.box_form", "BoxForm", "the form for a new box of reeds")
first_play = _form("plan_page.first_play_form", "FirstPlayForm", "the form for the first play of a box")
plan = _form("plan_page.form", "PlanForm", "the form that plans a trial and starts it")
plan_more = _form("plan_page.beside", "MoreForm",
                  "what is rarer on the plan page, each behind one word: an old diary, the end of a trial")
standing = _form("plan_page.standing_form", "StandingForm",
                 "the form for a trial that goes on until it is settled: begin it, deal the next box")
end = _form("plan_page.end_form", "EndForm", "the form that ends a trial before its last day")
old_diary = _form("diary_page.hint_form", "HintForm",
                  "the reading of an old diary, and the fair trial that would settle it")
diary = _form("diary_page.form", "DiaryForm",
              "the form that takes in a diary as it is: any table, matched column by column and word by word")

today = _form("today_page.form", "TodayForm", "today's plan and the entry of a sitting")
outing = _form("today_page.outing_form", "OutingForm", "the form for a rehearsal or a concert")
not_playing = _form("today_page.not_playing_form", "NotPlayingForm", "the form for not playing, today or until a date")
day = _form("today_page.day_form", "DayForm", "the form for the day itself: the room's air, a remark")
week = _form("today_page.week_form", "WeekForm", "the player's usual week, days off and concerts to come")
retire = _form("today_page.retire_form", "RetireForm", "the form for a reed that leaves service")
worked_on = _form("today_page.worked_on_form", "WorkedOnForm",
                  "the form for a reed that was sanded, scraped or clipped")
setup = _form("today_page.setup_form", "SetupForm", "the form for a mouthpiece and ligature")

case = _form("case_page.form", "CaseForm",
             "the reed case: every reed, which are ready, and how long they may last")
ear = _form("ear_page.form", "EarForm", "the double rating: how well the player's own ratings repeat")
result = _form("result_page.form", "ResultForm", "the answers: of this logbook, and of the invented example")
why = _form("why_page.form", "WhyForm", "the page for a class: why not just try it? It needs nothing of the logbook")

paper = _form("paper_page.form", "PaperForm",
              "the buttons that make the sheet, the labels, the calendar and the spreadsheet")
sheet = _form("paper_page.sheet_form", "SheetForm", "the form for typing a filled sheet back in")
away = _form("paper_page.away_form", "AwayForm",
             "the button that makes a page of one file to take along, and the reading of what it hands back")

class_files = _form("class_page.files", "ClassFilesForm",
                    "what the class's folder holds, and the control that takes in files that were sent")
class_plan = _form("class_page.plan", "ClassPlanForm", "the teacher's form for the plan to hand out")
class_deal = _form("class_page.deal", "ClassDealForm",
                   "the pupil's form that deals their own reeds from the class's plan")
class_hand_in = _form("class_page.hand_in", "ClassHandInForm",
                      "the pupil's form that writes an ended trial to a small file")
class_paper = _form("class_page.paper", "ClassPaperForm", "the teacher's form for pupils on paper")
class_together = _form("class_page.together", "ClassTogetherForm",
                       "the teacher's form that puts together what was handed in")
