"""What may stand on a command line, looked at before anything is done with it, and what the commands share."""

from __future__ import annotations

import argparse
import json
import math
import os
import re
import textwrap
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ..errors import InputError
from ..folder.clock import day_called
from ..folder.resources import find_logbook
from ..wording import tr

if TYPE_CHECKING:
    from datetime import date

    from ..logbook import Logbook

__all__ = ["AddVerb", "check_arguments", "dashed", "logbook_of", "logbooks_of_folders", "quoted", "tell"]

#: Adds one command: its name, its job and what it is for.
AddVerb = Callable[[str, Callable[[argparse.Namespace], None], str], argparse.ArgumentParser]

#: Options that name files: these may hold any bytes that the system allows in a name.
_FILES: Final = {"folder", "logbook", "into", "output", "out", "files", "plan", "page", "copy", "matching", "guess"}
_LONGEST: Final = 1000
_LONGEST_PART: Final = 255  # bytes of one name in a path, on any usual disk
_CONTROL: Final = re.compile(r"[\x00-\x1f\x7f]")
_HALF: Final = re.compile(r"[\ud800-\udfff]")
#: Numbers, where the verb itself says no bounds.
_BOUNDS: Final = {"weeks": (1, 104), "week": (1, 1000), "minutes": (0, 720), "reeds_at_most": (1, 50),
                  "days": (1, 1000), "reeds_a_day": (1, 50), "matters": (0, 1000)}


def check_arguments(args: argparse.Namespace) -> None:
    """Raise InputError, naming the argument, for what no file, text or number can be."""
    for name, value in vars(args).items():
        for one in value if isinstance(value, list) else [value]:
            for fault in _faults(name, one):
                raise InputError(f"`{name.replace('_', '-')}`: {fault}.")


def _faults(name: str, value: Any) -> Iterator[str]:
    if isinstance(value, str):
        if name in _FILES:
            if "\0" in value:
                yield tr("this name holds a character that no file name has")
            elif not value:
                yield tr("this name is empty")
            elif any(len(os.fsencode(part)) > _LONGEST_PART for part in re.split(r"[/\\]", value)):
                yield tr("this name is too long; wanted at most {longest_part} letters").format(
                          longest_part=_LONGEST_PART)
        elif _CONTROL.search(value) or _HALF.search(value):
            yield tr("this holds characters that no text has")
        elif len(value) > _LONGEST:
            yield tr("this text has {n} letters; wanted at most {longest}").format(n=len(value), longest=_LONGEST)
    elif isinstance(value, int | float) and not isinstance(value, bool) and name in _BOUNDS:
        low, high = _BOUNDS[name]
        if (isinstance(value, float) and not math.isfinite(value)) or not low <= value <= high:
            yield tr("wanted a number from {low} to {high}").format(low=low, high=high)


def logbooks_of_folders(args: argparse.Namespace) -> None:
    """Where a folder was given instead of a logbook, put the logbook inside it in its place."""
    for name in ("logbook", "into"):
        given = getattr(args, name, None)
        if given is not None and Path(given).is_dir():
            setattr(args, name, str(find_logbook(given)))


@contextmanager
def logbook_of(args: argparse.Namespace, *, read_only: bool = True) -> Iterator[tuple[Logbook, date]]:
    """Open the logbook that a command names, to read it only or to write too, and give the day the command is for."""
    from ..logbook import Logbook

    path = Path(args.logbook)
    on = day_called(args.today, path.parent)
    with Logbook.open(path, read_only=read_only) as logbook:
        yield logbook, on


def tell(found: Any, *, as_json: bool, **how: Any) -> None:
    """Print an answer: as data for programs, else in words, `how` being what these take."""
    print(json.dumps(found.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) if as_json else
          found.to_text(**how))


def dashed(lines: Iterable[str]) -> None:
    """Print sentences, each with a dash."""
    for said in lines:
        print(textwrap.fill(said, 80, initial_indent="  - ", subsequent_indent="    "))


def quoted(path: str | Path) -> str:
    """Return a path as it must be typed on a command line."""
    return f'"{path}"' if " " in str(path) else str(path)
