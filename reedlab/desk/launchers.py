"""The file in the player's folder that is double-clicked to begin."""

from __future__ import annotations

import re
import shlex
import sys
from pathlib import Path
from typing import Final

from ..folder.filing import write_file
from ..wording import tr

__all__ = ["write_launcher"]

_NAME = "Open my reeds"
_PHONE_NAME = "Open my reeds, phone too"

#: What the window says.
_SAYS: Final = {
    "moved": tr("reedlab is not on this computer, or has moved."),
    "install": tr("Install it, then run once: reedlab open \"this folder\""),
    "starting": tr("reedlab is starting. Leave this window open while you use it; close it when you are done."),
    "close": tr("Press Enter to close."),
}

_WINDOWS = """@echo off
chcp 65001 >nul
title reedlab
cd /d "%~dp0"
if not exist "{python}" (
  echo {moved}
  echo {install}
  pause
  exit /b 1
)
echo {starting}
"{python}" -m reedlab open .{more}
if errorlevel 1 pause
"""

_SHELL = """#!/bin/sh
cd "$(dirname "$0")" || exit 1
if [ ! -x {python} ]; then
  echo {moved}
  echo {install}
  printf '%s ' {close}; read -r _
  exit 1
fi
echo {starting}
{python} -m reedlab open .{more} || {{ printf '%s ' {close}; read -r _; }}
"""

_DESKTOP = """[Desktop Entry]
Type=Application
Version=1.0
Name={name}
Comment={comment}
Exec={python} -m reedlab open {folder}{more}
Terminal=true
Categories=Audio;
"""


def write_launcher(folder: Path, *, system: str = sys.platform, python: str = sys.executable) -> list[Path]:
    """Write the launchers for one kind of computer into `folder` and return the files: without and with the phone.

    Parameters
    ----------
    folder : Path
        The player's folder; it must exist.
    system : str
        As `sys.platform`: "win32", "darwin"; anything else is treated as Linux.
    python : str
        The Python in which reedlab is installed.
    """
    made = []
    in_batch = {key: _in_batch(text) for key, text in _SAYS.items()}
    in_shell = {key: shlex.quote(text) for key, text in _SAYS.items()}
    for name, more in ((_NAME, ""), (_PHONE_NAME, " --phone")):
        if system == "win32":
            text = _WINDOWS.format(python=python.replace("%", "%%"), more=more, **in_batch)
            made.append(_write(folder / f"{name}.bat", text.replace("\n", "\r\n"), run=False))
            continue
        shell = _SHELL.format(python=shlex.quote(python), more=more, **in_shell)
        if system == "darwin":
            made.append(_write(folder / f"{name}.command", shell, run=True))
            continue
        desktop = _DESKTOP.format(python=_desktop_quote(python), folder=_desktop_quote(str(folder.resolve())),
                                  name=name, more=more,
                                  comment=tr("Plan, log and read fair trials of reeds"))
        made += [_write(folder / f"{name}.sh", shell, run=True),
                 _write(folder / f"{name}.desktop", desktop, run=True)]
    return made


def _write(path: Path, text: str, *, run: bool) -> Path:
    data = text.encode("utf-8")
    if not path.exists() or path.read_bytes() != data:
        write_file(path, data, run=run)
    return path


def _in_batch(text: str) -> str:
    """Quote a text for `echo` in a batch file, within brackets too."""
    return re.sub(r"([&|<>^()])", r"^\1", text.replace("%", "%%"))


def _desktop_quote(text: str) -> str:
    """Quote one argument of an Exec line as the Desktop Entry Specification 1.5 asks."""
    for sign in ("\\", '"', "`", "$"):
        text = text.replace(sign, "\\" + sign)
    # The line itself is a string value, in which a backslash is written twice; a bare % starts a code.
    return '"' + text.replace("\\", "\\\\").replace("%", "%%") + '"'
