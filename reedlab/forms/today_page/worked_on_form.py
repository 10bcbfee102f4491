"""A reed was sanded, scraped or clipped: flagged from then on."""

from __future__ import annotations

from datetime import date
from typing import Any

import ipywidgets as w
import pandas as pd

from ...errands.book import Book
from ...rows.records import Reed
from ...rows.tables import TABLES
from ...rows.values import read_row
from ...screens.due import reeds_in_use
from ...screens.words import title
from ...trial.practice import CAUTIONS
from ...wording import tr
from ..shared.fields import Pick, day_picker, note
from ..shared.form import Form, NotYet

__all__ = ["WorkedOnForm"]


class WorkedOnForm(Form):
    """Saves since which day a reed counts as worked on."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.reed = Pick(tr("Reed"), [], empty=tr("choose a reed"))
        self.date = day_picker(tr("Worked on since"), book.today())
        self.save = self.button(tr("Save: it was worked on"), self._save, main=True)
        self.show(note(tr("Sanded, scraped or clipped. The reed stays in play and is flagged from that day on.")),
                  w.HBox([self.reed, self.date]), note(CAUTIONS["dust"].text), self.save)
        self.follow(book, self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Read the logbook again and offer the reeds in use."""
        self.reed.offer([(r, r) for r in reeds_in_use(self.book.frames_now(), self.book.today())])

    def _save(self) -> None:
        lines = []
        if self.reed.typed is None:
            lines.append(tr("Reed: choose one."))
        if self.date.value is None:
            lines.append(tr("Worked on since: choose a date."))
        if lines:
            raise NotYet(lines)
        frames = self.book.frames_now()
        old: dict[str, Any] = frames.reeds[frames.reeds["reed"] == self.reed.typed].iloc[0].to_dict()
        earlier = old["worked_on"]
        if not pd.isna(earlier):
            since = earlier.date()
            self.ask([tr("{typed} is flagged already, since {since}. Change the day?").format(
                          typed=self.reed.typed, since=since.isoformat())],
                     lambda: self._write(old, self.date.value), yes=tr("Yes, change it"))
            return
        self._write(old, self.date.value)

    def _write(self, old: dict[str, Any], since: date | None) -> None:
        row = {c: None if pd.isna(old[c]) else old[c] for c in TABLES["reeds"].columns}
        values, _ = read_row("reeds", {**row, "worked_on": since})
        with self.book.writing() as logbook:
            number = logbook.put(Reed(**values))
        self.reed.put(None)
        words = self.read_back("reeds", number)
        self.stands({k: v for k, v in words.items() if k in map(title, ("reed", "box", "worked_on"))})
