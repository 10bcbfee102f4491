"""The player's folder: the pages, the logbook, the launcher; and JupyterLab opened on it."""

from __future__ import annotations

import hashlib
import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
from collections.abc import Callable, Mapping
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

from ..errors import InputError
from ..folder.filing import write_file
from ..phone import PHONE_AT, home_address, keys, page_address, told_for_phone
from ..threads import one_thread
from ..wording import tr
from .launchers import write_launcher
from .pages import PAGES, fresh_page

__all__ = ["Prepared", "cells_print", "lab_command", "lab_environment",
           "open_folder", "prepare_folder"]

_RECORD = ".reedlab-pages.json"
_IDLE_S = 1800  # a page that was closed, or a phone that fell asleep, keeps nothing running
_CONFIG = Path(__file__).resolve().parents[1] / "labconfig"


class Prepared(NamedTuple):
    """A folder that was prepared, and the copies that were kept of edited pages."""

    folder: Path
    kept: tuple[Path, ...]


def prepare_folder(folder: Path | str) -> Prepared:
    """Make a folder the player's: create it if new, put the newest pages in, and the launcher.

    The logbook and every other file of the player is left alone. A page whose cells the player has
    edited is kept under a new name before it is renewed. Raises InputError if the folder is a file or
    cannot be written.
    """
    folder = Path(folder).expanduser()
    if folder.exists() and not folder.is_dir():
        raise InputError(tr("{folder} is a file, not a folder. Give the name of a folder, new or old.").format(
                             folder=folder))
    try:
        folder.mkdir(parents=True, exist_ok=True)
        return _fill(folder.resolve())
    except OSError as err:
        raise InputError(tr("The folder {folder} cannot be written ({strerror}). Choose another folder, or free some "
                            "space.").format(folder=folder, strerror=err.strerror or err)) from err


def _fill(folder: Path) -> Prepared:
    record_path = folder / _RECORD
    record = _read_record(record_path)
    kept: list[Path] = []
    prints: dict[str, str] = {}
    for name in PAGES:
        fresh = fresh_page(name)
        prints[name] = cells_print(fresh)
        page = folder / name
        before = page.read_bytes() if page.exists() else None
        if before is not None and before != fresh and cells_print(before) not in (prints[name], record.get(name)):
            kept.append(_keep(page))
        if before != fresh:
            write_file(page, fresh)
    write_file(record_path, json.dumps(prints, indent=1) + "\n")
    write_launcher(folder)
    return Prepared(folder, tuple(kept))


def _read_record(path: Path) -> dict[str, Any]:
    try:
        record = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    return record if isinstance(record, dict) else {}


def cells_print(notebook: bytes) -> str:
    """Return a fingerprint of what the cells say, whatever their outputs."""
    try:
        cells = json.loads(notebook)["cells"]
        said = ["".join(c.get("source", "")) for c in cells]
    except (ValueError, KeyError, TypeError, AttributeError):
        return hashlib.sha256(notebook).hexdigest()
    return hashlib.sha256("\0".join(said).encode("utf-8")).hexdigest()


def _keep(page: Path) -> Path:
    names = (page.with_name(f"{page.stem} (my copy {n}).ipynb") for n in count(1))
    copy = next(name for name in names if not name.exists())
    write_file(copy, page.read_bytes(), new=True)
    return copy


def lab_environment(environ: Mapping[str, str] | None = None, *, token: str | None = None,
                    phone_at: str | None = None) -> dict[str, str]:
    """Return the environment for JupyterLab: its settings apart from any others on this computer.

    `token` opens JupyterLab; here, unlike in the command, no other user of the computer can read it. `phone_at` is
    a further address at which the server answers the phone, and only with the phone's pages.
    """
    from jupyter_core.paths import jupyter_data_dir

    own = Path(jupyter_data_dir()) / "reedlab"
    env = dict(os.environ if environ is None else environ)
    env["JUPYTER_CONFIG_DIR"] = str(own / "config")
    env["JUPYTERLAB_SETTINGS_DIR"] = str(own / "settings")
    env["JUPYTERLAB_WORKSPACES_DIR"] = str(own / "workspaces")
    env["JUPYTER_PREFER_ENV_PATH"] = "1"
    env["PYDEVD_DISABLE_FILE_VALIDATION"] = "1"  # the debugger, which pages do without, warns of nothing else
    one_thread(env)
    # The kernel must find reedlab even when it is run from a source folder.
    package_home = str(_CONFIG.parent.parent)
    env["PYTHONPATH"] = os.pathsep.join(p for p in (package_home, env.get("PYTHONPATH", "")) if p)
    for name, value in (("JUPYTER_TOKEN", token), (PHONE_AT, phone_at)):
        env.pop(name, None)
        if value is not None:
            env[name] = value
    return env


