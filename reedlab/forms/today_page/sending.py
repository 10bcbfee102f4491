"""Hands entries to the logbook as every face does: all of them are written, or none."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Mapping, Sequence

from ...screens import Asked, Entry, Refused, Written, save, take_back
from ...screens.saving import written_words
from ...wording import tr
from ..shared.form import Form

__all__ = ["SendingForm", "new_key"]


def new_key() -> str:
    """Return a name for an entry that is begun now, so that sent twice it is written once."""
    return f"desk-{secrets.token_urlsafe(16)}"


class _NotWrittenError(Exception):
    """Leaves the logbook as it was."""

    def __init__(self, answers: Sequence[Refused | Asked | Written]) -> None:
        super().__init__()
        self.answers = answers


class SendingForm(Form):
    """A form that sends entries, says what became of them, and asks what has to be asked."""

    def send(self, entries: Callable[[], Mapping[str, Entry]], settle: Callable[[], None],
             sure: Mapping[str, str] | None = None) -> None:
        """Save entries, named by their reed, and say what became of them.

        Parameters
        ----------
        entries : callable
            Gives the entries as they are typed at that moment.
        settle : callable
            Empties what was typed; called once all is written, before the forms of the page are told.
        sure : mapping, optional
            The token of the question that is answered with yes, by reed.
        """
        named = {reed: Entry(e.row, e.key, e.changed, (sure or {}).get(reed)) for reed, e in entries().items()}
        try:
            with self.book.writing() as logbook:
                answers: Sequence[Refused | Asked | Written] = [save(logbook, e) for e in named.values()]
                if not all(isinstance(a, Written) for a in answers):
                    raise _NotWrittenError(answers)
                settle()
        except _NotWrittenError as err:
            self._put_right(entries, settle, dict(zip(named, err.answers, strict=True)))
            return
        self.done(written_words([a for a in answers if isinstance(a, Written)]))

    def _put_right(self, entries: Callable[[], Mapping[str, Entry]], settle: Callable[[], None],
                   answers: Mapping[str, Refused | Asked | Written]) -> None:
        faults = [f"{reed}: {line}" if len(answers) > 1 else line
                  for reed, a in answers.items() if isinstance(a, Refused) for line in a.lines]
        if faults:
            self.problem(faults)
            return
        asked = {reed: a for reed, a in answers.items() if isinstance(a, Asked)}
        sure = {reed: a.token for reed, a in asked.items()}
        self.ask([line for a in asked.values() for line in a.lines], lambda: self.send(entries, settle, sure))

    def take_back(self, what: str, number: int, settle: Callable[[], None] = lambda: None) -> None:
        """Ask whether an entry is to be taken back, and do so after a yes; `what` names it."""

        def do() -> None:
            with self.book.writing() as logbook:
                answer = take_back(logbook, number)
                settle()
            if isinstance(answer, Refused):
                self.problem(answer.lines, head=tr("Not taken back."))
            else:
                self.done(tr("Taken back. It no longer counts."))

        self.ask([tr("Take back the entry for {what}? It no longer counts; the history keeps it.").format(what=what)],
                 do, yes=tr("Yes, take it back"))
