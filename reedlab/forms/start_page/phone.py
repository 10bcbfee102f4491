"""The phone's address and code on the computer's own page, and the button that locks out all phones."""

from __future__ import annotations

import os
from html import escape
from pathlib import Path

import ipywidgets as w

from ...phone import PHONE_AT, keys, page_address, qr_svg
from ..shared.fields import folds
from ..shared.form import button, html

__all__ = ["PhonePart"]


class PhonePart:
    """A fold, shown only while phones are answered."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.open = w.ToggleButton(value=False, description="On your phone")
        self.code = html("")
        self.lock = button("Lock out all phones")
        self.fold = w.VBox([self.code, self.lock])
        self.view = w.VBox([self.open, self.fold])
        folds(self.open, self.fold)

    def refresh(self) -> None:
        """Show the address as it now stands."""
        key = keys.read(self.folder) if os.environ.get(PHONE_AT) else None
        self.view.layout.display = "none" if key is None else ""
        self.code.value = "" if key is None else phone_html(page_address(key.host, key.port, key.key), kept=key.kept)

    def lock_out(self) -> str:
        """Make a new key and say what that means."""
        keys.lock_out(self.folder)
        self.refresh()
        return ("All phones are locked out. To let yours in again, scan the new code. What is typed on it and not sent "
                "yet stays there.")


def phone_html(address: str, *, kept: bool) -> str:
    """Return the code, the address and what to know of them."""
    how_long = ("A phone let in once stays let in until you lock it out." if kept else
                "It holds until reedlab is closed. To keep a phone let in, start with <code>--keep-phone</code>.")
    return (f'<p>Point your phone\'s camera at the code, or type the address into its browser.</p>{qr_svg(address)}'
            f'<p style="overflow-wrap: anywhere"><code>{escape(address)}</code></p>'
            f'<p class="reedlab-quiet">{how_long} Whoever has the code can write in your logbook: show it to nobody '
            "else.</p>")
