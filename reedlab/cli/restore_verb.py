"""The command that shows the dated copies and puts one in place."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from ..errors import InputError

__all__ = ["add_restore_verb"]

AddVerb = Callable[[str, Callable[[argparse.Namespace], None], str], argparse.ArgumentParser]


def add_restore_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    restore = verb("restore", _restore, "show the dated copies of a logbook, and go back to one")
    restore.add_argument("logbook", nargs="?", default="my-reeds", metavar="FOLDER",
                         help="your folder, or the logbook in it (default: my-reeds)")
    restore.add_argument("--copy", metavar="DAY", help="the copy to go back to, by its day as listed")
    restore.add_argument("--yes", action="store_true", help="do it; without it you are only told what would happen")


def _restore(args: argparse.Namespace) -> None:
    from ..folder.resources import find_logbook
    from ..logbook.restoring import copies, held_now, restore, set_aside_words

    path = Path(args.logbook)
    path = find_logbook(path) if path.is_dir() or not path.suffix else path
    now = held_now(path)
    found = copies(path, now)
    print(f"{path}: {now}." if path.exists() else f"There is no logbook at {path}.")
    print("".join(f"  {said}\n" for said in now.lost), end="")
    if not found:
        raise InputError(f"There are no copies of it in {path.parent / 'backups'}.")
    if args.copy is None:
        print("Its copies, the one made last first:")
        for c in found:
            print(f"  {c.name}: {c}. {'' if c.lost else c.told_lacks}".rstrip())
        print(f'To go back to one: reedlab restore "{path}" --copy {found[0].name}')
        return
    chosen = next((c for c in found if c.name == args.copy), None)
    if chosen is None:
        raise InputError(f"There is no copy of {args.copy}. There are: {', '.join(c.name for c in found)}.")
    print(f"The copy of {chosen.name}: {chosen}. {chosen.told_lacks}")
    if not args.yes:
        print("Nothing was changed. To put this copy in place, say the same once more with --yes.")
        return
    aside = restore(path, chosen.path)
    print(f"The copy of {chosen.name} is your logbook now. {set_aside_words(aside)}".rstrip())
