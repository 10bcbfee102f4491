"""The pupil's form: an ended trial written to one small file for the teacher."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...errands.class_steps import hand_in
from ...wording import tr
from ..shared.fields import Pick, Words, note, show_if
from ..shared.form import NOT_SAVED, Form, need
from ..shared.render import render
from .shared import handed_in_path

__all__ = ["ClassHandInForm"]


class ClassHandInForm(Form):
    """The file holds a code, the deal, ratings and minutes: no name, no date, no remark."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.trial = Pick(tr("Trial"), [], empty=tr("choose a trial"))
        self.code = Words(tr("The code that your teacher gave you"), hint=tr("such as P07; never a name"))
        self.save = self.button(tr("Write my file"), self._save, main=True)
        self.rest = w.VBox([self.trial, self.code, self.save, note(
            tr("The file holds the deal, your ratings and minutes and the room's air, and whether a reed was worked on "
               "or the mouthpiece changed. It holds no name, no date and nothing you wrote."))])
        self.none = note(tr("There is no trial in your logbook yet. Start from the class's plan first, above."))
        self.show(self.none, self.rest)
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Offer the trials again, the newest first."""
        names = list(reversed(self.book.protocols()))
        show_if(not names, self.none)
        show_if(names, self.rest)
        self.trial.offer([(n, n) for n in names], names[0] if names else None)

    def _save(self) -> None:
        need(NOT_SAVED, (self.trial, tr("Trial: choose one.")),
             (self.code, tr("Code: the one your teacher gave you, such as P07.")))
        code = str(self.code.typed)
        path = handed_in_path(self.book, code)
        with self.book.reading() as logbook:
            hand_in(logbook, code, path, today=self.book.today(), trial=self.trial.typed)
        self.book.tell_forms()
        self.done(tr("Written. Send this file to your teacher:"), render("path", path=path.resolve()))
