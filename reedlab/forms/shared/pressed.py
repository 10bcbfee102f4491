"""Buttons that are safe to press twice: shut while they work, and deaf to what was pressed meanwhile."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from typing import Any

import ipywidgets as w

__all__ = ["Pressed", "at_work"]

def _sent_at() -> float | None:
    """Return when the browser sent the message that is at work; None where there is no browser."""
    from IPython import get_ipython

    kernel = getattr(get_ipython(), "kernel", None)  # type: ignore[no-untyped-call]
    sent = None if kernel is None else kernel.get_parent().get("header", {}).get("date")
    return sent.timestamp() if isinstance(sent, datetime) else None


class Pressed(w.Button):
    """A button whose double click is one click: the second half was sent before the work of the first was done."""

    worked_until = 0.0

    def _handle_button_msg(self, _: Any, content: Any, buffers: Any) -> None:
        sent = _sent_at()
        if sent is None or sent > self.worked_until:
            super()._handle_button_msg(_, content, buffers)


@contextmanager
def at_work(*pressed: object) -> Iterator[None]:
    """Shut the button that was pressed, if it was one, until the work is done."""
    button = pressed[0] if pressed and isinstance(pressed[0], w.Button) else None
    if button is None or button.disabled:
        yield
        return
    said, wait = button.description, "Saving…" if button.description.startswith(("Save", "Yes")) else "Working…"
    button.description, button.disabled = wait, True
    try:
        yield
    finally:
        if isinstance(button, Pressed):
            button.worked_until = time.time()
        button.disabled = False
        if button.description == wait:  # else the work gave it another name
            button.description = said
