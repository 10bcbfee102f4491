"""A rehearsal or a concert: one line for each reed that was played there."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...rows.prefilled import free_place
from ...rows.records import Sitting
from ...rows.values import read_row
from ...screens.due import odd_things, reeds_in_use
from ...screens.words import faults_in_words
from ...wording import tr
from ..shared.fields import Choice, DayPicker, Number, Pick, note
from ..shared.form import Form, NotYet

__all__ = ["OutingForm"]


class OutingForm(Form):
    """Saves a reed's minutes in a rehearsal or concert. It needs no rating and is never against the plan."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.reed = Pick(tr("Reed"), [], empty=tr("choose a reed"))
        self.play_min = Number(tr("Minutes played"))
        self.where = Choice(tr("Where"), [(tr("Rehearsal"), "rehearsal"), (tr("Concert"), "concert")])
        self.date = DayPicker(tr("Date"), book.today())
        self.save = self.button(tr("Save this line"), self._save, main=True)
        self.show(note(tr("One line for each reed. You choose the reed; no rating is needed.")),
                  w.HBox([self.where, self.reed, self.play_min, self.date]), self.save)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again and offer the reeds in use."""
        frames, on = self.book.frames_now(self.date.value), self.date.value or self.book.today()
        self.reed.offer([(r, r) for r in reeds_in_use(frames, on)])

    def _save(self) -> None:
        values, faults = read_row("sittings", {"date": self.date.value, "reed": self.reed.typed,
                                               "play_min": self.play_min.typed, "where": self.where.typed})
        lines = faults_in_words(faults)
        if self.where.typed is None:
            lines.insert(0, tr("Where: choose rehearsal or concert."))
        if lines:
            raise NotYet(lines)
        frames = self.book.frames_now(values["date"])
        odd = odd_things(values, frames, self.book.trial_days(values["date"]))
        record = Sitting(**{**values, "order": free_place(frames.sittings, values["date"]), "confirmed": bool(odd)})
        if odd:
            self.ask(odd, lambda: self._write(record))
        else:
            self._write(record)

    def _write(self, record: Sitting) -> None:
        with self.book.writing() as logbook:
            number = logbook.add(record)
        self.reed.put(None)
        self.play_min.put(None)
        self.date.value = self.book.today()
        self.stands(self.read_back("sittings", number, record.date))
