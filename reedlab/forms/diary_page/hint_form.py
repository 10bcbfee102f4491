"""What an old diary hints at, from entries of no trial, and the fair trial that would settle it."""

from __future__ import annotations

from ...errands.book import Book
from ...questions import CATALOGUE
from ...wording import tr
from ..plan_page.outlook_view import OutlookView
from ..shared.fields import Choice, Pick, show_if
from ..shared.form import Form, NotYet, html, need, told_under
from ..shared.render import render

__all__ = ["HintForm"]

_TRIALS = 3000  # about how many simulated trials the bar has to go through


class HintForm(Form):
    """One question, one button, and the hint and the advice below it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
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
        self.show(html(render("diary_hints")), self.question, self.ways, self.counts, self.lasts, self.read, self.view,
                  self.found)
        self.question.observe(self.guarded(self._chosen), "value")
        self.counts.observe(self.guarded(self._put_away), "value")
        self.lasts.observe(self.guarded(self._put_away), "value")
        self.follow(self._put_away)
        self._chosen()

    def _chosen(self) -> None:
        self._put_away()
        key = self.question.typed
        question = None if key is None else CATALOGUE[key]
        show_if(key == "own", self.lasts)
        show_if(question is not None and "life_hours" in question.outcomes, self.counts)
        self.ways.value = render("diary_ways", question=question)

    def _put_away(self) -> None:
        self.found.value = ""
        self.quiet()

    def _read(self) -> None:
        from ...errands.read_diary import read_diary

        self._put_away()
        key = self.question.typed
        need(tr("Not read yet."), (self.question, tr("Choose a question.")))
        if not self.book.exists:
            raise NotYet([tr("Your logbook is still empty. Take your diary into it first: see above.")],
                         tr("Not read yet."))
        life = bool(self.counts.typed) and "life_hours" in CATALOGUE[key].outcomes
        with (told_under(tr("Not read yet. Please put this right:")), self.book.reading() as logbook,
              self.view.playing(tr("Reading it, and playing fair trials through …"), _TRIALS) as step):
            found = read_diary(logbook, key, today=self.book.today(), life=life,
                               lasts=self.lasts.typed is not False, step=step)
        self.found.value = found._repr_html_() + str(render("diary_plan"))