def lab_command(folder: Path, *, port: int, browser: bool = True) -> list[str]:
    """Return the command that starts JupyterLab on `folder`: loopback only, start page first; no secret is in it."""
    command = [
        sys.executable, "-m", "jupyterlab",
        f"--ServerApp.root_dir={folder}",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port}",
        "--ServerApp.port_retries=20",
        "--LabApp.default_url=/reeds/start",
        "--ServerApp.jpserver_extensions=reedlab.desk.server=True",
        "--ServerApp.kernel_manager_class=reedlab.desk.warm.PageKernels",
        "--ServerApp.session_manager_class=reedlab.desk.warm.PageSessions",
        "--ServerApp.terminals_enabled=False",
        f"--MappingKernelManager.cull_idle_timeout={_IDLE_S}",
        "--MappingKernelManager.cull_interval=120",
        "--KernelRestarter.time_to_dead=1",  # seconds from one look at a kernel to the next
        f"--LabApp.app_settings_dir={_CONFIG / 'settings'}",
        f"--LabApp.extra_labextensions_path={_CONFIG / 'labextensions'}",
        "--LabApp.news_url=None",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--Application.log_level=ERROR",  # the window shows what we say, and faults
    ]
    if not browser:
        command.append("--no-browser")
    if hasattr(os, "geteuid") and os.geteuid() == 0:  # as in a container: still loopback and a token only
        command.append("--allow-root")
    return command


def _running(folder: Path) -> Mapping[str, Any] | None:
    from jupyter_server.serverapp import list_running_servers

    for server in list_running_servers():
        same = Path(server.get("root_dir", "")).resolve() == folder.resolve()
        if same and _answers(int(server["port"])):
            found: Mapping[str, Any] = server
            return found
    return None


def _answers(port: int, host: str = "127.0.0.1") -> bool:
    try:
        with socket.create_connection((host, port), timeout=1):
            return True
    except OSError:
        return False


def _show_again(server: Mapping[str, Any], address: str) -> None:
    """Open the browser by the server's own private file, so that no key stands in the browser's arguments."""
    import webbrowser

    from jupyter_core.paths import jupyter_runtime_dir

    page = Path(jupyter_runtime_dir()) / f"jpserver-{server['pid']}-open.html"
    webbrowser.open(page.as_uri() if page.is_file() else address.partition("?")[0])


def _free_port(first: int = 8888) -> int:
    for port in range(first, first + 100):
        if not _answers(port):
            return port
    return first


def open_folder(
    folder: Path | str,
    *,
    browser: bool = True,
    phone: bool = False,
    keep_phone: bool = False,
    say: Callable[[str], None] = print,
    wait: bool = True,
) -> subprocess.Popen[bytes] | None:
    """Prepare the player's folder and open JupyterLab on its start page.

    Parameters
    ----------
    folder : path
        The player's folder, made if new.
    browser : bool
        Open the browser too.
    phone : bool
        Also serve the phone page on the home network, and say its address.
    keep_phone : bool
        The same, and phones that were let in stay let in at the next start with `keep_phone`.
    say : callable
        Told each line meant for the player.
    wait : bool
        Stay until JupyterLab ends (Ctrl-C ends it); otherwise return its process at once.

    Returns
    -------
    subprocess.Popen or None
        The process, when `wait` is False and none ran on this folder yet.

    Raises
    ------
    InputError
        If the folder cannot be used, or `phone` is wanted and this computer is on no home network.
    """
    phone_at = home_address() if phone or keep_phone else None
    prepared = prepare_folder(folder)
    for copy in prepared.kept:
        say(tr("Your own version of a page was kept as {name}.").format(name=copy.name))
    server = _running(prepared.folder)
    if server is not None:
        address = f"{server['url']}reeds/start?token={server['token']}"
        say(tr("Your reeds are already open: {address}").format(address=address))
        key = keys.read(prepared.folder)
        if phone_at is not None and (key is None or not _answers(int(server["port"]), phone_at)):
            raise InputError(tr("They were opened without the phone page. Close them first (the window in which "
                                "reedlab runs), then open them again with --phone."))
        if phone_at is not None and key is not None:
            say(told_for_phone(page_address(phone_at, int(server["port"]), key.key)))
        if browser:
            _show_again(server, address)
        return None
    # Begin on the start page alone, whatever was open last time.
    shutil.rmtree(lab_environment()["JUPYTERLAB_WORKSPACES_DIR"], ignore_errors=True)
    port, token = _free_port(), secrets.token_urlsafe(24)
    say(tr("Your folder: {folder}").format(folder=prepared.folder))
    say(tr("If no browser opens, go to http://127.0.0.1:{port}/reeds/start?token={token}").format(
            port=port, token=token))
    if phone_at is not None:
        key = keys.begin(prepared.folder, host=phone_at, port=port, keep=keep_phone)
        say(told_for_phone(page_address(phone_at, port, key.key)))
    else:
        keys.forget(prepared.folder)
    say(tr("To stop: close this window, or press Ctrl-C twice."))
    process = subprocess.Popen(lab_command(prepared.folder, port=port, browser=browser), cwd=prepared.folder,
                               env=lab_environment(token=token, phone_at=phone_at))
    if not wait:
        return process
    try:
        process.wait()
    except KeyboardInterrupt:
        process.terminate()
        process.wait()
    return None
