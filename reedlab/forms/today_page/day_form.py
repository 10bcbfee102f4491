"""The day itself: the room's air and a remark."""

from __future__ import annotations

from datetime import date

import ipywidgets as w

from ...errands.book import Book
from ...errors import InputError
from ...rows.records import Day
from ...rows.tables import Frames
from ...wording import tr
from ..shared.fields import Number, Words, day_picker
from ..shared.form import Form, NotYet, checked

__all__ = ["DayForm"]


class DayForm(Form):
    """Saves one row for a day; a second Save for the same day changes it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.humidity, self.temp = Number(tr("Humidity of the room, %")), Number(tr("Temperature, °C"))
        self.remark = Words(tr("Remark on the day"))
        self.date = day_picker(tr("Date"), book.today())
        self.save = self.button(tr("Save the day"), self._save, main=True)
        self.show(w.HBox([self.humidity, self.temp]), w.HBox([self.date, self.remark]), self.save)

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
            raise NotYet([tr("Fill in the humidity, the temperature or a remark.")], tr("Nothing to save yet."))
        old = self._row(self.date.value, self.book.frames_now(self.date.value))
        values = checked("days", {**old, **{k: v for k, v in said.items() if v is not None}})
        with self.book.writing() as logbook:
            number = logbook.put(Day(**values))
        for control in (self.humidity, self.temp, self.remark):
            control.put(None)
        self.stands(self.read_back("days", number, values["date"]))
