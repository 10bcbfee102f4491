"""The mouthpiece and ligature in use."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...rows.records import Setup
from ...rows.values import read_row
from ...screens.words import faults_in_words, spoken_row
from ...wording import tr
from ..shared.fields import Words
from ..shared.form import Form, button, rows_table

__all__ = ["SetupForm"]


class SetupForm(Form):
    """Saves a set-up under a short name; saving a name again changes it."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.setup = Words(tr("Short name"), "main")
        self.mouthpiece = Words(tr("Mouthpiece"))
        self.ligature = Words(tr("Ligature"))
        self.save = button(tr("Save the set-up"), main=True)
        self.show(w.HBox([self.setup, self.mouthpiece, self.ligature]), self.save)
        self.save.on_click(self.guarded(self._save))

    def _save(self) -> None:
        values, faults = read_row("setups", {
            "setup": self.setup.typed, "mouthpiece": self.mouthpiece.typed, "ligature": self.ligature.typed})
        if faults:
            self.problem(faults_in_words(faults))
            return
        with self.book.writing() as logbook:
            number = logbook.put(Setup(**values))
        frame = self.book.frames().setups
        row = spoken_row("setups", frame[frame["entry_id"] == number].iloc[0].to_dict())
        self.done(tr("Saved. This now stands in your logbook:"), rows_table(list(row), [list(row.values())]))
