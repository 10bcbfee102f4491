"""A Jupyter server extension for the computer itself: which pages may run by themselves, and what a page may fetch.

It also opens the phone's door, if that was asked for.
"""

from __future__ import annotations

import json
from functools import cache
from typing import Final

from jupyter_server.base.handlers import APIHandler
from jupyter_server.serverapp import ServerApp
from jupyter_server.utils import url_path_join
from tornado.web import authenticated

from ..folder.resources import notebooks_dir
from ..phone.door import open_door
from .home import PAGES, cells_print

__all__ = ["POLICY", "page_prints"]

#: JupyterLab needs inline script and `eval`; but nothing is fetched from, sent to or framed by anywhere else.
POLICY: Final = "; ".join((
    "default-src 'self'", "script-src 'self' 'unsafe-inline' 'unsafe-eval' blob:", "style-src 'self' 'unsafe-inline'",
    "img-src 'self' data: blob:", "font-src 'self' data:", "worker-src 'self' blob:", "frame-src 'self' data: blob:",
    "connect-src 'self' data: blob: ws://127.0.0.1:* ws://localhost:*", "object-src 'none'", "base-uri 'self'",
    "form-action 'self'", "frame-ancestors 'self'"))


@cache
def page_prints() -> dict[str, str]:
    """Return the fingerprint of the cells of every page as shipped, by file name."""
    return {name: cells_print((notebooks_dir() / name).read_bytes()) for name in PAGES}


class OurPages(APIHandler):
    """Tells the browser which pages are ours. It is asked of the package, where no notebook can write."""

    @authenticated
    def get(self) -> None:
        """Answer with the fingerprints by name."""
        self.finish(json.dumps(page_prints()))


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "reedlab.desk.server"}]


def _load_jupyter_server_extension(server_app: ServerApp) -> None:
    settings = server_app.web_app.settings
    settings["headers"] = {**settings.get("headers", {}), "Content-Security-Policy": POLICY,
                           "Referrer-Policy": "same-origin"}
    server_app.web_app.add_handlers(".*$", [(url_path_join(settings["base_url"], "/reedlab/pages"), OurPages)])


async def _start_jupyter_server_extension(server_app: ServerApp) -> None:
    open_door(server_app.root_dir, server_app.port, server_app.log.error)
