"""A Jupyter server extension: the phone pages by Voilà, and a second door through which a phone gets no further.

The server itself listens on loopback only. With `PHONE_AT` set it also answers at that address, but there only
for the phone pages and what they are made of; the same token opens both.
"""

from __future__ import annotations

import ipaddress
import json
import os
from typing import Any, Final

from jupyter_server.base.handlers import JupyterHandler
from jupyter_server.serverapp import ServerApp
from jupyter_server.services.kernels.connection.base import (
    deserialize_binary_message,
    deserialize_msg_from_ws_v1,
)
from jupyter_server.services.kernels.connection.channels import ZMQChannelsWebsocketConnection
from jupyter_server.utils import url_path_join
from tornado.httpserver import HTTPServer
from tornado.httputil import HTTPServerRequest
from tornado.routing import PathMatches, Rule, RuleRouter
from tornado.web import HTTPError, authenticated

from .address import PHONE_AT, PHONE_PAGES

__all__ = ["OPEN_PATHS", "FormsOnly", "PhonesWay"]

_ANY_PAGE: Final = "|".join(name.replace(".", r"\.") for name in PHONE_PAGES)
_ID: Final = r"\w+-\w+-\w+-\w+-\w+"
#: What may be asked for at the phone's door; anything else is not there.
OPEN_PATHS: Final = (
    rf"/voila/?|/voila/render/({_ANY_PAGE})"
    r"|/voila/(static|templates|labextensions)/.*|/voila/api/themes/.*|/static/.*"
    rf"|/voila/api/shutdown/{_ID}|/api/kernels/{_ID}(/channels)?|/api/kernels|/login"
)
_MOST_PARTS: Final = 1000  # of a message; more is not one, and would be read without end
#: Messages that forms send; code to run is not among them.
_FORM_MESSAGES: Final = frozenset({"comm_open", "comm_close", "comm_msg", "comm_info_request",
                                   "kernel_info_request", "interrupt_request", "shutdown_request"})


class PhonesWay(PathMatches):
    """Matches a request for the phone pages that names the door's own address, and no other.

    The server answers requests in the name of this computer alone, so that no strange web site can be made to
    look like it. Here the one further name is checked, and the request goes on as one of this computer's own.
    """

    def __init__(self, address: str) -> None:
        super().__init__(OPEN_PATHS)
        self.address = address

    def match(self, request: HTTPServerRequest) -> dict[str, Any] | None:
        """Return what matched, or None."""
        if request.host_name != self.address:
            return None
        found: dict[str, Any] | None = super().match(request)
        if found is not None:
            port = request.host.rpartition(":")[2]
            request.host = f"localhost:{port}" if port.isdigit() else "localhost"
        # The paths are matched again by the server itself: their groups are not its handlers' arguments.
        return None if found is None else {}


class FormsOnly(ZMQChannelsWebsocketConnection):
    """A line to a kernel on which other computers can use the forms but cannot send code."""

    def handle_incoming_message(self, incoming_msg: Any) -> None:
        """Pass a message on, unless it comes from elsewhere and is not one that forms send."""
        here = ipaddress.ip_address(str(self.websocket_handler.request.remote_ip)).is_loopback
        if here or message_kind(incoming_msg, self.subprotocol) in _FORM_MESSAGES:
            super().handle_incoming_message(incoming_msg)


def message_kind(message: Any, subprotocol: str | None) -> str | None:
    """Return the type of a kernel message as it comes over a websocket; None if it cannot be read."""
    try:
        if subprotocol == "v1.kernel.websocket.jupyter.org":
            if int.from_bytes(message[:8], "little") > _MOST_PARTS:
                return None
            header = json.loads(deserialize_msg_from_ws_v1(message)[1][0])
        elif isinstance(message, bytes):
            header = deserialize_binary_message(message)["header"]
        else:
            header = json.loads(message)["header"]
        return str(header["msg_type"])
    except (ValueError, KeyError, TypeError, IndexError):
        return None


class _ToToday(JupyterHandler):
    """Leads to the Today page."""

    @authenticated
    def get(self, *_: str) -> None:
        self.redirect(url_path_join(self.base_url, "voila/render", PHONE_PAGES[0]))


class _NotOnThePhone(JupyterHandler):
    """A page that is used on the computer."""

    @authenticated
    def get(self, *_: str) -> None:
        raise HTTPError(404, "This page is used on the computer, not on the phone.")


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "reedlab.phone.door"}]


def _load_jupyter_server_extension(server_app: ServerApp) -> None:
    """Add the phone pages to the server; whatever else Voilà would show is kept out."""
    from voila.server_extension import _load_jupyter_server_extension as load_voila

    # Voilà would fetch this from outside, and no page of ours needs it.
    server_app.web_app.settings.update(mathjax_url="null", mathjax_config="null")
    base = server_app.web_app.settings["base_url"]
    server_app.web_app.add_handlers(".*$", [
        (url_path_join(base, r"/voila/?"), _ToToday),
        (url_path_join(base, r"/voila/tree.*"), _ToToday),
        (url_path_join(base, rf"/voila/render/(?!(?:{_ANY_PAGE})$).*"), _NotOnThePhone),
        (url_path_join(base, r"/voila/files/.*"), _NotOnThePhone),
        (url_path_join(base, r"/voila/api/contents.*"), _NotOnThePhone),
    ])
    load_voila(server_app)


async def _start_jupyter_server_extension(server_app: ServerApp) -> None:
    """Open the second door, if asked for."""
    host = os.environ.get(PHONE_AT)
    if not host:
        return
    router = RuleRouter([Rule(PhonesWay(host), server_app.web_app)])
    try:
        HTTPServer(router, max_body_size=2_000_000).listen(server_app.port, address=host)
    except OSError as err:
        server_app.log.error("The phone cannot be answered at %s: %s", host, err.strerror)
