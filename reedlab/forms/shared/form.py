"""What every form shares: a place for messages, and callbacks whose faults never vanish."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable, Sequence
from html import escape
from typing import Any, Final

import ipywidgets as w

from ...errands.book import Book
from ...errors import ReedlabError
from .style import STYLE

__all__ = ["NO_REEDS", "Form", "button", "html", "rows_table"]

_NOT_SAVED = "Not saved yet. Please put this right:"
_NOT_SHOWN = "This page can't show the logbook just now:"
_SAVED_ALL_THE_SAME = "Saved: it stands in your logbook; don't type it in again. The page can't show it just now:"
_SAVED_IN_PART = "The first part is saved and stands in your logbook. The rest is not yet. Please put this right:"

NO_REEDS: Final = '<p>There are no reeds in your logbook yet. Begin with <a href="plan.ipynb">new reeds</a>.</p>'


def html(text: str) -> w.HTML:
    """Return a piece of text; the caller has escaped whatever a player typed."""
    return w.HTML(text)


def button(text: str, *, main: bool = False, tip: str = "") -> w.Button:
    """Return a button; `main` marks the one that saves."""
    return w.Button(description=text, tooltip=tip or text, button_style="primary" if main else "")


def rows_table(head: Sequence[str], rows: Iterable[Sequence[Any]], caption: str = "", *,
               cards: bool = False) -> str:
    """Return an HTML table of plain values, escaped; with `cards` a narrow page shows each row as a card."""
    top = f"<caption>{escape(caption)}</caption>" if caption else ""
    cells = "".join(f'<th scope="col">{escape(h)}</th>' for h in head)
    body = "".join("<tr>" + "".join(f'<td data-label="{escape(h)}">{escape(str(v))}</td>'
                                    for h, v in zip(head, row, strict=True)) + "</tr>" for row in rows)
    kind = "reedlab-table reedlab-cards" if cards else "reedlab-table"
    return f'<table class="{kind}">{top}<thead><tr>{cells}</tr></thead><tbody>{body}</tbody></table>'


class Form(w.VBox):
    """A form that says what went wrong, in place, and loses nothing that was typed.

    Subclasses put their controls into `children` with `show(...)`; the message area stays last.
    """

    def __init__(self) -> None:
        self.message, self.notice = w.HTML(), w.HTML()
        self._yes = button("Yes, keep it", main=True)
        self._no = button("No, let me change it")
        self._confirm = w.HBox([self._yes, self._no])
        self._confirm.layout.display = "none"
        self._then: Callable[[], None] | None = None
        super().__init__([])
        self.add_class("reedlab")
        self._yes.on_click(self.guarded(self._confirmed))
        self._no.on_click(self.guarded(self.quiet))

    def show(self, *children: w.Widget) -> None:
        """Put these controls on the form, in this order."""
        sheet = html(STYLE)
        sheet.layout.display = "none"
        self.children = (w.VBox([sheet, self.notice]), *children, self.message, self._confirm)

    def guarded(self, action: Callable[[], None], head: str = _NOT_SAVED) -> Callable[..., None]:
        """Return a callback for a widget: whatever `action` raises is shown on the form.

        What was saved before the fault is never called unsaved: then the form says that it is safe.
        """

        def run(*_: object) -> None:
            book = getattr(self, "book", None)
            tried = len(book.saves) if isinstance(book, Book) else 0
            try:
                action()
            except Exception as err:
                saves = book.saves[tried:] if isinstance(book, Book) else []
                said = head if not any(saves) else _SAVED_ALL_THE_SAME if saves[-1] else _SAVED_IN_PART
                if isinstance(err, ReedlabError):
                    self.problem(str(err).replace(" Nothing was saved.", "").splitlines() if any(saves) else
                                 str(err).splitlines(), said)
                else:
                    self.accident(err, said if any(saves) else "")
            self.tell_of_damage()

        return run

    def follow(self, book: Book, reread: Callable[[], None]) -> Callable[[], None]:
        """Have `reread` called after each Save on the page, and return it guarded: a fault leaves what was typed."""
        run = self.guarded(reread, _NOT_SHOWN)

        def once_more() -> None:
            if escape(_NOT_SHOWN) in self.message.value:
                self.quiet()
            run()

        book.on_change(once_more)
        return once_more

    def tell_of_damage(self) -> None:
        """Say at the top of the form what of the logbook is lost, if anything is."""
        book = getattr(self, "book", None)
        lost = book.lost if isinstance(book, Book) else []
        self.notice.value = "".join(
            f'<div class="reedlab-bad" role="alert">{escape(said).replace(chr(10), "<br>")}</div>' for said in lost)

    def quiet(self) -> None:
        """Take the last message away."""
        self._then = None
        self.message.value = ""
        self._confirm.layout.display = "none"

    def problem(self, lines: Iterable[str], head: str = _NOT_SAVED) -> None:
        """Say what has to be put right."""
        self.quiet()
        items = "".join(f"<li>{escape(line.strip())}</li>" for line in lines if line.strip())
        self.message.value = f'<div class="reedlab-bad" role="alert"><b>✗ {escape(head)}</b><ul>{items}</ul></div>'

    def accident(self, err: Exception, saved: str = "") -> None:
        """Say that something broke which is not the player's fault; `saved` where it was after a Save."""
        self.quiet()
        comfort = saved or "What you typed is still here, and nothing already saved is lost. Please try once more."
        details = escape("".join(traceback.format_exception(err)))
        self.message.value = (
            '<div class="reedlab-bad" role="alert"><b>✗ Something went wrong that is not your fault.</b> '
            f"{escape(comfort)}<details><summary>For someone who can help</summary><pre>{details}</pre></details>"
            "</div>")

    def done(self, text: str, table: str = "") -> None:
        """Say what was saved; `table` is ready HTML of the row as read back."""
        self.quiet()
        book = getattr(self, "book", None)
        more = "".join(f"<p>{escape(said)}</p>" for said in (book.warned if isinstance(book, Book) else ()))
        self.message.value = f'<div class="reedlab-good" role="status"><b>✓ {escape(text)}</b>{table}{more}</div>'

    def ask(self, lines: Iterable[str], then: Callable[[], None], *, yes: str = "Yes, keep it") -> None:
        """Say what looks odd and do `then` only if the player confirms."""
        self.quiet()
        items = "".join(f"<li>{escape(line)}</li>" for line in lines)
        self.message.value = f'<div class="reedlab-ask" role="alert"><b>? Is this right?</b><ul>{items}</ul></div>'
        self._yes.description = yes
        self._then = then
        self._confirm.layout.display = ""

    def _confirmed(self) -> None:
        then = self._then
        self.quiet()
        if then is not None:
            then()
