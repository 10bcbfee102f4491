"""One short line for each further reed that is due: minutes, way, rating."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from html import escape
from typing import Any

import ipywidgets as w

from ...screens.due import Due
from ...trial.protocol import Habit
from ..shared.fields import Choice, Number, Rating

__all__ = ["DueLines"]


class _Line:
    """The controls of one reed that is due."""

    def __init__(self, due: Due, habits: tuple[Habit, ...], anchors: Mapping[int, str], setup: str | None) -> None:
        self.due, self.setup = due, setup
        self.play_min = Number("Minutes played", due.minutes if due.slot else None,
                               hint=f"the plan says {due.minutes:g}")
        self.habit = Choice("What you did", [(h.name, h.key) for h in habits],
                            due.habit.key if habits and due.habit is not None else None)
        self.habit.layout.display = "" if habits else "none"
        self.overall = Rating(f"Overall for {due.reed}", anchors)
        self.view = w.VBox([w.HTML(f"<h3>Then {escape(due.reed)}</h3>"), self.play_min, self.habit, self.overall])

    def row(self, on: date) -> dict[str, Any]:
        """Return what the controls say, unchecked."""
        return {"date": on, "reed": self.due.reed, "setup": self.setup, "play_min": self.play_min.typed,
                "overall": self.overall.typed, "habit": self.habit.typed, "where": "practice"}


class DueLines:
    """The lines of a day, kept while the page is open so that nothing typed is lost."""

    def __init__(self) -> None:
        self.view = w.VBox([])
        self._all: dict[tuple[str, str, date], _Line] = {}
        self._shown: list[_Line] = []

    def show(self, due: Iterable[tuple[Due, tuple[Habit, ...], str | None, Mapping[int, str]]], on: date) -> None:
        """Show a line for each of these (what is due, the ways to choose from, the set-up, the scale's words)."""
        self._shown = []
        for one, habits, setup, anchors in due:
            key = (one.trial, one.reed, on)
            if key not in self._all:
                self._all[key] = _Line(one, habits, anchors, setup)
            self._shown.append(self._all[key])
        self.view.children = [line.view for line in self._shown]

    @property
    def touched(self) -> bool:
        """True while a line in sight holds a rating that is not saved."""
        return any(line.overall.typed is not None for line in self._shown)

    def rated(self, on: date) -> list[dict[str, Any]]:
        """Return the rows of the lines in sight that hold a rating."""
        return [line.row(on) for line in self._shown if line.overall.typed is not None]

    def forget(self, reeds: Iterable[str], on: date) -> None:
        """Drop the lines of these reeds: they are in the logbook."""
        gone = set(reeds)
        self._all = {k: v for k, v in self._all.items() if not (k[1] in gone and k[2] == on)}
