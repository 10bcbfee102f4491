"""Buttons that are safe to press twice: shut while they work, and deaf to the echo of a press.

Every button of every form is made by `shared.form.button` and does its work through `Form.guarded`. Together they see
to it that one press has one effect and one answer; what the browser adds (a double click is one click, a key held down
is one press, the answer is brought into view and announced) stands in the extension of JupyterLab that shows the pages.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any, Final

import ipywidgets as w

from ...wording import tr

__all__ = ["Pressed", "at_work", "kernel"]

#: A press that the browser sent this soon after the answer was meant for what stood there before.
_ECHO_S: Final = 0.1


def kernel() -> Any:
    """Return the kernel that this process is; None where a form is used by a program."""
    from IPython import get_ipython

    return getattr(get_ipython(), "kernel", None)  # type: ignore[no-untyped-call]


def _sent_at() -> float | None:
    """Return when the browser sent the message that is at work; None where there is no browser."""
    page = kernel()
    sent = None if page is None else page.get_parent().get("header", {}).get("date")
    return sent.timestamp() if isinstance(sent, datetime) else None


class Pressed(w.Button):
    """A button whose second press has no effect if it was sent before the answer to the first could be seen.

    `busy` is what it says while it works; by default "Saving…" for a button that saves, else "Working…".
    """

    worked_until = 0.0

    def __init__(self, *, busy: str = "", **more: Any) -> None:
        super().__init__(**more)
        self._busy = busy

    @property
    def busy(self) -> str:
        """What the button says while it works."""
        return self._busy or (tr("Saving…") if self.description.startswith((tr("Save"), tr("Yes"))) else tr("Working…"))

    def _handle_button_msg(self, _: Any, content: Any, buffers: Any) -> None:
        sent = _sent_at()
        if sent is None or sent > self.worked_until:
            super()._handle_button_msg(_, content, buffers)


@contextmanager
def at_work(*pressed: object) -> Iterator[None]:
    """Shut the button that was pressed, if it was one, until the work is done."""
    button = pressed[0] if pressed and isinstance(pressed[0], Pressed) else None
    if button is None or button.disabled:
        yield
        return
    said, wait = button.description, button.busy
    button.description, button.disabled = wait, True
    try:
        yield
    finally:
        button.worked_until = time.time() + _ECHO_S
        button.disabled = False
        if button.description == wait:  # else the work gave it another name
            button.description = said
