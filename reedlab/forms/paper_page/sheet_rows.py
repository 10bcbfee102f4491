"""The rows of a filled sheet as they are typed back: a day of the paper, and a line of it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

import ipywidgets as w

from ...rows.tables import TABLES, Frames
from ...schedule import PlayDay
from ...screens.words import title
from ...trial.protocol import Protocol
from ...wording import spoken_date, spoken_day, tr
from ..shared.fields import DayPicker, Number, Pick, Preference, Words, choices, dressed, tick
from ..shared.form import html
from ..shared.render import render

__all__ = ["DayCell", "SheetRow", "Strip"]


class Strip:
    """Controls side by side; `touched` once one of them was changed."""

    def __init__(self, *shown: w.Widget, css: Iterable[str]) -> None:
        self.touched = False
        self.view = dressed(w.HBox(shown), "sheet-row", *css)
        for control in shown:
            control.observe(self._touch, "value")

    def _touch(self, _: object) -> None:
        self.touched = True


class DayCell(Strip):
    """The cell of a day on the sheet: the air of the room, and whether it was a day off."""

    def __init__(self, day: PlayDay, frames: Frames) -> None:
        self.on = day.on
        self.name = spoken_date(day.on)
        here = frames.days[frames.days["date"].dt.date == day.on]
        known = here.iloc[0].to_dict() if len(here) else {}
        self.humidity = dressed(Number(tr("Humidity, %"), known.get("humidity_pct")), "few")
        self.temp = dressed(Number("°C", known.get("temp_c")), "few")
        self.off = tick(tr("Day off"), bool(known.get("day_off")))
        head = dressed(html(render("sheet_day", day=spoken_day(day.on))), "head")
        super().__init__(head, self.humidity, self.temp, self.off, css=["sheet-day"])

    def typed(self) -> dict[str, Any]:
        """Return what was said of the day."""
        return {"date": self.on, "humidity_pct": self.humidity.typed, "temp_c": self.temp.typed,
                "day_off": self.off.value}


class SheetRow(Strip):
    """One line of the sheet: of the plan, or one of the player's own, on the day `on` or on any."""

    def __init__(self, planned: dict[str, Any] | None, protocol: Protocol, reeds: list[str] | None = None,
                 on: date | None = None) -> None:
        self.planned = planned
        self.play_min, self.overall, self.stiffness = (
            dressed(Number(told), "few") for told in (tr("Minutes"), tr("Overall"), tr("Stiffness")))
        self.asked: Number | Preference | None = None
        if protocol.pairs:
            self.asked = Preference()
        elif protocol.rating not in ("overall", "stiffness"):
            self.asked = dressed(Number(title(protocol.rating)), "few")
        self.remark = dressed(Words(tr("Remark")), "remark")
        hidden = protocol.masked == "helper"
        habits = [] if hidden else [(h.name, h.key) for h in protocol.habits]
        self.habit = dressed(Pick(tr("What you did"), habits, None if planned is None else planned["habit"]), "way")
        self.date, self.reed = DayPicker(tr("Date"), on), Pick(tr("Reed"), [(r, r) for r in reeds or []])
        self.where = Pick(tr("Where"), choices(TABLES["sittings"].field("where")))
        self.memory, self.unsure = dressed(tick("M"), "mark"), dressed(tick("?"), "mark")
        self.memory.tooltip, self.unsure.tooltip = tr("Written from memory"), tr("Not sure which reed")
        self.rating = protocol.rating
        if planned is None:
            self.name = tr("Row of your own") if on is None else tr("{spoken_date}, row of "
                                                                    "your own").format(spoken_date=spoken_date(on))
            head: list[w.Widget] = [*([self.date] if on is None else []), self.reed, self.where]
        else:
            self.name = f"{spoken_date(planned['date'])}, {planned['reed']}"
            head = [dressed(html(render("sheet_row", reed=planned["reed"], minutes=planned["plan_min"])), "head")]
        points = [self.asked] if protocol.pairs and self.asked else [
            self.overall, *([self.asked] if self.asked else []), self.stiffness]
        fields = [self.play_min, *points,
                  *([] if hidden else [self.habit]), self.memory, self.unsure, self.remark]
        any_day = planned is None and on is None  # with its date it is too long for one line
        super().__init__(*head, *fields, css=["any-day"] if any_day else [])

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
