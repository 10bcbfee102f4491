"""Something else? One word on Today; behind it one small sheet at a time, made when it is first wanted."""

from __future__ import annotations

from typing import Final

import ipywidgets as w

from ...errands.book import Book
from ...wording import tr
from ..shared.fields import Fold, dressed
from ..shared.form import Form, button
from ..shared.opened import opened
from .entry_form import EntryForm
from .past_form import PastForm

__all__ = ["SomethingElse"]

#: What each choice is called, its name, and the form that it opens (module of this room, class).
_SHEETS: Final = (
    (tr("Another reed, minutes or way, a remark"), "entry", ("entry_form", "EntryForm")),
    (tr("Yesterday"), "yesterday", ("entry_form", "EntryForm")),
    (tr("Rehearsal or concert"), "outing", ("outing_form", "OutingForm")),
    (tr("Not playing today"), "not_playing", ("not_playing_form", "NotPlayingForm")),
    (tr("The room's air, a remark on the day"), "day", ("day_form", "DayForm")),
    (tr("A reed is done with"), "retire", ("retire_form", "RetireForm")),
    (tr("A reed was worked on"), "worked_on", ("worked_on_form", "WorkedOnForm")),
    (tr("My week and concerts"), "week", ("week_form", "WeekForm")),
    (tr("Earlier entries"), "past", ("past_form", "PastForm")),
)


class SomethingElse:
    """The fold, the choice, and the sheet that is open."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.choice = dressed(w.ToggleButtons(options=[(text, name) for text, name, _ in _SHEETS], value=None,
                                              description=tr("Something else?")), "choice")
        self.close = button(tr("Close this"))
        self.sheet = w.VBox([])
        self.view = Fold(tr("Something else?"), self.choice, self.sheet)
        self.open = self.view.word
        self._made: dict[str, Form] = {}
        self.choice.observe(lambda change: self._show(change["new"]), "value")
        self.close.on_click(lambda _: self.shut())

    @property
    def shown(self) -> Form | None:
        """The form of the sheet that is open."""
        return None if self.choice.value is None else self._form(self.choice.value)

    def begin(self, name: str) -> None:
        """Open a sheet."""
        self.open.value = True
        self.choice.value = name

    def shut(self) -> None:
        """Close the sheet, and the choice with it."""
        self.choice.value = None
        self.open.value = False

    def change(self, number: int) -> None:
        """Open the sheet on which an entry is changed."""
        self.begin("entry")
        form = self._form("entry")
        if isinstance(form, EntryForm):
            form.guarded(lambda: form.edit(number))()

    def _form(self, name: str) -> Form:
        module, kind = next(made for _, key, made in _SHEETS if key == name)
        if module not in self._made:
            form = self._made[module] = opened(f"today_page.{module}", kind, self.book)
            if isinstance(form, PastForm):
                form.change_it = self.change
        return self._made[module]

    def _show(self, name: str | None) -> None:
        if name is None:
            self.sheet.children = ()
            return
        form = self._form(name)
        if isinstance(form, EntryForm):
            form.guarded(form.yesterday if name == "yesterday" else form.afresh)()
        self.sheet.children = (form, self.close)
