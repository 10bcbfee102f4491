"""The phone page: the Today page and the reed case, served to the player's own phone by the laptop."""

from __future__ import annotations

from .address import PHONE_AT, PHONE_PAGES, home_address, page_address, qr_code, told_for_phone

__all__ = ["PHONE_AT", "PHONE_PAGES", "home_address", "page_address", "qr_code", "told_for_phone"]
