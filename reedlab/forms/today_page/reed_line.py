"""One line of Today: a reed, its rating, and what is saved of it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import ipywidgets as w

from ...rows.tables import CHOICE_WORDS, RATING_WORDS
from ...screens import Entry, Line, Saved, rated_in
from ...screens.today import in_a_word, minutes_words
from ...trial.pairs import in_words, of_ratings
from ...wording import tr
from ..shared.fields import Number, Pick, Preference, Rating, Stiffness, dressed, fold, half_steps
from ..shared.form import button, html
from ..shared.render import render
from .sending import new_key

__all__ = ["ReedLine"]


def _other_rating(column: str) -> Pick | None:
    """Return the control for a rating other than overall that a trial goes by."""
    if column == "preference":
        return Preference()
    if column == "stiffness":
        return Stiffness()
    return None if column == "overall" else half_steps(RATING_WORDS[column])


class TwoRatings(w.HBox):
    """One rating of each go, behind a button; both together tell which was better."""

    def __init__(self, told: Callable[[float], None]) -> None:
        self.goes = half_steps(tr("First go, 0 to 10")), half_steps(tr("Second go, 0 to 10"))
        both = w.HBox(self.goes)
        self.button = fold(tr("Rate both instead"), both)
        self._told = told
        for go in self.goes:
            go.observe(self._rated, "value")
        super().__init__([self.button, both])

    def _rated(self, *_: object) -> None:
        first, second = (go.typed for go in self.goes)
        if first is not None and second is not None:
            self._told(of_ratings(first, second))

    @property
    def remark(self) -> str | None:
        """The two ratings in words, to be kept with the answer; None where they were not both given."""
        first, second = (go.typed for go in self.goes)
        if first is None or second is None:
            return None
        return in_words(first, second)

    def clear(self) -> None:
        """Empty both."""
        for go in self.goes:
            go.put(None)
        self.button.value = False


class ReedLine:
    """Shows what is due or what is saved, and takes one rating. `saved` is the entry that stands in the line."""

    def __init__(self, reed: str, on: date, line: Line | None = None) -> None:
        self.reed, self.on, self.line = reed, on, line
        self.saved: Saved | None = None
        self.changing = False
        self.key = new_key()
        self.head = dressed(html(""), "line-head")
        self.overall = Rating(tr("Overall for {reed}, 0 to 10").format(reed=reed), {}, short=True)
        self.play_min = Number(tr("Minutes"), hint=tr("minutes"))
        self.other = _other_rating(line.rating) if line is not None else None
        self.pair = self.other if isinstance(self.other, Preference) else None
        self.save = button(tr("Save"), main=True, tip=tr("Save {reed}").format(reed=reed))
        self.leave = button(tr("Leave it"), tip=tr("Leave the entry for {reed} as it was").format(reed=reed))
        self.more = button(tr("More …"), tip=tr("Change something else about {reed}").format(reed=reed))
        self.change = button(tr("change"), tip=tr("Change the entry for {reed}").format(reed=reed))
        self.back = button(tr("take back"), tip=tr("Take back the entry for {reed}").format(reed=reed))
        self.both = TwoRatings(self.pair.put) if self.pair is not None else None
        controls = [x for x in (self.overall, self.play_min, self.other, self.both) if x is not None]
        self.body = dressed(w.HBox([*controls, self.save, self.leave, self.more, self.change, self.back]), "line-body")
        self.view = dressed(w.HBox([self.head, self.body]), "line")
        self.rated: Callable[[], None] = lambda: None
        for typed in (self.overall.whole, self.play_min, *([] if self.pair is None else [self.pair])):
            typed.observe(lambda _: self._shown(), "value")
        self.blank()

    # --- what is typed ---------------------------------------------------------------------------

    @property
    def answer(self) -> float | None:
        """What was answered to what the trial asks: the overall rating, or which go was better."""
        found: float | None = self.overall.typed if self.pair is None else self.pair.typed
        return found

    @property
    def touched(self) -> bool:
        """True while it holds something that is not saved."""
        return self.changing or self.answer is not None or (
            self.saved is None and self.play_min.typed != self._planned)

    @property
    def waits(self) -> bool:
        """True while it holds a rating that can be saved."""
        return not self.changing and self.answer is not None

    @property
    def ready(self) -> bool:
        """True while there is something to save."""
        free = self.saved is None and self.line is not None and not self.line.rate
        return self.changing or self.answer is not None or (free and self.play_min.typed is not None)

    @property
    def _planned(self) -> str | None:
        return f"{self.line.minutes:g}" if self.line is not None and self.line.fills else None

    def entry(self) -> Entry:
        """Return what the line says, unchecked."""
        row: dict[str, Any] = {"overall": self.overall.typed, "play_min": self.play_min.typed}
        if self.other is not None:
            row[self.line.rating if self.line else ""] = self.other.typed
        if self.both is not None and self.both.remark is not None:
            row["remark"] = self.both.remark
        if self.changing and self.saved is not None:
            return Entry(row, changed=self.saved.entry_id)
        line = self.line
        return Entry({**row, "date": self.on, "reed": self.reed, "where": "practice",
                      "setup": line.setup if line else None,
                      "habit": line.planned.key if line and line.planned else None}, self.key)

    def blank(self) -> None:
        """Empty the line: what it held is saved, or not wanted."""
        self.changing, self.key = False, new_key()
        self.overall.put(None)
        self.play_min.put(self._planned)
        if self.other is not None:
            self.other.put(None)
        if self.both is not None:
            self.both.clear()
        self._shown()

    def begin_change(self) -> None:
        """Show the saved values, to be changed."""
        if self.saved is None:
            return
        self.changing = True
        self.overall.put(self.saved.values["overall"])
        self.play_min.put(self.saved.values["play_min"])
        if self.other is not None and self.line is not None:
            self.other.put(self.saved.values[self.line.rating])
        self._shown()

    # --- what is shown ---------------------------------------------------------------------------

    def show(self, line: Line | None, saved: Saved | None) -> None:
        """Take in how the reed stands now; what is typed stays."""
        fresh = not self.touched
        self.line, self.saved = line or self.line, saved
        if fresh:
            self.play_min.put(self._planned)
        self.changing = self.changing and saved is not None
        self._shown()

    def _shown(self) -> None:
        line, saved = self.line, self.saved
        asked = line is None or line.rate
        open_ = self.changing or saved is None or self.answer is not None
        self.head.value = render(
            "today_line", reed=self.reed, mark=line.planned.mark if line and line.planned else None,
            way=line.way if line else CHOICE_WORDS[str(saved.values["where"] or "practice")] if saved else "",
            state="" if saved is None else in_a_word(saved),
            minutes=(minutes_words(line.minutes) if line.minutes else "") if line and saved is None else
                    minutes_words(saved.values["play_min"]) if saved and rated_in(saved) else "")
        free = line is not None and not line.fills
        for part, seen in (
            (self.overall, open_ and (asked or self.changing) and self.pair is None),
            (self.play_min, open_ and (self.changing or free)), (self.other, open_), (self.both, open_),
            (self.leave, self.changing), (self.more, self.changing),
            (self.change, not open_), (self.back, not open_)):
            if part is not None:
                part.layout.display = "" if seen else "none"
        self.save.layout.display = "" if open_ else "none"
        self.save.layout.visibility = "visible" if self.ready else "hidden"  # keeps its place
        self.save.description = tr("Save the change") if self.changing else tr("Save")
        self.rated()
