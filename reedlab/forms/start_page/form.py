"""The start page: the one thing to do now; below it the phone's code, earlier copies, where the logbook is."""

from __future__ import annotations

from typing import Final

from ...errands.book import Book
from ...logbook.beside import copies_told
from ...screens import Start, start
from ...summary import numbers
from ...wording import tr, trn
from ..plan_page.first_play import box_stage, boxes_to_play
from ..result_page.guess import to_guess
from ..shared.form import Form, html
from ..shared.render import render
from ..shared.restore_form import RestoreForm
from .phone import PhonePart

__all__ = ["StartForm"]

_GUESS_FIRST: Final = tr("It has ended. Before you see the answer, say what you took each reed for.")


class StartForm(Form):
    """Shows what now, lets phones in and locks them out, and the way back to an earlier copy."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.state, self.where = html(""), html("")
        self._answers: dict[object, str] = {}
        self.phone, self.restore = PhonePart(book.path.resolve().parent), RestoreForm(book)
        self.show(self.state, self.phone, self.restore, self.where)
        self.phone.lock.on_click(self.guarded(lambda: self.done(self.phone.lock_out())))
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again."""
        self.phone.refresh()
        now = start_of(self.book)
        answer = self._answer(now.answer) if now.state == "ended" and now.answer is not None else ""
        waiting = trn("{n} new reed waits for its first play.", "{n} new reeds wait for their first play.",
                      now.waiting).format(n=now.waiting)
        self.state.value = render("start", now=now, answer=answer, waiting=waiting)
        held = ", ".join(map(numbers.count, now.held, ("box", "reed", "entry")))
        self.where.value = render("where", held=held if self.book.exists else "", path=self.book.path.resolve(),
                                  others=copies_told(self.book.path))

    def _answer(self, name: str) -> str:
        """Return the sentence of an answer, read once for the logbook as it stands."""
        from ...errands.read_trial import read_trial

        if to_guess(self.book, name) is not None:
            return _GUESS_FIRST
        today = self.book.today()
        key = (name, self.book.path.stat().st_mtime_ns, today)
        if key not in self._answers:
            with self.book.reading() as logbook:
                self._answers = {key: read_trial(logbook, name, today=today, opinions=False).headline}
        return self._answers[key]


def start_of(book: Book) -> Start:
    """Return where the player of a logbook is today."""
    frames, today = book.frames(), book.today()
    stages = [box_stage(frames, box, today) for box in boxes_to_play(frames)]
    return start(frames, book.protocols(), today, first=stages[0].now if stages else (),
                 waiting=sum(len(s.now) + len(s.later) for s in stages))
