"""A page of one file for a player away from this computer, and the reading of what it hands back."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import quote

import ipywidgets as w

from ...errands.away import Unsure, read_away, text_of, write_away
from ...errands.book import Book
from ...errors import ExchangeError, InputError
from ...folder.filing import named_after
from ...wording import tr
from ..shared.fields import Pick, dressed, files_button, fold, heading, note, show_if
from ..shared.form import NOT_SAVED, Form, need, told_under
from ..shared.render import render

__all__ = ["AwayForm", "HandedBackForm"]


class HandedBackForm(Form):
    """Takes in the file or the text that a page handed back; a question first where entries look odd.

    `take` reads it in, else the book does: it is given text, name and the yes, and returns what to say.
    """

    def __init__(self, book: Book, take: Callable[[str, str, str | None], str] | None = None) -> None:
        super().__init__(book)
        self._take_in = take or self._into_the_book
        self.files = files_button(tr("Choose the file"), (".json", ".txt"))
        self.text = w.Textarea(description=tr("Or paste the text"), rows=3)
        self.read_in = self.button(tr("Read it in"), self._read_in, main=True)
        self.show(heading(tr("Back from the page"), 2), w.HBox([self.files]), self.text, self.read_in)

    def _read_in(self) -> None:
        self._take(*self._given())

    def _given(self) -> tuple[str, str]:
        chosen: list[Any] = list(self.files.value)
        if chosen and self.text.value.strip():
            raise InputError(tr("Choose the file or paste the text, not both."))
        if chosen:
            name = str(chosen[0]["name"])
            return text_of(bytes(chosen[0]["content"]), name), name
        if not self.text.value.strip():
            raise InputError(tr("Choose the file, or paste the text, that the page made under \"Hand it back\"."))
        return self.text.value, tr("The text")

    def _take(self, text: str, name: str, sure: str | None = None) -> None:
        try:
            with told_under(tr("Nothing was read in."), ExchangeError):
                found = self._take_in(text, name, sure)
        except Unsure as odd:
            token = odd.token
            self.ask(odd.lines, lambda: self._take(text, name, token), yes=tr("Yes, read it in"))
            return
        self.files.value, self.text.value = (), ""
        self.done(tr("Read in."), render("lines", lines=found.splitlines()))

    def _into_the_book(self, text: str, name: str, sure: str | None) -> str:
        with self.book.writing() as logbook:
            return str(read_away(logbook, text, name, sure=sure))


class AwayForm(Form):
    """Behind one word: a button that makes the page; the reading of what comes back stands below it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.trial = dressed(Pick(tr("Trial"), []), "wide")
        self.make = self.button(tr("Make the page"), self._make, main=True)
        self.back = HandedBackForm(book)
        self.some = w.VBox([
            note(tr("A page of one file for a phone or another computer. It works without a network, needs nothing "
                    "installed, and takes your ratings until you are back.")), self.trial, self.make])
        self.none = note(tr("There is no trial to take along yet."))
        inside = w.VBox([self.none, self.some, self.back])
        self.open = fold(tr("Make the page, or read it back"), inside)
        self.show(self.open, inside)
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Offer the trials that run."""
        names = [d.protocol.trial for d in self.book.trial_days(self.book.today())]
        self.trial.offer([(name, name) for name in names], names[-1] if names else None)
        show_if(names, self.some)
        show_if(not names, self.none)
        show_if(self.book.protocols(), self.back)

    def _make(self) -> None:
        need(NOT_SAVED, (self.trial, tr("Choose a trial first.")))
        name = f"away-{named_after(self.trial.typed)}.html"
        folder: Path = self.book.path.resolve().parent
        with self.book.reading() as logbook:
            made = write_away(logbook, folder / name, today=self.book.today(), trial=self.trial.typed)
        self.done(tr("Made: {name}, in your folder.").format(name=name), render(
                                 "away_made", link=f"/files/{quote(name)}?download=1", told=made.told))
