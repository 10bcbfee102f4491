"""An old diary: a hint from entries of no trial, and the fair trial that would settle it."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...questions import CATALOGUE
from ...wording import tr
from ..shared.fields import Choice, Pick, files_button, tick
from ..shared.form import Form, NotYet, html, told_under
from ..shared.render import render
from ..shared.taken_in import take_in
from .outlook_view import OutlookView

__all__ = ["OldDiaryForm"]

_TRIALS = 3000  # about how many simulated trials the bar has to go through


class OldDiaryForm(Form):
    """Files may be taken in; then one question, one button, and the hint and the advice below it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.files = files_button(tr("Choose the files"), (".csv", ".xlsx", ".xlsm"), several=True)
        self.comma = tick(tr("My CSV files have semicolons, decimal commas and dates as 05.03.2026"))
        self.take = self.button(tr("Take them into my logbook"), self._take)
        self.question = Pick(tr("What do you want to know from it?"), [(q.title, q.key) for q in CATALOGUE.values()],
                             empty=tr("choose a question"))
        self.counts = Choice(tr("What counts"), [(tr("Ratings"), False), (tr("Hours until worn out"), True)], False)
        self.lasts = Choice(tr("Is the effect still there the next day?"), [(tr(
                "Yes, or not sure"), True), (tr("No"), False)],
                            True)
        self.read = self.button(tr("Read my old diary"), self._read, main=True)
        self.found = html("")
        self.view = OutlookView()
        self.ways = html("")
        self.inside = w.VBox([
            html(render("diary_wanted")), self.files, self.comma, self.take, html(render("diary_read")), self.question,
            self.ways, self.counts, self.lasts, self.read, self.view, self.found])
        self.show(self.inside)
        self.question.observe(self.guarded(self._chosen), "value")
        self.counts.observe(self.guarded(self._put_away), "value")
        self.lasts.observe(self.guarded(self._put_away), "value")
        self.follow(self._put_away)
        self._chosen()

    def _chosen(self) -> None:
        self._put_away()
        key = self.question.typed
        self.lasts.layout.display = "" if key == "own" else "none"
        question = None if key is None else CATALOGUE[key]
        self.counts.layout.display = "" if question is not None and "life_hours" in question.outcomes else "none"
        self.ways.value = render("diary_ways", question=question)

    def _take(self) -> None:
        with told_under(tr("Nothing was taken in. Please put this right:")):
            report = take_in(self.book, self.files.value, decimal_comma=self.comma.value)
        self.files.value = ()
        self.done(report)

    def _put_away(self) -> None:
        self.found.value = ""
        self.quiet()

    def _read(self) -> None:
        from ...errands.read_diary import read_diary

        self._put_away()
        key = self.question.typed
        if key is None:
            raise NotYet([tr("Choose a question.")], tr("Not read yet."))
        if not self.book.exists:
            raise NotYet([tr("Your logbook is still empty. Take your diary into it first: see above.")],
                         tr("Not read yet."))
        life = bool(self.counts.typed) and "life_hours" in CATALOGUE[key].outcomes
        with (told_under(tr("Not read yet. Please put this right:")), self.book.reading() as logbook,
              self.view.playing(tr("Reading it, and playing fair trials through …"), _TRIALS) as step):
            found = read_diary(logbook, key, today=self.book.today(), life=life,
                               lasts=self.lasts.typed is not False, step=step)
        self.found.value = found._repr_html_() + str(render("diary_plan"))
