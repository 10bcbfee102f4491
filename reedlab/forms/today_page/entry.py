"""The controls of one sitting, and the row they say."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any, Final

import ipywidgets as w

from ...rows.tables import TABLES
from ...trial.protocol import Habit
from ...wording import tr
from ..shared.fields import (
    Choice,
    DayPicker,
    Number,
    Pick,
    Preference,
    Rating,
    Stiffness,
    Words,
    choices,
    fold,
    half_steps,
    show_if,
    tick,
)

__all__ = ["EntryControls"]

#: The columns that have a control of their name; the reed and the date come first, for the others hang on them.
_COLUMNS: Final = ("reed", "date", "habit", "play_min", "overall", "response", "tone", "stiffness", "preference",
                   "where", "setup", "position", "remark", "waterlogged", "from_memory", "unsure_reed")


class EntryControls:
    """Controls for a sitting: `needed` in sight, `more` folded away.

    Setting the reed or the date is left to the form, which knows the plan.
    """

    def __init__(self, anchors: Mapping[int, str]) -> None:
        self.reed = Pick(tr("Reed"), [], empty=tr("choose a reed"))
        self.habit = Choice(tr("What you did"), [])
        self.play_min = Number(tr("Minutes played"), hint=tr("for example 10"))
        self.overall = Rating(tr("Overall"), anchors)
        self.where = Choice(tr("Where"), choices(TABLES["sittings"].field("where")), "practice")
        self.date = DayPicker(tr("Date"))
        self.response, self.tone = half_steps(tr("Response, 0 to 10")), half_steps(tr("Tone, 0 to 10"))
        self.stiffness, self.preference = Stiffness(), Preference(tr("Back to back: better go"))
        self.setup = Pick("Set-up", [])
        self.position = Words(tr("Place of the reed on the mouthpiece"))
        self.waterlogged = tick(tr("The tip looked dark and see-through"))
        self.from_memory = tick(tr("Written down later, from memory"))
        self.unsure_reed = tick(tr("Not sure which reed it was"))
        self.remark = Words(tr("Remark, in your own words"))
        self.needed = w.VBox([w.HBox([self.reed, self.play_min]), self.habit, self.overall])
        self.more = w.VBox([
            w.HBox([self.date, self.where]), self.from_memory, self.unsure_reed, self.waterlogged,
            w.HBox([self.response, self.tone, self.stiffness, self.preference, self.setup]),
            w.HBox([self.position, self.remark])])
        self.more_button = fold(tr("More: date, place, remark …"), self.more)

    def offer_habits(self, habits: Sequence[Habit], planned: str | None) -> None:
        """Offer the two ways of the reed's trial with the planned one chosen; hide the choice without any."""
        self.habit.options = [(h.name, h.key) for h in habits]
        self.habit.put(planned)
        show_if(habits, self.habit)

    @property
    def untouched(self) -> bool:
        """True while nothing is typed that could be lost."""
        return all(c.typed is None for c in (self.overall, self.response, self.tone, self.stiffness,
                                             self.preference, self.position, self.remark))

    def row(self) -> dict[str, Any]:
        """Return what the controls say, unchecked, by column name."""
        return {name: getattr(self, name).typed for name in _COLUMNS}

    def put(self, row: Mapping[str, Any]) -> None:
        """Show an entry, to be changed."""
        for name in _COLUMNS:
            getattr(self, name).put(row[name])

    def clear(self, on: date) -> None:
        """Empty everything for the next entry."""
        blank: dict[str, Any] = dict.fromkeys(TABLES["sittings"].columns)
        self.put({**blank, "date": on, "where": "practice"})
