"""Typing a filled sheet back in: a week of the plan, one row for each line of the paper."""

from __future__ import annotations

from datetime import date
from typing import Any

import ipywidgets as w

from ...errands.away import Unsure
from ...errands.book import Book
from ...errands.type_back import SheetSaved, save_sheet
from ...errors import EntryRefused, Fault, InputError
from ...handout.typed_back import planned_rows
from ...handout.week import week_of
from ...rows.prefilled import left_empty
from ...rows.tables import TABLES, Frames
from ...schedule import PlayDay
from ...screens.due import running
from ...screens.words import spoken_row, title
from ...trial.protocol import Protocol
from ...wording import spoken_date, spoken_day, tr
from ..plan_page.words import scale_words
from ..shared.fields import Number, Pick, Preference, Words, choices, day_picker, folds, note, tick
from ..shared.form import Form, button, html, rows_table
from ..shared.render import render

__all__ = ["SheetForm"]


class SheetForm(Form):
    """Shows the rows of one week, once it is opened; a Save writes all that were filled in, or none and says why."""

    def __init__(self, book: Book, *, opened: bool = False) -> None:
        super().__init__()
        self.book = book
        self.trial = Pick(tr("Trial"), [])
        self.trial.add_class("reedlab-wide")
        self.week = Pick(tr("Week"), [])
        self.rows, self.scale = w.VBox(), note("")
        self.lines: list[_Row] = []
        self.days: list[_Day] = []
        self._protocols: dict[str, Protocol] = {}
        self._laid_out = False
        self.save = button(tr("Save the sheet"), main=True)
        self.fresh = tick(tr("I wrote these down on the day, not later from memory"), True)
        self.open = w.ToggleButton(value=False, description=tr("Type in a filled sheet"))
        self.which = w.HBox([self.trial, self.week])
        self.how = note(tr("Fill in what stands on your paper, day by day. Leave a row empty that you did not play. M: "
                           "written from memory. ?: not sure which reed."))
        inside = w.VBox([self.which, self.how, self.scale, self.rows, self.fresh, self.save])
        folds(self.open, inside)
        self.show(self.open, inside)
        if opened:  # where the form has a page's part to itself
            self.open.value = True
            self.open.layout.display = "none"
        self.open.observe(self.guarded(self.refresh), "value")
        self.trial.observe(self.guarded(self._trial_chosen), "value")
        self.week.observe(self.guarded(self._week_chosen), "value")
        self.save.on_click(self.guarded(self._save))
        self.follow(book, self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Offer the trials and weeks again; rows that are being filled in stay as they are."""
        touched = any(line.touched for line in self.lines) or any(day.touched for day in self.days)
        if not self.open.value or touched:
            return
        self._protocols = self.book.protocols()
        self._laid_out = False  # once for all that is put right here
        self.trial.offer([(name, name) for name in self._protocols])
        if self.trial.typed is None and self._protocols:
            going = running(self._protocols, self.book.frames(), self.book.today())
            self.trial.put(going[-1].protocol.trial if going else list(self._protocols)[-1])
        self._offer_weeks()
        self._fill()

    @property
    def _protocol(self) -> Protocol | None:
        return self._protocols.get(self.trial.typed)

    def _trial_chosen(self) -> None:
        if self._laid_out:
            self._laid_out = False
            self.week.put(None)
            self._offer_weeks()
            self._fill()

    def _week_chosen(self) -> None:
        if self._laid_out:
            self._fill()

    def _offer_weeks(self) -> None:
        """Offer the weeks up to today, the last of them first; one that is chosen stays."""
        protocol = self._protocol
        if protocol is None:
            self.week.offer([])
            return
        last = max((self.book.today() - protocol.start).days // 7 + 1, 0)
        total = week_of(protocol, self.book.frames(), today=self.book.today()).weeks
        last = last if total is None else min(last, total)
        self.week.offer([(tr("week {n}").format(n=n), n) for n in range(1, last + 1)])
        if self.week.typed is None:
            self.week.put(last or None)

    def _fill(self) -> None:
        """Lay out the rows of the chosen week that are not in the logbook yet."""
        protocol, frames, today = self._protocol, self.book.frames(), self.book.today()
        self._laid_out = True
        self.lines, self.days = [], []
        self.scale.value = "" if protocol is None else note(tr("Overall: {scale_words}").format(
                                                                scale_words=scale_words(protocol.scale))).value
        if protocol is not None and self.week.typed is not None:
            week = week_of(protocol, frames, today=today, number=self.week.typed)
            past = [d for d in week.days if d.on <= today]
            rows = planned_rows(protocol, past, frames)
            own = [r for r in sorted(frames.reeds["reed"]) if isinstance(r, str)]
            shown: list[w.Widget] = []
            for day in past:
                self.days.append(_Day(day, frames))
                mine = [*(_Row(r, protocol) for r in rows if r["date"] == day.on), _Row(None, protocol, own, day.on)]
                self.lines += mine
                shown += [self.days[-1].view, *(line.view for line in mine)]
            self.lines.append(_Row(None, protocol, own))
            self.rows.children = [*shown, self.lines[-1].view]
        empty = not self.lines
        for part in (self.how, self.scale, self.fresh, self.save):
            part.layout.display = "none" if empty else ""
        self.which.layout.display = "" if self._protocols else "none"
        if empty:
            self.rows.children = [note(tr("There is no week of a trial to type in yet."))]

    def _save(self, sure: str | None = None) -> None:
        if not self.lines:
            raise InputError(tr("There is no week to type in."))
        rows = [line.typed(late=not self.fresh.value) for line in self.lines]
        days = [day.typed() for day in self.days if day.touched]
        if all(left_empty("sittings", row) for row in rows) and not days:
            self.problem([tr("Fill in the minutes of at least one row.")], head=tr("Nothing to save yet."))
            return
        try:
            with self.book.writing() as logbook:
                done = save_sheet(logbook, rows, days, sure=sure)
                for line in self.lines:
                    line.touched = False  # they are safe; the form may lay its rows out anew
                for day in self.days:
                    day.touched = False
        except Unsure as odd:
            token = odd.token
            self.ask(odd.lines, lambda: self._save(token), yes=tr("Yes, save the sheet"))
            return
        except EntryRefused as err:
            self.problem([self._told(f) for f in err.faults])
            return
        self._fill()
        n, off = len(done.sittings), len(done.days)
        parts = [f"{k} {word}{'s' if k > 1 else ''}" for k, word in ((n, "row"), (off, "day")) if k]
        self.done(tr("Saved: {parts}. This now stands in your logbook:").format(
                      parts=" and ".join(parts)), self._read_back(done))

    def _told(self, fault: Fault) -> str:
        """Say which row or day a fault is in."""
        if fault.line is None:
            where = tr("Logbook")
        elif fault.file == "days":
            where = [day.name for day in self.days if day.touched][fault.line - 1]
        else:
            where = self.lines[fault.line - 1].name
        return tr("{where}: {title}: found {found}; wanted {wanted}.").format(
                   where=where, title=title(fault.column or "entry"), found=fault.found, wanted=fault.wanted)

    def _read_back(self, done: SheetSaved) -> str:
        frames = self.book.frames()
        habits = {h.key: h.name for p in self._protocols.values() for h in p.habits}
        sat, air = frames.sittings, frames.days
        tables = []
        for name, rows in (("sittings", sat[sat["entry_id"].isin(done.sittings)]),
                           ("days", air[air["date"].dt.date.isin(done.days)])):
            back = [spoken_row(name, row, habits) for row in rows.to_dict("records")]
            head = list(dict.fromkeys(k for row in back for k in row))
            tables += [rows_table(head, [[row.get(k, "") for k in head] for row in back])] if back else []
        return "".join(tables)


class _Day:
    """The cell of a day on the sheet: the air of the room, and whether it was a day off."""

    def __init__(self, day: PlayDay, frames: Frames) -> None:
        self.on, self.touched = day.on, False
        self.name = spoken_date(day.on)
        here = frames.days[frames.days["date"].dt.date == day.on]
        known = here.iloc[0].to_dict() if len(here) else {}
        self.humidity, self.temp = Number(tr("Humidity, %"),
                                          known.get("humidity_pct")), Number("°C", known.get("temp_c"))
        self.off = tick(tr("Day off"), bool(known.get("day_off")))
        self.view = w.HBox([html(render("sheet_day", day=spoken_day(day.on))), self.humidity, self.temp, self.off])
        self.view.add_class("reedlab-sheet-row")
        self.view.add_class("reedlab-sheet-day")
        self.view.children[0].add_class("reedlab-head")
        for control in (self.humidity, self.temp):
            control.add_class("reedlab-few")
        for control in (self.humidity, self.temp, self.off):
            control.observe(self._touch, "value")

    def _touch(self, _: object) -> None:
        self.touched = True

    def typed(self) -> dict[str, Any]:
        """Return what was said of the day."""
        return {"date": self.on, "humidity_pct": self.humidity.typed, "temp_c": self.temp.typed,
                "day_off": self.off.value}


class _Row:
    """One line of the sheet: of the plan, or one of the player's own, on the day `on` or on any."""

    def __init__(self, planned: dict[str, Any] | None, protocol: Protocol, reeds: list[str] | None = None,
                 on: date | None = None) -> None:
        self.planned = planned
        self.touched = False
        self.play_min, self.overall = Number(tr("Minutes")), Number(tr("Overall"))
        self.asked: Number | Preference | None = None
        if protocol.pairs:
            self.asked = Preference()
        elif protocol.rating not in ("overall", "stiffness"):
            self.asked = Number(title(protocol.rating))
        self.stiffness, self.remark = Number(tr("Stiffness")), Words(tr("Remark"))
        hidden = protocol.masked == "helper"
        habits = [] if hidden else [(h.name, h.key) for h in protocol.habits]
        self.habit = Pick(tr("What you did"), habits, None if planned is None else planned["habit"])
        self.date, self.reed = day_picker(tr("Date"), on), Pick(tr("Reed"), [(r, r) for r in reeds or []])
        self.where = Pick(tr("Where"), choices(TABLES["sittings"].field("where")))
        self.memory, self.unsure = tick("M"), tick("?")
        self.memory.tooltip, self.unsure.tooltip = tr("Written from memory"), tr("Not sure which reed")
        self.rating = protocol.rating
        if planned is None:
            self.name = tr("Row of your own") if on is None else tr("{spoken_date}, row of "
                                                                    "your own").format(spoken_date=spoken_date(on))
            head: list[w.Widget] = [*([self.date] if on is None else []), self.reed, self.where]
        else:
            self.name = f"{spoken_date(planned['date'])}, {planned['reed']}"
            head = [html(render("sheet_row", reed=planned["reed"], minutes=planned["plan_min"]))]
            head[0].add_class("reedlab-head")
        points = [self.asked] if protocol.pairs and self.asked else [
            self.overall, *([self.asked] if self.asked else []), self.stiffness]
        fields = [self.play_min, *points,
                  *([] if hidden else [self.habit]), self.memory, self.unsure, self.remark]
        self.view = w.HBox([*head, *fields])
        self.view.add_class("reedlab-sheet-row")
        if planned is None and on is None:
            self.view.add_class("reedlab-any-day")  # with its date it is too long for one line
        for control in (self.play_min, self.overall, self.stiffness):
            control.add_class("reedlab-few")
        if isinstance(self.asked, Number):
            self.asked.add_class("reedlab-few")
        for control in (self.memory, self.unsure):
            control.add_class("reedlab-mark")
        self.habit.add_class("reedlab-way")
        self.remark.add_class("reedlab-remark")
        for control in (*fields, self.date, self.reed, self.where):
            control.observe(self._touch, "value")

    def _touch(self, _: object) -> None:
        self.touched = True

    def typed(self, *, late: bool) -> dict[str, Any]:
        """Return the row by column of the table of sittings."""
        own = {"date": self.date.value, "reed": self.reed.typed, "where": self.where.typed, "plan_min": None}
        row: dict[str, Any] = dict(self.planned or own)
        row |= {"habit": self.habit.typed, "play_min": self.play_min.typed, "overall": self.overall.typed,
                "stiffness": self.stiffness.typed, "remark": self.remark.typed}
        if self.asked is not None:
            row[self.rating] = self.asked.typed
        said = any(row.get(k) is not None for k in ("play_min", "overall", "stiffness", "preference", "remark"))
        if self.planned is None and not said and self.reed.typed is None:
            return {"plan_min": 0}  # a row of one's own with nothing in it
        return row | {"from_memory": said and (late or self.memory.value), "unsure_reed": self.unsure.value}
