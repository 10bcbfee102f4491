"""The pupil's form: an ended trial written to one small file for the teacher."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...errands.class_steps import hand_in
from ...errors import InputError
from ...wording import tr
from ..shared.fields import Pick, Words, note
from ..shared.form import Form
from ..shared.render import render
from .shared import class_folder

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
        self.follow(book, self.refresh)()

    def refresh(self) -> None:
        """Offer the trials again, the newest first."""
        names = list(reversed(self.book.protocols()))
        self.none.layout.display, self.rest.layout.display = ("none", "") if names else ("", "none")
        self.trial.offer([(n, n) for n in names])
        if self.trial.typed is None and names:
            self.trial.put(names[0])

    def _save(self) -> None:
        faults = []
        if self.trial.typed is None:
            faults.append(tr("Trial: choose one."))
        if self.code.typed is None:
            faults.append(tr("Code: the one your teacher gave you, such as P07."))
        if faults:
            raise InputError("\n".join(faults))
        code = str(self.code.typed)
        path = class_folder(self.book) / f"{code} handed in.json"
        if path.exists():
            raise InputError(tr("{name} is in the folder already. Take it away first to write it anew.").format(
                                 name=path.name))
        with self.book.reading() as logbook:
            hand_in(logbook, code, path, today=self.book.today(), trial=self.trial.typed)
        self.book.tell_forms()
        self.done(tr("Written. Send this file to your teacher:"), render("path", path=path.resolve()))
