"""The class's plan and shared trials as files."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from ..classes.class_plan import ClassPlan
from ..classes.hand_in import Shared, read_shared
from ..classes.roster import RosterFile
from ..errors import ExchangeError, LogbookError
from ..folder.filing import write_file
from ..rows.structure import read_json
from ..wording import tr

__all__ = ["ROSTER", "read_content", "read_plan_file", "read_roster_file", "read_share_file", "write_plan_file",
           "write_roster_file", "write_share_file"]

#: The file that a class's folder keeps its roster in.
ROSTER: Final = "roster.json"

_LARGEST: Final = 20_000_000  # bytes; a trial of a year takes a few hundred thousand


def write_plan_file(path: str | Path, plan: ClassPlan) -> None:
    """Write a class's plan; InputError if the file stands already or can't be written."""
    write_file(path, plan.to_json(), new=True)


def read_plan_file(path: str | Path) -> ClassPlan:
    """Read a class's plan; ExchangeError if it is none or was changed."""
    return ClassPlan.from_json(_text(Path(path)), Path(path).name)


def write_share_file(path: str | Path, content: Mapping[str, Any]) -> None:
    """Write one shared trial; InputError if the file stands already or can't be written."""
    write_file(path, json.dumps(content, ensure_ascii=False, allow_nan=False, indent=1) + "\n", new=True)


def read_share_file(path: str | Path) -> Shared:
    """Read one shared trial; ExchangeError, with every fault, if it is none or was changed."""
    name = Path(path).name
    try:
        content = read_json(_text(Path(path)))
    except ValueError as err:
        raise ExchangeError.of(name, tr("no shared trial"), tr("a file made with `reedlab class share`")) from err
    return read_shared(content, name)


def read_roster_file(folder: Path) -> RosterFile:
    """Read the roster of a class's folder, an empty one where there is none yet; ExchangeError if it was spoilt."""
    path = folder / ROSTER
    return RosterFile.from_json(_text(path), ROSTER) if path.is_file() else RosterFile()


def write_roster_file(folder: Path, roster: RosterFile) -> None:
    """Write the roster of a class's folder."""
    write_file(folder / ROSTER, roster.to_json())


def read_content(path: Path) -> bytes:
    """Return what is in a file that a pupil sent; nothing of one that is far too large for any trial."""
    try:
        return path.read_bytes() if path.stat().st_size <= _LARGEST else b""
    except OSError as err:
        raise LogbookError(tr("{path} could not be read: {why}.").format(
            path=path, why=err.strerror or err)) from err


def _text(path: Path) -> str:
    try:
        if path.stat().st_size > _LARGEST:
            raise ExchangeError.of(path.name, tr("a very large file"), tr("a file made by reedlab"))
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as err:
        raise ExchangeError.of(path.name, tr("no text"), tr("a file made by reedlab")) from err
    except OSError as err:
        raise LogbookError(tr("{path} could not be read: {strerror}.").format(
                               path=path, strerror=err.strerror or err)) from err
