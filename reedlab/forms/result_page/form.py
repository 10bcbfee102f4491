"""The answer of a trial, its progress while it runs, and the invented example.

Where a helper hid which way was which, the player is asked to guess once the trial has ended, before the answer.
"""

from __future__ import annotations

import tempfile
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Final

import ipywidgets as w

from ...errands.book import Book
from ...errands.read_trial import wants_forecast
from ...folder.clock import is_invented
from ...folder.filing import named_after, write_file
from ...trial.protocol import Protocol
from ...wording import tr
from ..shared.fields import Fold, Pick, Words, heading, note, show_if
from ..shared.form import Form, button, html, need, rows_table
from ..shared.render import render
from .guess import GuessQuestions, to_guess

if TYPE_CHECKING:
    from ...summary import Answer

__all__ = ["ResultForm"]

_PAPERS: Final = {"answer": tr("The page to print"), "report": tr("The full report"), "trial": tr(
            "The whole trial in one file")}
_EXAMPLE = "example"
_OWN = "own"


class ResultForm(Form):
    """Shows one trial at a time. Opening a running one early takes a reason and a second yes."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self._example: Book | None = None
        self._folder: tempfile.TemporaryDirectory[str] | None = None
        self.pick = Pick(tr("Trial"), [], empty=tr("choose a trial"))
        self.page = html("")
        self.why = Words(tr("Why do you want to open it now?"))
        self.early = self.button(tr("Open it early"), self._ask_early)
        self.price = note("")
        self.fold = w.VBox([
            heading(tr("Open it before the end?")),
            self.price, self.why, self.early])
        self.next = self.button(tr("What would a next trial show?"), self._play_next,
                                busy=tr("Playing the next trial through…"))
        self.next.layout.display = "none"
        self.guess = GuessQuestions()
        self.code = Words(tr("Your code for the small print, if you have one"))
        self.papers = {kind: button(text) for kind, text in _PAPERS.items()}
        self.hand_on = Fold(tr("Print it or hand it on"), self.code, w.HBox(list(self.papers.values())))
        self.show(self.pick, self.guess.view, self.page, self.next, self.fold, self.hand_on)
        self.pick.observe(self.guarded(self._show), "value")
        for kind, pressed in self.papers.items():
            pressed.on_click(self.guarded(partial(self._write, kind)))
        self.guess.save.on_click(self.guarded(partial(self._guessed, skipped=False)))
        self.guess.skip.on_click(self.guarded(partial(self._guessed, skipped=True)))
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again and offer its trials, finished ones first, then the example's."""
        offered = [(name, (_OWN, name)) for name in by_age(self.book)]
        if not is_invented(self.book.path.parent):  # the demo's folder is the example already
            offered += [(tr("Example (invented): {name}").format(
                             name=name), (_EXAMPLE, name)) for name in by_age(self.example())]
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
        show_if(False, self.fold, self.next, self.hand_on, self.guess.view)
        if self.pick.typed is None:
            return
        asked = self._to_guess()
        if asked is not None:
            self.guess.show(asked)
            return
        self.page.value = render("tell", kind="tell", text=tr("Reading the trial …"))
        try:
            answer = self._answer(self.pick.typed, None)
        except BaseException:
            self.page.value = ""
            raise
        self.page.value = answer._repr_html_()
        show_if(True, self.hand_on)
        show_if(wants_forecast(answer.result), self.next)
        if answer.to_dict()["verdict"] is None and self.pick.typed[0] == _OWN:
            self.price.value = note(_price(answer.result.protocol)).value
            self.fold.layout.display = ""

    def _play_next(self) -> None:
        if self.pick.typed is None:
            return
        self.page.value = self._answer(self.pick.typed, None, forecast=True)._repr_html_()
        self.next.layout.display = "none"
        self.done(tr("Played through. What it would show stands in the answer, at \"What next?\"."))

    def _write(self, kind: str) -> None:
        """Write the trial as a page, a report or a copy into the player's folder."""
        from ...errands.hand_on import write_copy
        from ...errands.read_trial import read_trial

        if self.pick.typed is None:
            return
        book, name = self._of(self.pick.typed)
        code, day = self.code.typed or "", book.today()
        path = self.book.path.parent / f"{kind}-{named_after(name)}.{'json' if kind == 'trial' else 'html'}"
        with book.reading() as logbook:
            if kind == "trial":
                write_copy(logbook, name, path, today=day, player=code)
            else:
                said = read_trial(logbook, name, today=day, player=code)
                write_file(path, said.report_html() if kind == "report" else said.to_html())
        self.done(tr("Made: {name}").format(name=path.name), render(
            "made", name=path.name, path=str(path), page=kind != "trial", told=[] if kind != "trial" else [
                tr("On another computer, reedlab result {name} reads the same answer from it.").format(
                    name=path.name)]))

    def _of(self, chosen: tuple[str, str]) -> tuple[Book, str]:
        return (self.example() if chosen[0] == _EXAMPLE else self.book), chosen[1]

    def _answer(self, chosen: tuple[str, str], why: str | None, *, forecast: bool = False) -> Answer:
        from ...errands.read_trial import read_trial

        book, name = self._of(chosen)
        opened = book.reading() if why is None else book.writing()
        with opened as logbook:
            return read_trial(logbook, name, today=book.today(), open_early_why=why, forecast=forecast)

    def _to_guess(self) -> Protocol | None:
        """Return the plan whose reeds are to be guessed at now, before the answer; None if nothing is asked.

        It is asked anew at each press: another page may have opened the answer meanwhile.
        """
        if self.pick.typed is None or self.pick.typed[0] != _OWN:
            return None
        return to_guess(self.book, self.pick.typed[1])

    def _guessed(self, *, skipped: bool) -> None:
        plan = self._to_guess()
        if plan is None:
            self._show()
            return
        guesses = self.guess.guesses(plan.trial, self.book.today(), skipped=skipped)
        told = self.guess.told({h.key: h.name for h in plan.habits})
        with self.book.writing() as logbook:
            logbook.add_many(guesses)
        if skipped:
            self.done(tr("Skipped. The answer says so."))
        else:
            self.done(tr("Saved. This now stands in your logbook:"), rows_table([tr("Reed"), tr("Your guess")], told))

    def _ask_early(self) -> None:
        need(tr("Not opened yet."), (self.why, tr("Say in a few words why. The reason stays in your logbook.")))
        self.ask([tr("An early look cannot be unseen. Open the trial now?")], self._open_early, yes=tr("Yes, open it"))

    def _open_early(self) -> None:
        if self.pick.typed is None:
            return
        answer = self._answer(self.pick.typed, self.why.typed)
        self.why.put(None)
        self.fold.layout.display = "none"
        self.page.value = answer._repr_html_()
        self.done(tr("Opened. Your logbook keeps this early look."))


def _price(plan: Protocol) -> str:
    if plan.read_early:
        return tr("An early look is written down and costs nothing: this trial goes by odds that allow for it.")
    return tr("An early look is written down and makes the final answer a little harder to reach. It can hardly ever "
              "name a winner.")


def by_age(book: Book) -> list[str]:
    """Return the names of a logbook's trials: finished ones first, the newest of each first."""
    open_now = {day.protocol.trial for day in book.trial_days(book.today())}
    newest_first = list(reversed(book.protocols()))
    return [*(n for n in newest_first if n not in open_now), *(n for n in newest_first if n in open_now)]
