"""Earlier entries, to be changed or taken back. Their ratings are not shown in the list."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from typing import Any, Final

import ipywidgets as w

from ...errands.book import LISTED, Book
from ...wording import short_date, tr
from ..shared.fields import Pick, note, show_if
from ..shared.form import need
from .sending import SendingForm

__all__ = ["PastForm"]

_NONE: Final = tr("Nothing is written down yet.")


class PastForm(SendingForm):
    """A list of the latest entries, newest first; `change_it` is told which one to change."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.change_it: Callable[[int], None] = lambda _: None
        self.pick = Pick(tr("Entry"), [], empty=tr("choose an entry"))
        self.change = self.button(tr("Change it"), self._change)
        self.remove = self.button(tr("Take it back"), self._remove)
        self.none = note(_NONE)
        self.some = w.VBox([self.pick, w.HBox([self.change, self.remove])])
        self.show(self.none, self.some)
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again and list the latest entries."""
        sittings, today, rows = self.book.frames_now().sittings, self.book.today(), []
        if len(sittings):
            latest = sittings.sort_values(["date", "entry_id"], ascending=False).head(LISTED)
            rows = [(_line(row, today), int(row["entry_id"])) for row in latest.to_dict("records")]
        self.pick.offer(rows)
        show_if(rows, self.some)
        show_if(not rows, self.none)

    def _chosen(self) -> int:
        need(tr("Nothing chosen."), (self.pick, tr("Choose an entry from the list first.")))
        return int(self.pick.typed)

    def _change(self) -> None:
        number = self._chosen()
        self.quiet()
        self.change_it(number)

    def _remove(self) -> None:
        self.take_back(self.pick.label, self._chosen())


def _line(row: Mapping[Any, Any], today: date) -> str:
    on = row["date"].date()
    day = tr("today") if on == today else short_date(on)
    return tr("{day} · {reed} · {play_min:g} min").format(day=day, reed=row["reed"], play_min=row["play_min"])
