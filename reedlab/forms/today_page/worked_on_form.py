"""A reed was sanded, scraped or clipped: flagged from then on."""

from __future__ import annotations

from datetime import date
from typing import Any

import ipywidgets as w

from ...errands.book import Book
from ...rows.records import Reed
from ...rows.values import as_it_stands, read_row
from ...screens.due import reeds_in_use
from ...screens.words import title
from ...trial.practice import CAUTIONS
from ...wording import tr
from ..shared.fields import DayPicker, Pick, note
from ..shared.form import NOT_SAVED, Form, need

__all__ = ["WorkedOnForm"]


class WorkedOnForm(Form):
    """Saves since which day a reed counts as worked on."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.reed = Pick(tr("Reed"), [], empty=tr("choose a reed"))
        self.date = DayPicker(tr("Worked on since"), book.today())
        self.save = self.button(tr("Save: it was worked on"), self._save, main=True)
        self.show(note(tr("Sanded, scraped or clipped. The reed stays in play and is flagged from that day on.")),
                  w.HBox([self.reed, self.date]), note(CAUTIONS["dust"].text), self.save)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again and offer the reeds in use."""
        self.reed.offer([(r, r) for r in reeds_in_use(self.book.frames_now(), self.book.today())])

    def _save(self) -> None:
        need(NOT_SAVED, (self.reed, tr("Reed: choose one.")), (self.date, tr("Worked on since: choose a date.")))
        frames = self.book.frames_now()
        old = as_it_stands("reeds", frames.reeds, reed=self.reed.typed)
        if old["worked_on"] is not None:
            self.ask([tr("{typed} is flagged already, since {since}. Change the day?").format(
                          typed=self.reed.typed, since=old["worked_on"].isoformat())],
                     lambda: self._write(old, self.date.value), yes=tr("Yes, change it"))
            return
        self._write(old, self.date.value)

    def _write(self, old: dict[str, Any], since: date | None) -> None:
        values, _ = read_row("reeds", {**old, "worked_on": since})
        with self.book.writing() as logbook:
            number = logbook.put(Reed(**values))
        self.reed.put(None)
        words = self.read_back("reeds", number)
        self.stands({k: v for k, v in words.items() if k in map(title, ("reed", "box", "worked_on"))})
