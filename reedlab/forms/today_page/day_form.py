"""The day itself: the room's air and a remark."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...errors import InputError
from ...rows.records import Day
from ...rows.values import as_it_stands
from ...wording import tr
from ..shared.fields import DayPicker, Number, Words
from ..shared.form import Form, NotYet, checked

__all__ = ["DayForm"]


class DayForm(Form):
    """Saves one row for a day; a second Save for the same day changes it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.humidity, self.temp = Number(tr("Humidity of the room, %")), Number(tr("Temperature, °C"))
        self.remark = Words(tr("Remark on the day"))
        self.date = DayPicker(tr("Date"), book.today())
        self.save = self.button(tr("Save the day"), self._save, main=True)
        self.show(w.HBox([self.humidity, self.temp]), w.HBox([self.date, self.remark]), self.save)

    def _save(self) -> None:
        if self.date.value is None:
            raise InputError(tr("Choose a date."))
        said = {"humidity_pct": self.humidity.typed, "temp_c": self.temp.typed, "remark": self.remark.typed}
        if all(v is None for v in said.values()):
            raise NotYet([tr("Fill in the humidity, the temperature or a remark.")], tr("Nothing to save yet."))
        on = self.date.value
        old = as_it_stands("days", self.book.frames_now(on).days, date=on)
        values = checked("days", {**old, "date": on, **{k: v for k, v in said.items() if v is not None}})
        with self.book.writing() as logbook:
            number = logbook.put(Day(**values))
        for control in (self.humidity, self.temp, self.remark):
            control.put(None)
        self.stands(self.read_back("days", number, values["date"]))
