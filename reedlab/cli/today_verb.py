"""The command that says what to play now. It only reads."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from ..folder.clock import day_called
from ..wording import tr

__all__ = ["add_today_verb"]

AddVerb = Callable[[str, Callable[[argparse.Namespace], None], str], argparse.ArgumentParser]


def add_today_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    today = verb("today", _today, tr("say what to play now"))
    today.add_argument("logbook", metavar="LOGBOOK")
    today.add_argument("--today", metavar="DATE", help=tr("for this day instead"))


def _today(args: argparse.Namespace) -> None:
    from ..logbook import Logbook
    from .now import what_now

    path = Path(args.logbook)
    on = day_called(args.today, path.parent)
    with Logbook.open(path, read_only=True) as logbook:
        frames = logbook.frames_since(on)
        protocols = logbook.protocols(frames)
    print("\n".join(what_now(protocols, frames, on)))
