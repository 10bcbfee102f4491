"""The phone's pages: plain pages that the computer serves to the player's own phone on the home network."""

from __future__ import annotations

from .address import PHONE_AT, home_address, page_address, qr_code, qr_svg, told_for_phone

__all__ = ["PHONE_AT", "home_address", "page_address", "qr_code", "qr_svg", "told_for_phone"]
