"""A new box of reeds."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import ipywidgets as w

from ...errands.book import Book
from ...errors import EntryRefused
from ...rows.records import Box, Reed
from ...rows.tables import TABLES, Frames
from ...rows.values import read_row
from ...screens.slips import undo
from ...screens.words import faults_in_words
from ...wording import tr
from ..shared.fields import DayPicker, Number, Pick, Words, choices, fold
from ..shared.form import Form, NotYet, told_under

__all__ = ["BoxForm"]

_MOST_REEDS: Final = 50


class BoxForm(Form):
    """Saves a box and makes the codes of its reeds."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.box = Words(tr("Box number, or a short name"))
        self.instrument = Pick(tr("Instrument"), choices(TABLES["boxes"].field("instrument")), empty=tr("choose"))
        self.strength = Words(tr("Strength, as printed on the box"), hint=tr("for example 3"))
        self.reeds = Number(tr("Reeds in the box"), 10)
        self.cut = Words(tr("Cut, as printed on the box"))
        self.opened = DayPicker(tr("Day you opened it"), book.today())
        self.price = Number(tr("Price, in your own money"))
        self.fold = w.HBox([self.cut, self.opened, self.price])
        self.more = fold(tr("More: cut, day opened, price"), self.fold)
        self.save = self.button(tr("Save the box"), self._save, main=True)
        self.undo = self.button(tr("Take this box back"),
                                self._ask_back)
        self.undo.layout.display = "none"
        self._saved = ""
        self.show(w.HBox([self.box, self.instrument]), w.HBox([self.strength, self.reeds]), self.more, self.fold,
                  w.HBox([self.save, self.undo]))
        self._suggest()

    def _suggest(self) -> None:
        frames = self.book.frames()
        self.box.put(_next_box(frames))
        if len(frames.boxes):
            self.instrument.put(frames.boxes["instrument"].iloc[-1])

    def _save(self) -> None:
        values, faults = read_row("boxes", {
            "box": self.box.typed, "instrument": self.instrument.typed, "cut": self.cut.typed,
            "strength": self.strength.typed, "opened": self.opened.value, "price": self.price.typed})
        lines = faults_in_words(faults)
        number = self.reeds.within(1, _MOST_REEDS, lines, whole=True)
        if number is None or lines:
            raise NotYet(lines)
        with self.book.writing() as logbook:
            logbook.add_many(_records(values, int(number)))
        frames = self.book.frames()
        codes = sorted(frames.reeds.loc[frames.reeds["box"] == values["box"], "reed"])
        self._suggest()
        self._saved, self.undo.layout.display = str(values["box"]), ""
        self.done(tr("Saved: box {box} with {n} reeds, {codes} to {codes2}. Pencil each code on the butt of "
                     "its reed.").format(box=values["box"], n=len(codes), codes=codes[0], codes2=codes[-1]))

    def _ask_back(self) -> None:
        self.ask([tr("Take back box {saved} and its reeds? They no longer count; the history keeps them.").format(
                      saved=self._saved)], self._take_back, yes=tr("Yes, take it back"))

    def _take_back(self) -> None:
        head, reeds = tr("Not taken back: its reeds are in use."), self.book.frames().reeds
        n = int((reeds["box"] == self._saved).sum())
        with told_under(head, EntryRefused), self.book.writing() as logbook:
            undo(logbook, "box", self._saved)
        self.undo.layout.display = "none"
        self._suggest()
        self.done(tr("Taken back: box {saved} with {n} reeds. It no longer counts.").format(
                      saved=self._saved, n=n))


def _next_box(frames: Frames) -> str:
    """Return the number for the next box: one more than the highest so far."""
    numbers = [int(b) for b in frames.boxes["box"] if str(b).isdigit()]
    return str(max(numbers, default=0) + 1)


def _records(values: Mapping[str, Any], reeds: int) -> list[Box | Reed]:
    """Return the box and its reeds, coded box-01, box-02 and so on."""
    box = Box(**values)
    return [box, *(Reed(reed=f"{box.box}-{n:02d}", box=box.box) for n in range(1, reeds + 1))]
