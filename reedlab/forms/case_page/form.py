"""The reed case: what to play, what is ready, how long it may last. It saves only an early look."""

from __future__ import annotations

from datetime import date

import ipywidgets as w

from ...errands.book import Book
from ...reedcase import CaseView, open_case
from ...screens.words import spoken_date
from ...worlds import World
from ..shared.fields import Pick, Words, day_picker, note
from ..shared.form import Form, button, html
from ..today_page.week_words import concert_words
from .html import box_html, concert_html, gone_html, reeds_html, today_html

__all__ = ["CaseForm"]


class CaseForm(Form):
    """Shows every reed. What would tell how a running trial goes stays sealed until it is opened on purpose."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.today, self.reeds, self.box, self.gone = html(""), html(""), html(""), html("")
        self.known = Pick("Your concerts to come", [], empty="another day")
        self.known.add_class("reedlab-wide")
        self.concert = day_picker("Concert on", None)
        self.picks = html("")
        self.why = Words("Why do you want to see them now?")
        self.early = button("Open the sealed reeds")
        self.fold = w.VBox([
            html("<h3>Sealed reeds</h3>"),
            note("Ratings and hours left of reeds in a running trial are sealed. Opening them is an early look at "
                 "the trial: it is written down and makes the final answer a little harder to reach."),
            self.why, self.early])
        self.in_use = w.VBox([
            html("<h2>For a concert</h2>"), w.HBox([self.known, self.concert]), self.picks,
            html("<h2>Every reed</h2>"), self.reeds, self.fold, html("<h2>The next box</h2>"), self.box])
        self.left = w.VBox([html("<h2>What reeds die of here</h2>"), self.gone])
        self.show(self.today, self.in_use, self.left)
        self.known.observe(self.guarded(self._concert_chosen), "value")
        self.concert.observe(self.guarded(self._show_picks), "value")
        self.early.on_click(self.guarded(self._ask))
        self._case: CaseView | None = None
        self._offered: date | None = None  # the concert chosen for the player
        self.follow(book, self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again and show the case as it stands."""
        (frames, gone), today = self.book.frames_of_the_case(), self.book.today()
        looks = frames.looks
        opened = set(looks.loc[looks["date"].dt.date == today, "trial"])  # a look holds for its own day
        case = open_case(frames, self.book.protocols(frames), today, World(), opened=opened)
        self._case = case
        self.today.value = f"<h2>To play on {spoken_date(today)}</h2>" + today_html(case)
        self.reeds.value = reeds_html(case)
        self.box.value = box_html(case)
        self.gone.value = gone_html(case, gone)
        self.fold.layout.display = "" if case.sealed else "none"
        self.in_use.layout.display = "" if case.reeds else "none"  # nothing is shown of no reeds
        self.left.layout.display = "" if case.reeds or case.gone else "none"
        self._offer_concerts(case)
        self._show_picks()

    def _offer_concerts(self, case: CaseView) -> None:
        """Offer the concerts of the logbook, the next one first and chosen unless the player chose a day."""
        self.known.offer([(concert_words(c), c.on) for c in case.concerts])
        self.known.layout.display = "" if case.concerts else "none"
        passed = self.concert.value is not None and self.concert.value < self.book.today()
        if passed or self.concert.value == self._offered:
            self._offered = case.concerts[0].on if case.concerts else None
            self.concert.value = self._offered

    def _concert_chosen(self) -> None:
        if self.known.typed is not None:
            self.concert.value = self.known.typed

    def _show_picks(self) -> None:
        on = self.concert.value
        self.known.put(on)
        self.picks.value = ""
        if on is None or self._case is None:
            return
        if on < self.book.today():
            self.problem(["Choose today or a day to come."], head="That day has passed.")
            return
        self.quiet()
        self.picks.value = concert_html(self._case.for_concert(on), on)

    def _ask(self) -> None:
        if self.why.typed is None:
            self.problem(["Say in a few words why. The reason stays in your logbook."], head="Not opened yet.")
            return
        self.ask(["An early look cannot be unseen. Open the reeds of the running trial now?"], self._open,
                 yes="Yes, open them")

    def _open(self) -> None:
        if self._case is None or self.why.typed is None:
            return
        why = f"reed case: {self.why.typed}"
        with self.book.writing() as logbook:
            for trial in self._case.sealed:
                logbook.record_look(trial, self.book.today(), why)
        self.why.put(None)
        self.refresh()
        self.done("Opened for today. The look is written down in your logbook.")
