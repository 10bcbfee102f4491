"""A new box of reeds."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...errors import EntryRefused
from ...rows.tables import TABLES
from ...rows.values import read_row
from ...screens.reeds import take_back_box
from ...screens.words import faults_in_words, lines_of
from ..shared.fields import Number, Pick, Words, choices, day_picker, folds
from ..shared.form import Form, button
from .boxes import MOST_REEDS, next_box, records_of_box

__all__ = ["BoxForm"]


class BoxForm(Form):
    """Saves a box and makes the codes of its reeds."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.box = Words("Box number, or a short name")
        self.instrument = Pick("Instrument", choices(TABLES["boxes"].field("instrument")), empty="choose")
        self.strength = Words("Strength, as printed on the box", hint="for example 3")
        self.reeds = Number("Reeds in the box", 10)
        self.cut = Words("Cut, as printed on the box")
        self.opened = day_picker("Day you opened it", book.today())
        self.price = Number("Price, in your own money")
        self.more = w.ToggleButton(value=False, description="More: cut, day opened, price")
        self.fold = w.HBox([self.cut, self.opened, self.price])
        self.save = button("Save the box", main=True)
        self.undo = button("Take this box back")
        self.undo.layout.display = "none"
        self._saved = ""
        self.show(w.HBox([self.box, self.instrument]), w.HBox([self.strength, self.reeds]), self.more, self.fold,
                  w.HBox([self.save, self.undo]))
        folds(self.more, self.fold)
        self.save.on_click(self.guarded(self._save))
        self.undo.on_click(self.guarded(lambda: self.ask(
            [f"Take back box {self._saved} and its reeds? They no longer count; the history keeps them."],
            self._take_back, yes="Yes, take it back")))
        self._suggest()

    def _suggest(self) -> None:
        frames = self.book.frames()
        self.box.put(next_box(frames))
        if len(frames.boxes):
            self.instrument.put(frames.boxes["instrument"].iloc[-1])

    def _save(self) -> None:
        values, faults = read_row("boxes", {
            "box": self.box.typed, "instrument": self.instrument.typed, "cut": self.cut.typed,
            "strength": self.strength.typed, "opened": self.opened.value, "price": self.price.typed})
        lines = faults_in_words(faults)
        number = self.reeds.typed or ""
        if not number.isdigit() or not 1 <= int(number) <= MOST_REEDS:
            lines.append(f"Reeds in the box: wanted a whole number from 1 to {MOST_REEDS}.")
        if lines:
            self.problem(lines)
            return
        with self.book.writing() as logbook:
            logbook.add_many(records_of_box(values, int(number)))
        frames = self.book.frames()
        codes = sorted(frames.reeds.loc[frames.reeds["box"] == values["box"], "reed"])
        self._suggest()
        self._saved, self.undo.layout.display = str(values["box"]), ""
        self.done(f"Saved: box {values['box']} with {len(codes)} reeds, {codes[0]} to {codes[-1]}. "
                  "Pencil each code on the butt of its reed.")

    def _take_back(self) -> None:
        try:
            with self.book.writing() as logbook:
                reeds = take_back_box(logbook, self._saved)
        except EntryRefused as err:
            self.problem(lines_of(err), head="Not taken back: its reeds are in use.")
            return
        self.undo.layout.display = "none"
        self._suggest()
        self.done(f"Taken back: box {self._saved} with {len(reeds)} reeds. It no longer counts.")
