"""A whole trial in one file (plan, entries, answer, versions), from which the same answer can be read elsewhere."""

from __future__ import annotations

import dataclasses
import hashlib
import json
import platform
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import pandas as pd

from ..analysis.verdicts.repeats import earlier_names
from ..errors import InputError
from ..folder.filing import write_file
from ..rows.tables import TABLES, Frames
from ..trial.boxes import as_opened
from ..trial.protocol import Protocol
from .read_trial import pick_trial, read_trial

if TYPE_CHECKING:
    from ..logbook import Logbook

__all__ = ["Handed", "opened_trial", "read_copy", "write_copy"]

_FORM: Final = 1
_MOST: Final = 64 * 2**20  # bytes: ten years of entries take less
_MADE_WITH: Final = ("reedlab", "numpy", "scipy", "pandas", "statsmodels")


@dataclass(frozen=True)
class Handed:
    """What `read_trial` asks of a logbook, from the file that `write_copy` wrote."""

    name: str
    read_on: date | None
    player: str
    invented: bool
    tables: dict[str, Frames]

    def trial_names(self) -> list[str]:
        """Return the one trial of the file."""
        return [self.name]

    def protocol(self, trial: str) -> Protocol:
        """Return the plan of the trial, or of an earlier one of its question."""
        rows = self.frames().trials
        row = rows[rows["trial"] == trial].iloc[0]
        plan = Protocol.from_json(row["protocol"])
        if plan.sha256 != row["protocol_sha256"]:
            raise InputError(f"The plan of {trial!r} in this file no longer matches its fingerprint.")
        return as_opened(plan, self.frames_of(trial))

    def frames_of(self, trial: str) -> Frames:
        """Return the rows that the answer of a trial rests on."""
        return self.tables[trial]

    def frames(self) -> Frames:
        """Return the rows of the trial itself."""
        return self.tables[self.name]

    def record_look(self, trial: str, day: date, why: str) -> int:
        """Raise InputError: an early look is written down where the trial is."""
        raise InputError("A copy of a trial can't be opened early; open it in the logbook that it came from.")


def write_copy(logbook: Logbook | Handed, trial: str | None, path: Path, *, today: date, player: str = "") -> Path:
    """Write one trial with all its answer rests on as a JSON file, and return the path.

    Parameters
    ----------
    logbook : Logbook
    trial : str or None
        Its name; by default the trial started last.
    path : Path
        Written over if it is there.
    today : date
        The day it is read on; the copy is read as of that day, too.
    player : str
        The player's code.
    """
    name = pick_trial(logbook, trial)
    said = read_trial(logbook, name, today=today, player=player)
    plan = said.result.protocol
    names = [name, *earlier_names(plan, logbook.frames_of(name))]
    held = {
        "reedlab_trial": _FORM,
        "trial": name,
        "read_on": today.isoformat(),
        "player": player,
        "invented": said.about.invented,
        "made_with": {"python": platform.python_version(), **{x: version(x) for x in _MADE_WITH}},
        "seed": plan.seed,
        "plan": json.loads(plan.to_json()),
        "plan_sha256": plan.sha256,
        "tables": {n: _plain(logbook.frames_of(n)) for n in names},
        "result": said.to_dict(),
    }
    held["sha256"] = _print_of(held)
    write_file(path, json.dumps(held, indent=1, ensure_ascii=False, allow_nan=False) + "\n")
    return path


@contextmanager
def opened_trial(path: Path) -> Iterator[Logbook | Handed]:
    """Open a logbook to read, or a copy of one trial, which ends in .json."""
    from ..logbook import Logbook

    if path.suffix.lower() == ".json":
        yield read_copy(path)
        return
    with Logbook.open(path, read_only=True) as logbook:
        yield logbook


def read_copy(path: Path) -> Handed:
    """Read a file that `write_copy` wrote.

    Raises
    ------
    InputError
        If it can't be read, is no such file, or was changed after it was made.
    """
    try:
        with path.open("rb") as file:
            text = file.read(_MOST + 1)
        held = json.loads(text) if len(text) <= _MOST else None
    except OSError as err:
        raise InputError(f"{path} can't be read: {err.strerror}.") from err
    except (ValueError, RecursionError):
        held = None
    if not isinstance(held, dict) or held.get("reedlab_trial") != _FORM:
        raise InputError(f"{path} is not a copy of a trial that this version of reedlab wrote.")
    if held.pop("sha256", None) != _print_of(held):
        raise InputError(f"{path} was changed after it was made, so nothing is read from it. Ask for the file again.")
    try:
        return Handed(held["trial"], date.fromisoformat(held["read_on"]), held["player"], held["invented"],
                      {n: _framed(tables) for n, tables in held["tables"].items()})
    except (AttributeError, KeyError, TypeError, ValueError):
        raise InputError(f"{path} holds no trial that reedlab can read.") from None


def _print_of(held: dict[str, Any]) -> str:
    return hashlib.sha256(json.dumps(held, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def _plain(frames: Frames) -> dict[str, list[dict[str, Any]]]:
    return {f.name: [{k: _cell(v) for k, v in row.items()} for row in getattr(frames, f.name).to_dict("records")]
            for f in dataclasses.fields(frames)}


def _cell(value: Any) -> Any:
    if value is None or value is pd.NA or value is pd.NaT or value != value:
        return None
    if isinstance(value, pd.Timestamp):
        return value.date().isoformat()
    return value.item() if hasattr(value, "item") else value


def _framed(tables: dict[str, list[dict[str, Any]]]) -> Frames:
    return Frames.of(**{name: rows for name, rows in tables.items() if name in TABLES})
