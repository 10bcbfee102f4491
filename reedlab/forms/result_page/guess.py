"""The questions asked once a masked trial has ended: which way did each reed have?"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import ipywidgets as w

from ...analysis.beside.guesses import SKIPPED, to_ask
from ...analysis.verdicts.state import state_of
from ...errands.book import Book
from ...errors import InputError
from ...rows.records import Guess
from ...trial.protocol import Protocol
from ...wording import tr
from ..shared.fields import Choice, heading, note, show_if
from ..shared.form import button

__all__ = ["GuessQuestions", "to_guess"]

_UNSURE = "unsure"
_ASKED = tr("Before you see the answer: which way did each reed have?")
_ASKED_FIRST = tr("Before you see the answer: which way did each reed have first?")


def to_guess(book: Book, trial: str) -> Protocol | None:
    """Return the plan of a trial whose reeds are to be guessed at before its answer; None if nothing is asked."""
    plan, frames = book.protocols()[trial], book.frames()
    state = state_of(plan, frames, today=book.today(), open_early=False).state
    return plan if to_ask(plan, frames, state) else None


class GuessQuestions:
    """A choice for each reed, and the two ways on: save, or skip."""

    def __init__(self) -> None:
        self.rows: dict[str, Choice] = {}
        self.trial = ""
        self.asked = w.VBox([])
        self.save = button(tr("Save my guesses and open the answer"), main=True)
        self.skip = button(tr("Skip this and open the answer"))
        self.view = w.VBox([
            heading(_ASKED),
            note(tr("A helper hid it from you. What you guess now shows how well that worked. It changes nothing in "
                    "the answer, and it can't be asked later.")),
            self.asked, w.HBox([self.save, self.skip])])
        show_if(False, self.view)

    def show(self, plan: Protocol) -> None:
        """Ask for each reed of a trial, in order of its name; what was answered already stays."""
        if self.trial != plan.trial:
            ways = [*((h.name, h.key) for h in plan.habits), (tr("I don't know"), _UNSURE)]
            self.trial = plan.trial
            self.rows = {u: Choice(u, ways) for u in sorted(u.unit for u in plan.units)}
            self.asked.children = tuple(self.rows.values())
            self.view.children = (heading(_ASKED_FIRST if plan.crossover else _ASKED), *self.view.children[1:])
        show_if(True, self.view)

    def guesses(self, trial: str, on: date, *, skipped: bool) -> list[Guess]:
        """Return what was guessed, or that it was skipped; InputError naming the reeds without an answer."""
        if skipped:
            return [Guess(trial=trial, unit=SKIPPED, date=on)]
        empty = [u for u, row in self.rows.items() if row.typed is None]
        if empty:
            raise InputError(tr("{empty}: choose a way, or \"I don't know\".").format(empty=", ".join(empty)))
        return [Guess(trial=trial, unit=u, habit=None if row.typed == _UNSURE else row.typed, date=on)
                for u, row in self.rows.items()]

    def told(self, names: Mapping[str, str]) -> list[list[str]]:
        """Return reed and guess in words, to read back."""
        return [[u, names.get(str(row.typed), tr("don't know"))] for u, row in self.rows.items()]
