"""The start page's word on the logbook: what it holds and where it is; and the phone's code."""

from __future__ import annotations

from html import escape

from ...errands.book import Book
from ...logbook.beside import copies_told
from ...screens.due import due_now, running
from ...screens.words import spoken_date
from ...summary import numbers
from ..plan_page.boxes import waiting_for_first_play
from ..shared.form import Form, html
from ..shared.restore_form import RestoreForm
from .phone import PhonePart

__all__ = ["StartForm"]


class StartForm(Form):
    """Shows where things stand, lets phones in and locks them out, and the way back to an earlier copy."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.state = html("")
        self.phone, self.restore = PhonePart(book.path.resolve().parent), RestoreForm(book)
        self.show(self.state, self.phone.view, self.restore)
        self.phone.lock.on_click(self.guarded(lambda: self.done(self.phone.lock_out())))
        self.follow(book, self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again."""
        self.phone.refresh()
        self.state.value = state_html(self.book)


def state_html(book: Book) -> str:
    """Return in a few sentences what the logbook holds and what is due today."""
    path = escape(str(book.path.resolve()))
    others = "".join(f'<div class="reedlab-tell">{escape(said)}</div>' for said in copies_told(book.path))
    if not book.exists:
        return ('<div class="reedlab-tell"><b>Your logbook is still empty.</b> Begin with '
                '<a href="plan.ipynb">new reeds</a>. '
                f"The first Save makes the file <code>{path}</code>.</div>{others}")
    frames, today = book.frames(), book.today()
    days = running(book.protocols(), frames, today)
    said = [f"{spoken_date(today)}."]
    for day in days:
        where = {"waiting": f"begins on {spoken_date(day.first)}", "paused": "is paused"}.get(
            day.state, f"is on day {day.day} of {day.protocol.days}")
        said.append(f"Your trial \"{day.protocol.trial}\" {where}.")
    if not days:
        said.append("No trial is running.")
    due = [d.reed for d in due_now(days) if not d.done]
    if due:
        said.append(f"To play today: {', '.join(due)}.")
    new = sum(len(reeds) for reeds in waiting_for_first_play(frames, today).values())
    if new:
        said.append(f"{new} new reed{'s wait for their' if new > 1 else ' waits for its'} first play.")
    counts = ", ".join((numbers.count(len(frames.boxes), "box", "boxes"), numbers.count(len(frames.reeds), "reed"),
                        numbers.count(len(frames.sittings), "entry", "entries")))
    return (f'<div class="reedlab-tell"><b>{escape(" ".join(said))}</b><br>Your logbook holds {counts}. '
            f"It is the file <code>{path}</code>.</div>{others}")
