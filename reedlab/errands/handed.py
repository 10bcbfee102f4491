"""A copy of one trial, read: the same to an analysis as the logbook that it came from."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, Final

from ..errors import InputError
from ..rows.tables import TABLES, Frames
from ..trial.opened_boxes import as_opened
from ..trial.protocol import Protocol
from ..wording import tr

__all__ = ["FORM", "Handed", "print_of", "read_copy"]

#: The form of the file; another form is another number.
FORM: Final = 1
_MOST: Final = 64 * 2**20  # bytes: ten years of entries take less


@dataclass(frozen=True)
class Handed:
    """What `read_trial` asks of a logbook, from a copy of one trial."""

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
            raise InputError(tr("The plan of {trial!r} in this file no longer matches its fingerprint.").format(
                                 trial=trial))
        return as_opened(plan, self.frames_of(trial))

    def frames_of(self, trial: str) -> Frames:
        """Return the rows that the answer of a trial rests on."""
        return self.tables[trial]

    def frames(self) -> Frames:
        """Return the rows of the trial itself."""
        return self.tables[self.name]

    def record_look(self, trial: str, day: date, why: str) -> int:
        """Raise InputError: an early look is written down where the trial is."""
        raise InputError(tr("A copy of a trial can't be opened early; open it in the logbook that it came from."))


def read_copy(path: Path) -> Handed:
    """Read a file that `hand_on.write_copy` wrote.

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
        raise InputError(tr("{path} can't be read: {strerror}.").format(path=path, strerror=err.strerror)) from err
    except (ValueError, RecursionError):
        held = None
    if not isinstance(held, dict) or held.get("reedlab_trial") != FORM:
        raise InputError(tr("{path} is not a copy of a trial that this version of reedlab wrote.").format(path=path))
    if held.pop("sha256", None) != print_of(held):
        raise InputError(tr("{path} was changed after it was made, so nothing is read from it. Ask for the "
                            "file again.").format(path=path))
    try:
        return Handed(held["trial"], date.fromisoformat(held["read_on"]), held["player"], held["invented"],
                      {n: _framed(tables) for n, tables in held["tables"].items()})
    except (AttributeError, KeyError, TypeError, ValueError):
        raise InputError(tr("{path} holds no trial that reedlab can read.").format(path=path)) from None


def print_of(held: dict[str, Any]) -> str:
    """Return the SHA-256 of a copy's content, without its own."""
    return hashlib.sha256(json.dumps(held, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def _framed(tables: dict[str, list[dict[str, Any]]]) -> Frames:
    return Frames.of(**{name: rows for name, rows in tables.items() if name in TABLES})
