"""A line of a standing trial's filled sheet: minutes day by day, and whether the reed is done."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import ipywidgets as w

from ...handout.reed_weeks import ReedWeek
from ...rows.tables import CHOICE_WORDS
from ...wording import short_date, short_day, tr
from ..shared.fields import Number, Pick, Words, dressed, tick
from ..shared.form import html
from ..shared.render import render
from .sheet_rows import Strip

__all__ = ["ReedWeekRow"]


class ReedWeekRow(Strip):
    """One reed of the sheet, or one of the player's own `reeds` in an empty line.

    Minutes that the logbook has already stand there and cannot be typed over.
    """

    def __init__(self, week: ReedWeek, reeds: Sequence[str] = ()) -> None:
        self.week = week
        self.reed = Pick(tr("Reed"), [(r, r) for r in reeds])
        self.cells: dict[date, Number] = {}
        shown: list[w.Widget] = []
        for on in week.days:
            cell = dressed(Number(f"{short_day(on.weekday())} {on.day}", week.there.get(on)), "few")
            cell.tooltip = tr("Minutes on {date}").format(date=short_date(on))
            cell.disabled = on in week.there
            if on not in week.there:
                self.cells[on] = cell
            shown.append(cell)
        # what may be ticked on paper, and what the logbook says already
        may = dict.fromkeys(("worn_out", "damaged", week.gone))
        self.done = Pick(tr("Done?"), [(CHOICE_WORDS[k], k) for k in may if k], week.gone)
        self.done.disabled = week.gone is not None
        self.unsure, self.remark = tick("?"), Words(tr("Remark"))
        self.unsure.tooltip = tr("Not sure which reed")
        head: w.Widget = self.reed if week.reed is None else html(render("sheet_day", day=week.reed))
        super().__init__(dressed(head, "head"), *shown, dressed(self.done, "done"), dressed(self.unsure, "mark"),
                         dressed(self.remark, "remark"), css=["reed-week"])

    @property
    def _which(self) -> str | None:
        return self.week.reed or self.reed.typed

    def _minutes(self) -> dict[date, str]:
        return {on: cell.typed for on, cell in self.cells.items() if cell.typed is not None}

    def sittings(self, *, late: bool) -> list[tuple[str, dict[str, Any]]]:
        """Return a row of sittings, and what to call it, for each day with minutes; the remark goes with the last."""
        said = self.week.sittings(self._minutes(), self._which, from_memory=late, unsure_reed=self.unsure.value)
        if not said and self.remark.typed is not None and not self._leaves:
            said = [{"date": self.week.days[-1], "reed": self._which, "remark": self.remark.typed}]  # refused in words
        elif said:
            said[-1]["remark"] = self.remark.typed
        return [(self._called(row["date"]), row) for row in said]

    def gone(self) -> list[tuple[str, dict[str, Any]]]:
        """Return the row of retirements, and what to call it, where the reed was ticked as done."""
        if not self._leaves:
            return []
        typed = self._minutes()
        on = self.week.left(typed)
        return [(self._called(on), {"reed": self._which, "date": on, "reason": self.done.typed,
                                    "remark": None if typed else self.remark.typed})]

    @property
    def _leaves(self) -> bool:
        return self.week.gone is None and self.done.typed is not None

    def _called(self, on: date) -> str:
        return f"{short_date(on)}, {self._which or tr('Row of your own')}"
