"""The phone's door: a web application of its own, on the home network, that holds the phone's pages and nothing else.

Jupyter's pages, files and kernels are not in it, so nothing leads to them from here. Each request is held against the
address it names, the page it comes from, the phone's cookie and the form's own token, before anything is read.
"""

from __future__ import annotations

import asyncio
import hashlib
import hmac
import logging
import os
import secrets
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, Final

from tornado.httpserver import HTTPServer
from tornado.web import Application, HTTPError, RequestHandler

from ..errors import ReedlabError
from ..wording import tr
from . import keys
from .address import PHONE_AT
from .pages import day_page, plain_page
from .tries import Tries
from .work import Answer, Work

__all__ = ["COOKIE", "application", "open_door", "serve"]

COOKIE: Final = "reedlab_phone"
_MOST_BYTES: Final = 16_000  # of a form: a remark has room, a file has not
_KEPT_DAYS: Final = 180
_LOG: Final = logging.getLogger("reedlab.phone")
#: Status codes whose page says more than "there is nothing here".
_SAID: Final = {
    400: tr("This form is not whole. Load the page again and type it once more."),
    403: tr("This phone is not let in. On the computer, open the page Start and scan its code with this phone."),
    405: tr("This page cannot do that."),
    413: tr("That is too much for one entry."),
    429: tr("Too many wrong keys came from here. Wait five minutes, then scan the code on the computer again."),
    500: tr("Something went wrong that is not your fault. Nothing already saved is lost. Please try once more."),
}


