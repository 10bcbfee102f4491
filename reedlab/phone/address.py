"""Where the phone page is found, and its address as a QR code: for a terminal and for a page."""

from __future__ import annotations

import io
import ipaddress
import socket
from typing import Final

from ..errors import InputError
from ..wording import tr

__all__ = ["PHONE_AT", "home_address", "page_address", "qr_code", "qr_svg", "told_for_phone"]

#: Environment variable that tells the server at which further address to answer the phone.
PHONE_AT: Final = "REEDLAB_PHONE_AT"
#: An address of the documentation range (RFC 5737): choosing a way there sends nothing.
_ELSEWHERE: Final = ("192.0.2.1", 9)


def home_address() -> str:
    """Return this computer's address on the home network.

    Raises
    ------
    InputError
        If it is on no network, or its address is open to the whole internet.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(_ELSEWHERE)
            found = str(probe.getsockname()[0])
        except OSError:
            found = ""
    return _checked(found)


def _checked(found: str) -> str:
    if not found or ipaddress.ip_address(found).is_loopback or ipaddress.ip_address(found).is_unspecified:
        raise InputError(tr("This computer is on no network, so a phone cannot reach it. Join your home network and "
                            "try again, or leave out --phone."))
    if not ipaddress.ip_address(found).is_private:
        raise InputError(tr("This computer's address {found} can be reached from the whole internet. The phone page is "
                            "for a home network only. Leave out --phone here.").format(found=found))
    return found


def page_address(host: str, port: int, key: str) -> str:
    """Return the address that opens the phone page, with the key; the page itself then has a shorter one."""
    return f"http://{host}:{port}/in/{key}"


def qr_code(address: str) -> str:
    """Return an address as a QR code made of text, for a dark or light terminal."""
    import segno

    out = io.StringIO()
    segno.make(address, error="l", micro=False).terminal(out, border=2, compact=True)
    return out.getvalue()


def qr_svg(address: str) -> str:
    """Return an address as a QR code for a page: SVG, dark on white with its margin, whatever the page's colours."""
    import segno

    return str(segno.make(address, error="l", micro=False).svg_inline(scale=5, border=4, dark="#000", light="#fff"))


def told_for_phone(address: str) -> str:
    """Return what the player is told: the code, the address, and when it works."""
    return "\n".join([
        qr_code(address).rstrip("\n"),
        tr("For your phone: point its camera at the code, or type this address into its browser:"),
        f"    {address}",
        tr("It works only while this computer is on and both are on the same network. If it does not open, write it "
           "down and enter it later: a late entry costs nothing."),
        tr("Whoever has this address can write in your logbook. Use it at home, not in a café or a school.")])
