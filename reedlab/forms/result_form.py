"""The answer of a trial, its progress while it runs, and the invented example."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as w

from ..clock import today_in
from ..resources import demo_data_dir
from ._book import Book
from ._fields import Pick, Words, note
from ._form import Form, button, html

if TYPE_CHECKING:
    from ..summary import Answer

__all__ = ["ResultForm"]

_EXAMPLE = "example"
_OWN = "own"


class ResultForm(Form):
    """Shows one trial at a time. Opening a running one early takes a reason and a second yes."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self._example: Book | None = None
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self.pick = Pick("Trial", [], empty="choose a trial")
        self.page = html("")
        self.why = Words("Why do you want to open it now?")
        self.early = button("Open it early")
        self.fold = w.VBox([
            html("<h3>Open it before the end?</h3>"),
            note("An early look is written down and makes the final answer a little harder to reach. "
                 "It can hardly ever name a winner."), self.why, self.early])
        self.show(self.pick, self.page, self.fold)
        self.pick.observe(self.guarded(self._show), "value")
        self.early.on_click(self.guarded(self._ask_early))
        self.guarded(self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again and offer its trials, newest first, and the example's."""
        own = [(name, (_OWN, name)) for name in reversed(list(self.book.protocols()))]
        example = [(f"Example (invented): {name}", (_EXAMPLE, name)) for name in self.example().protocols()]
        offered = [*own, *example]
        self.pick.offer(offered)
        if self.pick.typed is None and offered:
            self.pick.put(offered[0][1])
        else:
            self._show()

    def example(self) -> Book:
        """Return the invented player's logbook, made in a folder of its own the first time."""
        if self._example is None:
            from ..logbook import Logbook
            from ..logbook.exchange import import_folder

            self._folder = tempfile.TemporaryDirectory(prefix="reedlab-example-")
            path = Path(self._folder.name) / "example.logbook"
            with Logbook.create(path) as logbook:
                import_folder(demo_data_dir(), logbook)
            self._example = Book.here(path, lambda: today_in(demo_data_dir()))
        return self._example

    def _show(self) -> None:
        self.quiet()
        self.page.value = ""
        self.fold.layout.display = "none"
        if self.pick.typed is None:
            return
        answer = self._answer(self.pick.typed, None)
        self.page.value = answer._repr_html_()
        if answer.to_dict()["verdict"] is None and self.pick.typed[0] == _OWN:
            self.fold.layout.display = ""

    def _answer(self, chosen: tuple[str, str], why: str | None) -> Answer:
        from ..read import read_trial

        whose, name = chosen
        book = self.example() if whose == _EXAMPLE else self.book
        opened = book.reading() if why is None else book.writing()
        with opened as logbook:
            return read_trial(logbook, name, today=book.today(), open_early_why=why)

    def _ask_early(self) -> None:
        if self.why.typed is None:
            self.problem(["Say in a few words why. The reason stays in your logbook."], head="Not opened yet.")
            return
        self.ask(["An early look cannot be unseen. Open the trial now?"], self._open_early, yes="Yes, open it")

    def _open_early(self) -> None:
        if self.pick.typed is None:
            return
        answer = self._answer(self.pick.typed, self.why.typed)
        self.why.put(None)
        self.fold.layout.display = "none"
        self.page.value = answer._repr_html_()

