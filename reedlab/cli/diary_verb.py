"""The command that reads an old diary: a hint, why no more, and the fair trial that would settle it. It only reads."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from pathlib import Path

from ..folder.clock import day_called
from ..wording import tr

__all__ = ["add_diary_verb"]

AddVerb = Callable[[str, Callable[[argparse.Namespace], None], str], argparse.ArgumentParser]


def add_diary_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    diary = verb("diary", _diary, tr("read an old diary: a hint, and the fair trial that would settle it"))
    diary.add_argument("logbook", metavar="LOGBOOK", help=tr("entries in no trial are read, by their column `habit`"))
    diary.add_argument("--question", metavar="KEY",
                       help=tr("which question, such as wetting; own: the two ways that the diary names"))
    diary.add_argument("--life", action="store_true", help=tr("compare playing hours until worn out, not ratings"))
    diary.add_argument("--gone-next-day", action="store_true",
                       help=tr("for a question of your own: the effect is gone by the next day"))
    diary.add_argument("--json", action="store_true", help=tr("for programs"))
    diary.add_argument("--today", metavar="DATE", help=tr("read it as of this day"))


def _diary(args: argparse.Namespace) -> None:
    from ..errands.read_diary import read_diary
    from ..logbook import Logbook

    path = Path(args.logbook)
    with Logbook.open(path, read_only=True) as logbook:
        found = read_diary(logbook, args.question, today=day_called(args.today, path.parent), life=args.life,
                           lasts=not args.gone_next_day)
    if args.json:
        print(json.dumps(found.to_dict(), indent=2, ensure_ascii=False, allow_nan=False))
    else:
        print(found.to_text())
