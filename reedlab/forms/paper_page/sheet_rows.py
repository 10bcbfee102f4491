"""The rows of a filled sheet as they are typed back: a day of the paper, and a line of it."""

from __future__ import annotations

from datetime import date
from typing import Any

import ipywidgets as w

from ...rows.tables import TABLES, Frames
from ...schedule import PlayDay
from ...screens.words import title
from ...trial.protocol import Protocol
from ...wording import spoken_date, spoken_day, tr
from ..shared.fields import Number, Pick, Preference, Words, choices, day_picker, tick
from ..shared.form import html
from ..shared.render import render

__all__ = ["DayCell", "SheetRow"]


class DayCell:
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


class SheetRow:
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

    def sittings(self, *, late: bool) -> list[tuple[str, dict[str, Any]]]:
        """Return what to call the row, and the row by column of the table of sittings."""
        return [(self.name, self._typed(late))]

    def gone(self) -> list[tuple[str, dict[str, Any]]]:
        """Return no row of retirements: this sheet has no box for it."""
        return []

    def _typed(self, late: bool) -> dict[str, Any]:
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
