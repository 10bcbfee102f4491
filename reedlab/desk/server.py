"""A Jupyter server extension for the computer itself: which pages run by themselves, what they may fetch, their look.

It also has kernels kept warm for our pages, and opens the phone's door, if that was asked for.
"""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Final

from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PrefixLoader
from jupyter_server.base.handlers import APIHandler, JupyterHandler
from jupyter_server.serverapp import ServerApp
from jupyter_server.utils import url_path_join
from tornado.web import HTTPError, authenticated

from ..folder.clock import is_invented
from ..folder.resources import find_logbook
from ..look import INVENTED, tokens
from ..phone.door import open_door
from .home import cells_print
from .pages import LINE, PAGES, SAYS, fresh_page
from .warm import PageKernels

__all__ = ["POLICY", "page_prints"]

_CONFIG: Final = Path(__file__).resolve().parents[1] / "labconfig"
#: JupyterLab needs inline script and `eval`; but nothing is fetched from, sent to or framed by anywhere else.
POLICY: Final = "; ".join((
    "default-src 'self'", "script-src 'self' 'unsafe-inline' 'unsafe-eval' blob:", "style-src 'self' 'unsafe-inline'",
    "img-src 'self' data: blob:", "font-src 'self' data:", "worker-src 'self' blob:", "frame-src 'self' data: blob:",
    "connect-src 'self' data: blob: ws://127.0.0.1:* ws://localhost:*", "object-src 'none'", "base-uri 'self'",
    "form-action 'self'", "frame-ancestors 'self'"))


@cache
def page_prints() -> dict[str, str]:
    """Return the fingerprint of the cells of every page as shipped, by file name."""
    return {name: cells_print(fresh_page(name)) for name in PAGES}


class OurPages(APIHandler):
    """Tells the browser which pages are ours. It is asked of the package, where no notebook can write."""

    @authenticated
    def get(self) -> None:
        """Answer with the fingerprints by name, what the line at the top leads to, and whether all is invented."""
        self.finish(json.dumps({"prints": page_prints(), "line": LINE, "says": SAYS,
                                "invented": INVENTED if is_invented(self.settings["server_root_dir"]) else ""}))


class Changed(APIHandler):
    """Tells a page in sight whether anything was written to the logbook, whoever wrote it."""

    @authenticated
    def get(self) -> None:
        """Answer with what differs after each entry; the file is not opened."""
        try:
            stat = find_logbook(self.settings["server_root_dir"]).stat()
            self.finish(json.dumps([str(stat.st_ino), str(stat.st_mtime_ns), stat.st_size]))
        except OSError:
            self.finish("[]")


class Named(JupyterHandler):
    """Leads from a page's name, as it stands in the address bar, to the page."""

    @authenticated
    def get(self, name: str) -> None:
        """Answer with the way to the page; 404 for a name that none of ours has."""
        if f"{name}.ipynb" not in PAGES:
            raise HTTPError(404)
        asked = f"?{self.request.query}" if self.request.query else ""
        self.redirect(url_path_join(self.base_url, "lab/tree", f"{name}.ipynb{asked}"))


class Look(JupyterHandler):
    """The look of the pages around the forms."""

    @authenticated
    def get(self) -> None:
        """Answer with the style sheet."""
        self.set_header("Content-Type", "text/css; charset=UTF-8")
        self.finish(tokens() + (_CONFIG / "pages.css").read_text(encoding="utf-8"))


def wear_our_look(environment: Environment) -> None:
    """Have JupyterLab's page come with our look; where it is made in another way than we know, it stays as it is."""
    before = environment.loader
    if before is None:
        return
    environment.globals["reedlab_pages"] = PAGES
    environment.loader = ChoiceLoader([FileSystemLoader(_CONFIG / "templates"), PrefixLoader({"jupyterlab": before}),
                                       before])
    if "favicon" not in environment.get_template("jupyterlab/index.html").blocks:
        environment.loader = before
    if environment.cache is not None:
        environment.cache.clear()


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "reedlab.desk.server"}]


def _load_jupyter_server_extension(server_app: ServerApp) -> None:
    settings = server_app.web_app.settings
    settings["headers"] = {**settings.get("headers", {}), "Content-Security-Policy": POLICY,
                           "Referrer-Policy": "same-origin"}
    server_app.web_app.add_handlers(".*$", [(url_path_join(settings["base_url"], "/reedlab", path), handler) for
                                            path, handler in (("pages", OurPages), ("changed", Changed),
                                                              ("look.css", Look))]
                                    + [(url_path_join(settings["base_url"], r"/reeds/(\w+)(?:\.ipynb)?"), Named)])


async def _start_jupyter_server_extension(server_app: ServerApp) -> None:
    if isinstance(server_app.kernel_manager, PageKernels):
        server_app.kernel_manager.soon(server_app.kernel_manager.fill())
    if "lab_jinja2_env" in server_app.web_app.settings:
        wear_our_look(server_app.web_app.settings["lab_jinja2_env"])
    open_door(server_app.root_dir, server_app.port, server_app.log.error)
