"""The answer of a trial, its progress while it runs, and the invented example.

Where a helper hid which way was which, the player is asked to guess once the trial has ended, before the answer.
"""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING

import ipywidgets as w

from ...analysis.beside.guesses import to_ask
from ...analysis.verdicts.standing import standing
from ...errands.book import Book
from ...errands.read_trial import wants_forecast
from ...errors import InputError
from ...folder.clock import is_invented
from ...screens.due import running
from ...trial.protocol import Protocol
from ..shared.fields import Pick, Words, note
from ..shared.form import Form, button, html, rows_table
from .guess import GuessQuestions

if TYPE_CHECKING:
    from ...summary import Answer

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
        self.next = button("What would a next trial show?")
        self.next.layout.display = "none"
        self.guess = GuessQuestions()
        self.show(self.pick, self.guess.view, self.page, self.next, self.fold)
        self.pick.observe(self.guarded(self._show), "value")
        self.early.on_click(self.guarded(self._ask_early))
        self.next.on_click(self.guarded(self._play_next))
        self.guess.save.on_click(self.guarded(self._save_guesses))
        self.guess.skip.on_click(self.guarded(self._skip_guesses))
        self.follow(book, self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again and offer its trials, finished ones first, then the example's."""
        offered = [(name, (_OWN, name)) for name in by_age(self.book)]
        if not is_invented(self.book.path.parent):  # the demo's folder is the example already
            offered += [(f"Example (invented): {name}", (_EXAMPLE, name)) for name in by_age(self.example())]
        self.pick.offer(offered)
        if self.pick.typed is None and offered:
            self.pick.put(offered[0][1])
        else:
            self._show()

    def example(self) -> Book:
        """Return the invented player's logbook, made in a folder of its own the first time."""
        if self._example is None:
            from ...demo import set_up_demo

            self._folder = tempfile.TemporaryDirectory(prefix="reedlab-example-")
            self._example = Book.here(set_up_demo(Path(self._folder.name)))
        return self._example

    def _show(self) -> None:
        self.quiet()
        self.page.value = ""
        self.fold.layout.display = "none"
        self.next.layout.display = "none"
        self.guess.hide()
        if self.pick.typed is None:
            return
        asked = self._to_guess(*self.pick.typed)
        if asked is not None:
            self.guess.show(asked)
            return
        self.page.value = '<div class="reedlab-tell" role="status">Reading the trial …</div>'
        try:
            answer = self._answer(self.pick.typed, None)
        except BaseException:
            self.page.value = ""
            raise
        self.page.value = answer._repr_html_()
        if wants_forecast(answer.result):
            self.next.layout.display = ""
        if answer.to_dict()["verdict"] is None and self.pick.typed[0] == _OWN:
            self.fold.layout.display = ""

    def _play_next(self) -> None:
        if self.pick.typed is None:
            return
        self.next.disabled = True
        self.next.description = "Playing the next trial through …"
        try:
            self.page.value = self._answer(self.pick.typed, None, forecast=True)._repr_html_()
            self.next.layout.display = "none"
        finally:
            self.next.disabled = False
            self.next.description = "What would a next trial show?"

    def _answer(self, chosen: tuple[str, str], why: str | None, *, forecast: bool = False) -> Answer:
        from ...errands.read_trial import read_trial

        whose, name = chosen
        book = self.example() if whose == _EXAMPLE else self.book
        opened = book.reading() if why is None else book.writing()
        with opened as logbook:
            return read_trial(logbook, name, today=book.today(), open_early_why=why, forecast=forecast)

    def _to_guess(self, whose: str, name: str) -> Protocol | None:
        """Return the plan whose reeds the player is to guess at now, before the answer; None if nothing is asked."""
        if whose != _OWN:
            return None
        plan, frames = self.book.protocols()[name], self.book.frames()
        state = standing(plan, frames, today=self.book.today(), open_early=False).state
        return plan if to_ask(plan, frames, state) else None

    def _guessed_trial(self) -> Protocol | None:
        """Return the plan still to be guessed at: another page may have opened the answer meanwhile."""
        return None if self.pick.typed is None else self._to_guess(*self.pick.typed)

    def _save_guesses(self) -> None:
        plan = self._guessed_trial()
        if plan is None:
            self._show()
            return
        try:
            guesses = self.guess.guesses(plan.trial, self.book.today())
        except InputError as err:
            self.problem([str(err)])
            return
        told = self.guess.told({h.key: h.name for h in plan.habits})
        with self.book.writing() as logbook:
            logbook.add_many(guesses)
        self.done("Saved. This now stands in your logbook:", rows_table(["Reed", "Your guess"], told))

    def _skip_guesses(self) -> None:
        plan = self._guessed_trial()
        if plan is None:
            self._show()
            return
        with self.book.writing() as logbook:
            logbook.add_many(self.guess.skipped(plan.trial, self.book.today()))
        self.done("Skipped. The answer says so.")

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



def by_age(book: Book) -> list[str]:
    """Return the names of a logbook's trials: finished ones first, the newest of each first."""
    protocols = book.protocols()
    open_now = {day.protocol.trial for day in running(protocols, book.frames(), book.today())}
    newest_first = list(reversed(protocols))
    return [*(n for n in newest_first if n not in open_now), *(n for n in newest_first if n in open_now)]
