"""The way back: the dated copies, what each holds and would leave out, and one button."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...logbook.restoring import Held, copies, held_now, restore, set_aside_words
from ...wording import tr
from .fields import Pick, fold, note
from .form import Form, NotYet

__all__ = ["RestoreForm"]


class RestoreForm(Form):
    """Behind one word; the copies are read only when it is unfolded."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.pick, self.told = Pick(tr("Copy"), [], empty=tr("choose a day")), note("")
        self.back = self.button(tr("Put this copy in place"), self._asked, main=True)
        inside = w.VBox([note(tr("Before the first entry of a day the logbook is copied. You can go back to such a "
                                 "copy; the logbook as it is now is kept beside it, and nothing is deleted.")),
                         self.told, self.pick, self.back])
        self.more_button = fold(tr("Earlier copies"), inside)
        self._found: list[Held] = []
        self.show(self.more_button, inside)
        self.more_button.observe(self.guarded(self.refresh), "value")

    def refresh(self) -> None:
        """Read the copies again, if they are to be seen."""
        if not self.more_button.value:
            return
        now = held_now(self.book.path)
        self._found = copies(self.book.path, now)
        self.told.value = note(tr("Your logbook now: {now}. There are {n} copies.").format(
                                   now=now, n=len(self._found))).value
        self.pick.offer([(f"{c.name}: {c}", c.name) for c in self._found if not c.lost])

    def _asked(self) -> None:
        chosen = next((c for c in self._found if c.name == self.pick.typed), None)
        if chosen is None:
            raise NotYet([tr("Choose a copy from the list first.")], tr("Nothing chosen."))
        self.ask([tr("Go back to the copy of {name}? It holds {chosen}. {told_lacks}").format(
                      name=chosen.name, chosen=chosen, told_lacks=chosen.told_lacks)],
                 lambda: self._put(chosen), yes=tr("Yes, go back to it"))

    def _put(self, chosen: Held) -> None:
        aside = restore(self.book.path, chosen.path)
        self.book.lost.clear()
        self.book.tell_forms()
        self.refresh()
        self.done(tr("The copy of {name} is your logbook now. {set_aside_words}").format(
                      name=chosen.name, set_aside_words=set_aside_words(aside)))
