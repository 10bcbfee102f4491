"""The mouthpiece and ligature in use."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...rows.records import Setup
from ...wording import tr
from ..shared.fields import Words
from ..shared.form import Form, checked

__all__ = ["SetupForm"]


class SetupForm(Form):
    """Saves a set-up under a short name; saving a name again changes it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.setup = Words(tr("Short name"), "main")
        self.mouthpiece = Words(tr("Mouthpiece"))
        self.ligature = Words(tr("Ligature"))
        self.save = self.button(tr("Save the set-up"), self._save, main=True)
        self.show(w.HBox([self.setup, self.mouthpiece, self.ligature]), self.save)

    def _save(self) -> None:
        values = checked("setups", {
            "setup": self.setup.typed, "mouthpiece": self.mouthpiece.typed, "ligature": self.ligature.typed})
        with self.book.writing() as logbook:
            number = logbook.put(Setup(**values))
        self.stands(self.read_back("setups", number))
