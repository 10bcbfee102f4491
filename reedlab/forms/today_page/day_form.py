"""The day itself: the room's air, a day off, a pause of the trial."""

from __future__ import annotations

from datetime import date, timedelta

import ipywidgets as w

from ...errands.book import Book
from ...errors import InputError
from ...rows.records import Day
from ...rows.tables import Frames
from ...rows.values import read_row
from ...screens.words import faults_in_words, spoken_date, spoken_row
from ..shared.fields import Number, Words, day_picker, note, tick
from ..shared.form import Form, button, html, rows_table

__all__ = ["DayForm"]

_LONGEST_PAUSE = 400


class DayForm(Form):
    """Saves one row for a day; a second Save for the same day changes it."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.day_off = button("Today is a day off")
        self.humidity, self.temp = Number("Humidity of the room, %"), Number("Temperature, °C")
        self.remark = Words("Remark on the day")
        self.date = day_picker("Date", book.today())
        self.off, self.paused = tick("A day off"), tick("The trial is paused")
        self.save = button("Save the day", main=True)
        self.first, self.last = day_picker("First day away", None), day_picker("Last day away", None)
        self.pause = button("Pause the trial")
        self.show(w.HBox([self.day_off]), note("A day off is never a fault. Stop when it hurts."),
                  w.HBox([self.humidity, self.temp]), w.HBox([self.date, self.remark]),
                  w.HBox([self.off, self.paused]), self.save,
                  html("<h3>Holiday or illness</h3>"),
                  note("Pausing moves the rest of the trial back by as many days."),
                  w.HBox([self.first, self.last]), self.pause)
        self._known = (False, False)  # the ticks as the logbook has them for the date
        self.date.observe(self.guarded(self._show_ticks), "value")
        self.follow(book, self.refresh)
        self.guarded(self._show_ticks)()
        self.day_off.on_click(self.guarded(self._day_off))
        self.save.on_click(self.guarded(self._save))
        self.pause.on_click(self.guarded(self._pause))

    def _row(self, on: date, frames: Frames) -> dict[str, object]:
        """Return what the logbook holds for a day, to be added to."""
        days = frames.days[frames.days["date"].dt.date == on]
        if not len(days):
            return {"date": on}
        old = days.iloc[0].to_dict()
        return {k: (None if v != v else v) for k, v in old.items() if k not in ("entry_id", "entered_at")}

    def refresh(self) -> None:
        """Read the logbook again; ticks that are being changed stay as they are."""
        if (self.off.value, self.paused.value) == self._known:
            self._show_ticks()

    def _show_ticks(self) -> None:
        row = self._row(self.date.value, self.book.frames_now(self.date.value)) if self.date.value is not None else {}
        self._known = bool(row.get("day_off")), bool(row.get("pause"))
        self.off.value, self.paused.value = self._known

    def _day_off(self) -> None:
        on = self.book.today()
        values, _ = read_row("days", {**self._row(on, self.book.frames_now()), "day_off": True})
        self._put([Day(**values)], f"Saved: {spoken_date(on)} is a day off.")

    def _save(self) -> None:
        if self.date.value is None:
            raise InputError("Choose a date.")
        said = {"humidity_pct": self.humidity.typed, "temp_c": self.temp.typed, "remark": self.remark.typed}
        ticks = (self.off.value, self.paused.value)
        if all(v is None for v in said.values()) and ticks == self._known:
            self.problem(["Fill in the humidity, the temperature or a remark, or change a tick."],
                         head="Nothing to save yet.")
            return
        if ticks[1] != self._known[1] and self.date.value < self.book.today():
            self.problem(["The trial is paused: this can be changed for today and later only. The days since are "
                          "counted from it."])
            return
        old = self._row(self.date.value, self.book.frames_now(self.date.value))
        values, faults = read_row("days", {**old, **{k: v for k, v in said.items() if v is not None},
                                           "day_off": ticks[0], "pause": ticks[1]})
        if faults:
            self.problem(faults_in_words(faults))
            return
        if self.date.value > self.book.today() and not any(v for k, v in values.items() if k != "date"):
            self._take_back(self.date.value)  # a day to come of which nothing is left to say
            self._show_ticks()
            return
        self._put([Day(**values)], "Saved. This now stands in your logbook:")
        self._show_ticks()
        for control in (self.humidity, self.temp, self.remark):
            control.put(None)

    def _take_back(self, on: date) -> None:
        frame = self.book.frames_now(on).days
        with self.book.writing() as logbook:
            for number in frame.loc[frame["date"].dt.date == on, "entry_id"]:
                logbook.withdraw("days", int(number))
        self.done(f"Saved: {spoken_date(on)} is a day like others again.")

    def _pause(self) -> None:
        first, last = self.first.value, self.last.value or self.first.value
        if first is None or last is None:
            self.problem(["Choose the first day away."], head="Not paused yet.")
            return
        if last < first or (last - first).days > _LONGEST_PAUSE:
            self.problem(["The last day away must come after the first, within a year or so."],
                         head="Not paused yet.")
            return
        frames = self.book.frames_now(first)
        dates = [first + timedelta(days=n) for n in range((last - first).days + 1)]
        rows = [Day(**read_row("days", {**self._row(d, frames), "pause": True})[0]) for d in dates]
        away = f"from {spoken_date(first)} to {spoken_date(last)}" if last > first else f"on {spoken_date(first)}"
        played = frames.sittings["date"].dt.date.isin(dates).sum()
        if played:
            self.ask([f"There {'is 1 entry' if played == 1 else f'are {played} entries'} in those days. "
                      "Entries on paused days do not count in the trial. Pause all the same?"],
                     lambda: self._put(rows, f"Paused {away}."), yes="Yes, pause")
        else:
            self._put(rows, f"Paused {away}.")

    def _put(self, rows: list[Day], said: str) -> None:
        with self.book.writing() as logbook:
            numbers = [logbook.put(row) for row in rows]
        frame = self.book.frames_now(*(row.date for row in rows)).days
        back = [spoken_row("days", r) for r in frame[frame["entry_id"].isin(numbers)].to_dict("records")]
        head = list(dict.fromkeys(k for row in back for k in row))
        self.done(said, rows_table(head, [[row.get(k, "") for k in head] for row in back]))
