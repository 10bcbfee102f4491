"""Typing a filled sheet back in: a week of the plan, one row for each line of the paper."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ipywidgets as w

from ...errands.book import Book
from ...errors import EntryRefused, Fault, InputError
from ...handout.typed_back import planned_rows, typed_back
from ...handout.week import week_of
from ...screens.due import running
from ...screens.words import spoken_date, spoken_row, title
from ...trial.protocol import Protocol
from ..plan_page.words import scale_words
from ..shared.fields import Number, Pick, Words, day_picker, folds, note, tick
from ..shared.form import Form, button, html, rows_table
from ..shared.render import render

__all__ = ["SheetForm"]

_OWN_ROWS = 3  # blank rows for what was played besides


class SheetForm(Form):
    """Shows the rows of one week, once it is opened; a Save writes all that were filled in, or none and says why."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.trial = Pick("Trial", [])
        self.trial.add_class("reedlab-wide")
        self.week = Pick("Week", [])
        self.rows, self.scale = w.VBox(), note("")
        self.lines: list[_Row] = []
        self._protocols: dict[str, Protocol] = {}
        self.save = button("Save the sheet", main=True)
        self.fresh = tick("I wrote these down on the day, not later from memory", True)
        self.open = w.ToggleButton(value=False, description="Type in a filled sheet")
        self.which = w.HBox([self.trial, self.week])
        self.how = note("Fill in what stands on your paper. Leave a row empty that you did not play.")
        inside = w.VBox([self.which, self.how, self.scale, self.rows, self.fresh, self.save])
        folds(self.open, inside)
        self.show(self.open, inside)
        self.open.observe(self.guarded(self.refresh), "value")
        self.trial.observe(self.guarded(self._trial_chosen), "value")
        self.week.observe(self.guarded(self._fill), "value")
        self.save.on_click(self.guarded(self._save))
        self.follow(book, self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Offer the trials and weeks again; rows that are being filled in stay as they are."""
        if not self.open.value or any(line.touched for line in self.lines):
            return
        self._protocols = self.book.protocols()
        self.trial.offer([(name, name) for name in self._protocols])
        if self.trial.typed is None and self._protocols:
            going = running(self._protocols, self.book.frames(), self.book.today())
            self.trial.put(going[-1].protocol.trial if going else list(self._protocols)[-1])
        self._fill()

    @property
    def _protocol(self) -> Protocol | None:
        return self._protocols.get(self.trial.typed)

    def _trial_chosen(self) -> None:
        protocol = self._protocol
        if protocol is None:
            self.week.offer([])
        else:
            last = max((self.book.today() - protocol.start).days // 7 + 1, 0)
            total = week_of(protocol, self.book.frames(), today=self.book.today()).weeks
            last = last if total is None else min(last, total)
            self.week.offer([(f"week {n}", n) for n in range(1, last + 1)])
            self.week.put(last or None)
        self._fill()

    def _fill(self) -> None:
        """Lay out the rows of the chosen week that are not in the logbook yet."""
        protocol, frames, today = self._protocol, self.book.frames(), self.book.today()
        self.lines = []
        self.scale.value = "" if protocol is None else note(f"Overall: {scale_words(protocol.scale)}").value
        if protocol is not None and self.week.typed is not None:
            week = week_of(protocol, frames, today=today, number=self.week.typed)
            past = [d for d in week.days if d.on <= today]
            self.lines = [_Row(r, protocol) for r in planned_rows(protocol, past, frames)]
            own = [r for r in sorted(frames.reeds["reed"]) if isinstance(r, str)]
            self.lines += [_Row(None, protocol, own) for _ in range(_OWN_ROWS)]
        self.rows.children = [line.view for line in self.lines]
        empty = not self.lines
        for part in (self.how, self.scale, self.fresh, self.save):
            part.layout.display = "none" if empty else ""
        self.which.layout.display = "" if self._protocols else "none"
        if empty:
            self.rows.children = [note("There is no week of a trial to type in yet.")]

    def _save(self) -> None:
        if not self.lines:
            raise InputError("There is no week to type in.")
        rows = [line.typed(late=not self.fresh.value) for line in self.lines]
        try:
            found = typed_back(rows, self.book.frames())
        except EntryRefused as err:
            self.problem([self._told(f, range(1, len(rows) + 1)) for f in err.faults])
            return
        if not found.sittings:
            self.problem(["Fill in the minutes of at least one row."], head="Nothing to save yet.")
            return
        try:
            with self.book.writing() as logbook:
                numbers = logbook.add_many(found.sittings)
                for line in self.lines:
                    line.touched = False  # they are safe; the form may lay its rows out anew
        except EntryRefused as err:
            self.problem([self._told(f, found.rows) for f in err.faults])
            return
        self._fill()
        told = f"Saved: {len(numbers)} row{'s' if len(numbers) > 1 else ''}. This now stands in your logbook:"
        self.done(told, self._read_back(numbers))

    def _told(self, fault: Fault, rows: Sequence[int]) -> str:
        """Say which row a fault is in; `rows` are the rows (from 1) of what was handed in."""
        where = "Logbook" if fault.line is None else self.lines[rows[fault.line - 1] - 1].name
        return f"{where}: {title(fault.column or 'entry')}: found {fault.found}; wanted {fault.wanted}."

    def _read_back(self, numbers: list[int]) -> str:
        frame = self.book.frames().sittings
        habits = {h.key: h.name for p in self._protocols.values() for h in p.habits}
        rows = frame[frame["entry_id"].isin(numbers)].to_dict("records")
        back = [spoken_row("sittings", r, habits) for r in rows]
        head = list(dict.fromkeys(k for row in back for k in row))
        return rows_table(head, [[row.get(k, "") for k in head] for row in back])


class _Row:
    """One line of the sheet."""

    def __init__(self, planned: dict[str, Any] | None, protocol: Protocol, reeds: list[str] | None = None) -> None:
        self.planned = planned
        self.touched = False
        self.play_min, self.overall = Number("Minutes"), Number("Overall")
        self.asked = Number(title(protocol.rating)) if protocol.rating not in ("overall", "stiffness") else None
        self.stiffness, self.remark = Number("Stiffness"), Words("Remark")
        hidden = protocol.masked == "helper"
        habits = [] if hidden else [(h.name, h.key) for h in protocol.habits]
        self.habit = Pick("What you did", habits, None if planned is None else planned["habit"])
        self.date, self.reed = day_picker("Date", None), Pick("Reed", [(r, r) for r in reeds or []])
        self.rating = protocol.rating
        if planned is None:
            self.name = "Row of your own"
            head: list[w.Widget] = [self.date, self.reed]
        else:
            self.name = f"{spoken_date(planned['date'])}, {planned['reed']}"
            head = [html(render("sheet_row", on=planned["date"], reed=planned["reed"], minutes=planned["plan_min"]))]
            head[0].add_class("reedlab-head")
        fields = [self.play_min, self.overall, *([self.asked] if self.asked else []), self.stiffness,
                  *([] if hidden else [self.habit]), self.remark]
        self.view = w.HBox([*head, *fields])
        self.view.add_class("reedlab-sheet-row")
        for control in (self.play_min, self.overall, self.stiffness, *([self.asked] if self.asked else [])):
            control.add_class("reedlab-few")
        self.habit.add_class("reedlab-way")
        self.remark.add_class("reedlab-remark")
        for control in (*fields, self.date, self.reed):
            control.observe(self._touch, "value")

    def _touch(self, _: object) -> None:
        self.touched = True

    def typed(self, *, late: bool) -> dict[str, Any]:
        """Return the row by column of the table of sittings."""
        own = {"date": self.date.value, "reed": self.reed.typed, "plan_min": None}
        row: dict[str, Any] = dict(self.planned or own)
        row |= {"habit": self.habit.typed, "play_min": self.play_min.typed, "overall": self.overall.typed,
                "stiffness": self.stiffness.typed, "remark": self.remark.typed}
        if self.asked is not None:
            row[self.rating] = self.asked.typed
        if self.planned is None and not any(v for k, v in row.items() if k != "habit"):
            return {"plan_min": 0}  # a row of one's own with nothing in it
        said = any(row[k] is not None for k in ("play_min", "overall", "stiffness", "remark"))
        return row | ({"from_memory": True} if late and said else {})
