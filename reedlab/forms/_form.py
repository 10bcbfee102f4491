"""What every form shares: a place for messages, and callbacks whose faults never vanish."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable, Sequence
from html import escape
from typing import Any, Final

import ipywidgets as w

from ..errors import ReedlabError
from ._style import STYLE

__all__ = ["NO_REEDS", "Form", "button", "html", "rows_table"]

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
        self.message = w.HTML()
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
        self.children = (sheet, *children, self.message, self._confirm)

    def guarded(self, action: Callable[[], None]) -> Callable[..., None]:
        """Return a callback for a widget: whatever `action` raises is shown on the form."""

        def run(*_: object) -> None:
            try:
                action()
            except ReedlabError as err:
                self.problem(str(err).splitlines())
            except Exception as err:
                self.accident(err)

        return run

    def quiet(self) -> None:
        """Take the last message away."""
        self._then = None
        self.message.value = ""
        self._confirm.layout.display = "none"

    def problem(self, lines: Iterable[str], head: str = "Not saved yet. Please put this right:") -> None:
        """Say what has to be put right."""
        self.quiet()
        items = "".join(f"<li>{escape(line.strip())}</li>" for line in lines if line.strip())
        self.message.value = f'<div class="reedlab-bad" role="alert"><b>✗ {escape(head)}</b><ul>{items}</ul></div>'

    def accident(self, err: Exception) -> None:
        """Say that something broke which is not the player's fault."""
        self.quiet()
        details = escape("".join(traceback.format_exception(err)))
        self.message.value = (
            '<div class="reedlab-bad" role="alert"><b>✗ Something went wrong that is not your fault.</b> '
            "What you typed is still here, and nothing already saved is lost. Please try once more."
            f"<details><summary>For someone who can help</summary><pre>{details}</pre></details></div>")

    def done(self, text: str, table: str = "") -> None:
        """Say what was saved; `table` is ready HTML of the row as read back."""
        self.quiet()
        self.message.value = f'<div class="reedlab-good" role="status"><b>✓ {escape(text)}</b>{table}</div>'

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
