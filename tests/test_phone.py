"""The phone's address, code and door, without a server."""

from __future__ import annotations

import json
import re
from types import SimpleNamespace
from typing import Any

import pytest

from reedlab import home
from reedlab.errors import InputError
from reedlab.phone import PHONE_AT, address, page_address, qr_code, told_for_phone


def door() -> Any:
    from reedlab.phone import door as module

    return module


def test_phone_is_served_only_when_asked(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(PHONE_AT, "10.0.0.9")
    assert PHONE_AT not in home.lab_environment()
    assert home.lab_environment(phone_at="192.168.1.5")[PHONE_AT] == "192.168.1.5"


@pytest.mark.parametrize("found", ["", "127.0.0.1", "0.0.0.0"])
def test_without_a_network_the_phone_is_refused_in_plain_words(found: str) -> None:
    with pytest.raises(InputError, match="is on no network"):
        address._checked(found)


def test_address_open_to_the_whole_internet_is_refused() -> None:
    with pytest.raises(InputError, match="whole internet"):
        address._checked("8.8.8.8")
    assert address._checked("192.168.1.5") == "192.168.1.5"


def test_player_is_told_the_address_the_code_and_when_it_works() -> None:
    said = told_for_phone(page_address("192.168.1.5", 8888, "secret"))
    assert "http://192.168.1.5:8888/voila/render/today.ipynb?token=secret" in said
    assert "only while this computer is on and both are on the same network" in said
    assert "a late entry costs nothing" in said
    assert "█" in said or "▄" in said


def test_code_fits_a_terminal_of_eighty_columns() -> None:
    token = "x" * 32
    lines = re.sub(r"\x1b\[[0-9;]*m", "", qr_code(page_address("192.168.100.100", 8888, token))).splitlines()
    assert max(map(len, lines)) <= 80


@pytest.mark.parametrize(("path", "is_open"), [
    ("/voila/render/today.ipynb", True), ("/voila/render/case.ipynb", True), ("/login", True),
    ("/api/kernels/1-2-3-4-5/channels", True), ("/voila/static/voila.js", True),
    ("/voila/render/plan.ipynb", False), ("/voila/render/today.ipynb/x", False), ("/lab", False),
    ("/api/contents", False), ("/api/sessions", False), ("/files/reeds.logbook", False), ("/", False),
    ("/voila/files/reeds.logbook", False), ("/terminals/1", False)])
def test_door_opens_for_the_phone_pages_alone(path: str, is_open: bool) -> None:
    assert bool(re.fullmatch(door().OPEN_PATHS, path)) == is_open


def asks(host: str, path: str) -> Any:
    from tornado.httputil import HTTPHeaders, HTTPServerRequest, RequestStartLine

    return HTTPServerRequest(headers=HTTPHeaders({"Host": host}), connection=SimpleNamespace(context=None),
                             start_line=RequestStartLine("GET", path, "HTTP/1.1"))


def test_door_answers_in_its_own_name_only_and_the_server_takes_it_for_its_own() -> None:
    from jupyter_server.base.handlers import JupyterHandler

    way = door().PhonesWay("192.168.1.5")
    request = asks("192.168.1.5:8888", "/voila/render/today.ipynb")
    handler: Any = SimpleNamespace(settings={"local_hostnames": ["localhost"]}, request=request,
                                   log=SimpleNamespace(warning=lambda *_: None))
    assert not JupyterHandler.check_host(handler)  # else this detour would be needless
    assert way.match(request) == {}
    assert JupyterHandler.check_host(handler)
    assert request.headers["Host"] == "192.168.1.5:8888"
    assert way.match(asks("strange.example:8888", "/voila/render/today.ipynb")) is None
    assert way.match(asks("127.0.0.1:8888", "/voila/render/today.ipynb")) is None
    assert way.match(asks("192.168.1.5:8888", "/lab")) is None


@pytest.mark.parametrize(("where", "kind", "passes"), [
    ("192.168.1.7", "comm_msg", True), ("192.168.1.7", "execute_request", False),
    ("127.0.0.1", "execute_request", True), ("192.168.1.7", "complete_request", False)])
def test_code_from_another_computer_does_not_reach_the_kernel(where: str, kind: str, passes: bool,
                                                              monkeypatch: pytest.MonkeyPatch) -> None:
    sent: list[Any] = []
    monkeypatch.setattr(door().ZMQChannelsWebsocketConnection, "handle_incoming_message",
                        lambda self, message: sent.append(message))
    line = door().FormsOnly.__new__(door().FormsOnly)
    stub = SimpleNamespace(request=SimpleNamespace(remote_ip=where))
    monkeypatch.setattr(door().FormsOnly, "websocket_handler", stub)
    monkeypatch.setattr(door().FormsOnly, "subprotocol", None)
    line.handle_incoming_message(json.dumps({"header": {"msg_type": kind}, "channel": "shell"}))
    assert bool(sent) == passes


def test_kind_of_a_message_is_read_in_the_newer_form_too() -> None:
    from jupyter_server.services.kernels.connection.base import serialize_msg_to_ws_v1

    parts = [json.dumps({"msg_type": "execute_request"}).encode(), b"{}", b"{}", b"{}"]
    message = serialize_msg_to_ws_v1(parts, "shell")
    assert door().message_kind(message, "v1.kernel.websocket.jupyter.org") == "execute_request"
    assert door().message_kind(b"junk", "v1.kernel.websocket.jupyter.org") is None
    assert door().message_kind("junk", None) is None
