"""A whole trial in one file (plan, entries, answer, versions), from which the same answer can be read elsewhere."""

from __future__ import annotations

import dataclasses
import json
import platform
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ..analysis.verdicts.repeats import earlier_names
from ..folder.filing import write_file
from ..rows.tables import Frames
from ..rows.values import as_json
from .handed import FORM, Handed, print_of, read_copy
from .read_trial import pick_trial, read_trial

if TYPE_CHECKING:
    from ..logbook import Logbook

__all__ = ["opened_trial", "write_copy"]

_MADE_WITH: Final = ("reedlab", "numpy", "scipy", "pandas", "statsmodels")


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
        "reedlab_trial": FORM,
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
    held["sha256"] = print_of(held)
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


def _plain(frames: Frames) -> dict[str, list[dict[str, Any]]]:
    return {f.name: [{k: as_json(v) for k, v in row.items()} for row in getattr(frames, f.name).to_dict("records")]
            for f in dataclasses.fields(frames)}