class _Guarded(RequestHandler):
    """What holds for every page of the phone."""

    SUPPORTED_METHODS = ("GET", "POST")  # type: ignore[assignment]

    def initialize(self, folder: Path, host: str, work: Work, tries: Tries, hands: ThreadPoolExecutor) -> None:
        self.folder, self.host, self.work, self.tries, self.hands = folder, host, work, tries, hands
        self.cookie = f"{COOKIE}_{host.rpartition(':')[2]}"  # a browser gives cookies to all ports of a computer

    def set_default_headers(self) -> None:
        self.nonce = secrets.token_urlsafe(16)
        self.clear_header("Server")
        self.set_header("Content-Security-Policy", "; ".join((
            "default-src 'none'", f"script-src 'nonce-{self.nonce}'", f"style-src 'nonce-{self.nonce}'",
            "img-src data:", "connect-src 'self'", "form-action 'self'", "base-uri 'none'", "frame-ancestors 'none'")))
        for name, value in (("X-Content-Type-Options", "nosniff"), ("X-Frame-Options", "DENY"),
                            ("Referrer-Policy", "same-origin"), ("Cache-Control", "no-store"),
                            ("Cross-Origin-Opener-Policy", "same-origin"),
                            ("Cross-Origin-Resource-Policy", "same-origin")):
            self.set_header(name, value)

    def compute_etag(self) -> str | None:
        return None

    def prepare(self) -> None:
        """Refuse what does not come from our own page at our own address."""
        head, ours = self.request.headers, f"http://{self.host}"
        if self.request.host != self.host or "Upgrade" in head:
            raise HTTPError(403)
        came_from = head.get("Origin")
        if (came_from is None and self.request.method == "POST") or came_from not in (None, ours):
            raise HTTPError(403)
        if self.request.method == "POST" and head.get("Sec-Fetch-Site", "same-origin") != "same-origin":
            raise HTTPError(403)
        self.key = keys.read(self.folder)

    def phone(self) -> str:
        """Return the name of the phone that asks; refuse any that has no cookie of ours."""
        name = None if self.key is None else self.key.phone_of(self.get_cookie(self.cookie))
        if name is None:
            raise HTTPError(403)
        return name

    async def at_work(self, job: Callable[..., Answer], *args: Any) -> Answer:
        """Do this with the logbook, one at a time, while the server goes on answering."""
        return await asyncio.get_running_loop().run_in_executor(self.hands, job, *args)

    def show(self, answer: Answer, phone: str) -> None:
        """Send the day's page."""
        assert self.key is not None
        book = hashlib.sha256(str(self.folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:12]
        self.finish(day_page(answer, nonce=self.nonce, token=self.key.form_token(phone), book=book))

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        err = kwargs.get("exc_info", (None, None, None))[1]
        if isinstance(err, ReedlabError):
            self.set_status(503)
            said = str(err)
        else:
            said = _SAID.get(status_code, tr("There is nothing here."))
        self.finish(plain_page(said, nonce=self.nonce))

    def log_exception(self, typ: Any, value: Any, tb: Any) -> None:
        if not isinstance(value, (HTTPError, ReedlabError)):
            _LOG.error("The phone's page failed", exc_info=(typ, value, tb))


class _Enter(_Guarded):
    """Takes the key out of the address and gives the phone a cookie for it, once."""

    def get(self, given: str) -> None:
        caller, now = str(self.request.remote_ip), time.monotonic()
        if self.tries.must_wait(caller, now):
            raise HTTPError(429)
        if self.key is None or not self.key.opens(given):
            self.tries.wrong(caller, now)
            raise HTTPError(403)
        self.tries.right(caller)
        self.set_cookie(self.cookie, self.key.cookie(), httponly=True, samesite="Strict",
                        expires_days=_KEPT_DAYS if self.key.kept else None)
        self.redirect("/", status=303)


class _Day(_Guarded):
    """The day's page."""

    async def get(self) -> None:
        phone = self.phone()
        self.show(await self.at_work(self.work.show, self.get_query_argument("saved", "")), phone)


class _Changed(_Guarded):
    """Tells a page in sight whether anything was written, wherever it was."""

    def get(self) -> None:
        self.phone()
        self.set_header("Content-Type", "text/plain; charset=UTF-8")
        self.finish(hashlib.sha256(self.work.changed().encode()).hexdigest()[:16])


class _Form(_Guarded):
    """Takes a form in. What was written leads back to the day's page; else it is shown with what to put right."""

    async def post(self, what: str) -> None:
        phone = self.phone()
        if self.request.headers.get("Content-Type", "").partition(";")[0] != "application/x-www-form-urlencoded":
            raise HTTPError(403)
        typed = {name: self.get_body_argument(name) for name in self.request.body_arguments}
        assert self.key is not None
        if not hmac.compare_digest(typed.pop("token", "").encode(), self.key.form_token(phone).encode()):
            raise HTTPError(403)
        answer = await self.at_work(self.work.take, what, typed)
        by_script = self.request.headers.get("X-Reedlab") == "script"
        if answer.state == "written" and not by_script:
            number = answer.entry_id
            self.redirect(f"/?saved={what if number is None else number}", status=303)
            return
        self.set_header("X-Reedlab", answer.state)
        if answer.state == "refused":
            self.set_status(422)
        self.show(answer, phone)


class _Nothing(_Guarded):
    """Whatever else is asked for."""

    def get(self) -> None:
        raise HTTPError(404)

    post = get


def application(folder: Path, host: str) -> Application:
    """Return the phone's pages for a folder, answering to `host` (with its port) and to no other name."""
    work, hands = Work(folder), ThreadPoolExecutor(1, thread_name_prefix="phone")
    hands.submit(work.show)  # so that the first page does not wait for the libraries
    given = {"folder": folder, "host": host, "work": work, "tries": Tries(), "hands": hands}
    return Application([(r"/in/([A-Za-z0-9_-]{1,100})", _Enter, given), (r"/", _Day, given),
                        (r"/(save|back|away)", _Form, given),
                        (r"/changed", _Changed, given)],
                       default_handler_class=_Nothing, default_handler_args=given,
                       log_function=lambda _: None)  # no line on a request: its address may hold the key


def serve(folder: Path, host: str, port: int) -> HTTPServer:
    """Answer phones at `host`, inside the running loop."""
    server = HTTPServer(application(folder, f"{host}:{port}"), max_body_size=_MOST_BYTES, max_header_size=8_192,
                        idle_connection_timeout=60, body_timeout=20)
    server.listen(port, address=host)
    return server


def open_door(folder: str | Path, port: int, complain: Callable[..., None]) -> None:
    """Open the phone's door at the address that `reedlab open --phone` named, and no door otherwise."""
    host, place = os.environ.get(PHONE_AT), Path(folder)
    if not host:
        return
    key = keys.read(place)
    try:
        if key is None or (key.host, key.port) != (host, port):
            keys.begin(place, host=host, port=port, keep=key is not None and key.kept)
        serve(place, host, port)
    except (OSError, ReedlabError) as err:
        complain("The phone cannot be answered at %s: %s", host, err)

