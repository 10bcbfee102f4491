"""The day itself: the room's air and a remark."""

from __future__ import annotations

from datetime import date

import ipywidgets as w

from ...errands.book import Book
from ...errors import InputError
from ...rows.records import Day
from ...rows.tables import Frames
from ...rows.values import read_row
from ...screens.words import faults_in_words, spoken_row
from ...wording import tr
from ..shared.fields import Number, Words, day_picker
from ..shared.form import Form, button, rows_table

__all__ = ["DayForm"]


class DayForm(Form):
    """Saves one row for a day; a second Save for the same day changes it."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.humidity, self.temp = Number(tr("Humidity of the room, %")), Number(tr("Temperature, °C"))
        self.remark = Words(tr("Remark on the day"))
        self.date = day_picker(tr("Date"), book.today())
        self.save = button(tr("Save the day"), main=True)
        self.show(w.HBox([self.humidity, self.temp]), w.HBox([self.date, self.remark]), self.save)
        self.save.on_click(self.guarded(self._save))

    def _row(self, on: date, frames: Frames) -> dict[str, object]:
        """Return what the logbook holds for a day, to be added to."""
        days = frames.days[frames.days["date"].dt.date == on]
        if not len(days):
            return {"date": on}
        old = days.iloc[0].to_dict()
        return {k: (None if v != v else v) for k, v in old.items() if k not in ("entry_id", "entered_at")}

    def _save(self) -> None:
        if self.date.value is None:
            raise InputError(tr("Choose a date."))
        said = {"humidity_pct": self.humidity.typed, "temp_c": self.temp.typed, "remark": self.remark.typed}
        if all(v is None for v in said.values()):
            self.problem([tr("Fill in the humidity, the temperature or a remark.")], head=tr("Nothing to save yet."))
            return
        old = self._row(self.date.value, self.book.frames_now(self.date.value))
        values, faults = read_row("days", {**old, **{k: v for k, v in said.items() if v is not None}})
        if faults:
            self.problem(faults_in_words(faults))
            return
        with self.book.writing() as logbook:
            number = logbook.put(Day(**values))
        frame = self.book.frames_now(values["date"]).days
        row = spoken_row("days", frame[frame["entry_id"] == number].iloc[0].to_dict())
        for control in (self.humidity, self.temp, self.remark):
            control.put(None)
        self.done(tr("Saved. This now stands in your logbook:"), rows_table(list(row), [list(row.values())]))
