"""The phone's address and code on the computer's own page, and the button that locks out all phones."""

from __future__ import annotations

import os
from pathlib import Path

from markupsafe import Markup

from ...phone import PHONE_AT, keys, page_address, qr_svg
from ...wording import tr
from ..shared.fields import Fold, show_if
from ..shared.form import button, html
from ..shared.render import render

__all__ = ["PhonePart"]


class PhonePart(Fold):
    """A fold, shown only while phones are answered."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.code = html("")
        self.lock = button(tr("Lock out all phones"))
        super().__init__(tr("On your phone"), self.code, self.lock)

    def refresh(self) -> None:
        """Show the address as it now stands."""
        key = keys.read(self.folder) if os.environ.get(PHONE_AT) else None
        show_if(key, self)
        if key is not None:
            address = page_address(key.host, key.port, key.key)
            self.code.value = render("phone_code", code=Markup(qr_svg(address)), address=address, kept=key.kept)

    def lock_out(self) -> str:
        """Make a new key and say what that means."""
        keys.lock_out(self.folder)
        self.refresh()
        return tr("All phones are locked out. To let yours in again, scan the new code. What is typed on it and not "
                  "sent yet stays there.")
