"""The phone's door on a loopback address, with a trial on its first day behind it."""

from __future__ import annotations

import asyncio
import http.client
import re
import threading
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from tornado.httpserver import HTTPServer
from tornado.testing import bind_unused_port

from reedlab.folder.clock import TODAY_FILE
from reedlab.logbook import Logbook
from reedlab.phone import keys
from reedlab.phone.door import application
from reedlab.rows.records import Box, Reed, Sitting
from reedlab.trial.protocol import Habit, Protocol, Slot, Unit

START = date(2026, 3, 2)
PLAN = Protocol(
    trial="Wetting &lt b", question="wetting", ask="?", instrument="clarinet",
    habits=(Habit("mouth", "wetting in the mouth", "Two minutes."),
            Habit("water", "wetting in <b>water", "One minute.")),
    design="day_by_day", outcome="day_rating", matters=1.0, start=START, days=2,
    units=(Unit("s1-a", "s1", ("1-01", "1-02"), (("1-01", 1), ("1-02", 2))),
           Unit("s1-b", "s1", ("1-01", "1-02"), (("1-02", 1), ("1-01", 2)))),
    dealt=("mouth", "water"), slots=(Slot(1, 2, "1-01"), Slot(1, 1, "1-02"), Slot(2, 1, "1-01"), Slot(2, 2, "1-02")))


@dataclass
class Reply:
    """What came back."""

    status: int
    headers: Mapping[str, str]
    text: str


@dataclass
class Phone:
    """A phone on the network: what it knows, and what it is told."""

    folder: Path
    port: int
    cookie: str = ""

    @property
    def host(self) -> str:
        return f"127.0.0.1:{self.port}"

    def ask(self, method: str, path: str, body: str | None = None, **headers: str | None) -> Reply:
        """Send a request; a header given as None is left out."""
        sent = {"Host": self.host, "Cookie": self.cookie or None, **headers}
        if body is not None:
            sent = {"Content-Type": "application/x-www-form-urlencoded", "Origin": f"http://{self.host}", **sent}
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
        for name, value in sent.items():
            if value is not None:
                line.putheader(name.replace("_", "-"), value)
        if body is not None:
            line.putheader("Content-Length", str(len(body)))
        line.endheaders(None if body is None else body.encode())
        got = line.getresponse()
        reply = Reply(got.status, dict(got.getheaders()), got.read().decode())
        line.close()
        return reply

    def enter(self) -> Reply:
        """Scan the code."""
        key = keys.read(self.folder)
        assert key is not None
        reply = self.ask("GET", f"/in/{key.key}", Cookie=None)
        self.cookie = reply.headers["Set-Cookie"].partition(";")[0]
        return reply

    def form(self, name: str) -> dict[str, str]:
        """Return the hidden and filled fields of one form of the day's page."""
        page = self.ask("GET", "/").text
        found = next(f for f in re.findall(r"<form.*?</form>", page, re.S) if f'name="form" value="{name}"' in f)
        fields = {}
        for tag in re.findall(r"<input[^>]*>", found):
            kind, said = re.search(r'type="(\w+)"', tag), re.search(r'value="([^"]*)"', tag)
            if kind is None or kind[1] == "hidden" or " checked" in tag:
                fields[re.search(r'name="(\w+)"', tag)[1]] = said[1] if said else ""  # type: ignore[index]
        return fields

    def send(self, path: str, fields: Mapping[str, str], **headers: str | None) -> Reply:
        """Send a form."""
        return self.ask("POST", path, urlencode(fields), **headers)

    def rows(self) -> Any:
        with Logbook.open(self.folder / "reeds.logbook", read_only=True) as logbook:
            return logbook.frame("sittings")


@dataclass
class Desk:
    """A running loop on a thread of its own, for doors."""

    loop: asyncio.AbstractEventLoop

    def serve(self, folder: Path, port: int | None = None) -> tuple[HTTPServer, int]:
        async def start() -> tuple[HTTPServer, int]:
            socket, free = bind_unused_port()
            server = HTTPServer(application(folder, f"127.0.0.1:{port or free}"), max_body_size=16_000)
            if port is None:
                server.add_socket(socket)
            else:
                socket.close()
                server.listen(port, address="127.0.0.1")
            return server, port or free

        return asyncio.run_coroutine_threadsafe(start(), self.loop).result(30)

    def close(self, server: HTTPServer) -> None:
        async def stop() -> None:
            server.stop()
            await server.close_all_connections()

        asyncio.run_coroutine_threadsafe(stop(), self.loop).result(30)


@pytest.fixture(scope="session")
def desk() -> Iterator[Desk]:
    loop = asyncio.new_event_loop()
    thread = threading.Thread(target=loop.run_forever, daemon=True)
    thread.start()
    yield Desk(loop)
    loop.call_soon_threadsafe(loop.stop)
    thread.join(10)
    loop.close()


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / TODAY_FILE).write_text(START.isoformat(), encoding="utf8")
    with Logbook.create(tmp_path / "reeds.logbook") as logbook:
        logbook.add(Box(box="1", instrument="clarinet"))
        logbook.add_many(Reed(reed=f"1-0{n}", box="1", first_play=6, first_played=START - timedelta(days=9))
                         for n in (1, 2, 3))
        logbook.add(Sitting(date=START - timedelta(days=2), reed="1-01", play_min=17, overall=3.5))
        logbook.start_trial(PLAN)
    return tmp_path


@pytest.fixture
def phone(desk: Desk, folder: Path) -> Iterator[Phone]:
    """A phone that was not let in yet."""
    server, port = desk.serve(folder)
    keys.begin(folder, host="127.0.0.1", port=port)
    yield Phone(folder, port)
    desk.close(server)
