"""The command that shows the dated copies and puts one in place."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path

from ..errors import InputError
from ..wording import tr

__all__ = ["add_restore_verb"]

AddVerb = Callable[[str, Callable[[argparse.Namespace], None], str], argparse.ArgumentParser]


def add_restore_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    restore = verb("restore", _restore, tr("show the dated copies of a logbook, and go back to one"))
    restore.add_argument("logbook", nargs="?", default="my-reeds", metavar="FOLDER",
                         help=tr("your folder, or the logbook in it (default: my-reeds)"))
    restore.add_argument("--copy", metavar="DAY", help=tr("the copy to go back to, by its day as listed"))
    restore.add_argument("--yes", action="store_true", help=tr("do it; without it you are only told what would happen"))


def _restore(args: argparse.Namespace) -> None:
    from ..folder.resources import find_logbook
    from ..logbook.restoring import copies, held_now, restore, set_aside_words

    path = Path(args.logbook)
    path = find_logbook(path) if path.is_dir() or not path.suffix else path
    now = held_now(path)
    found = copies(path, now)
    print(f"{path}: {now}." if path.exists() else tr("There is no logbook at {path}.").format(path=path))
    print("".join(f"  {said}\n" for said in now.lost), end="")
    if not found:
        raise InputError(tr("There are no copies of it in {parent}.").format(parent=path.parent / "backups"))
    if args.copy is None:
        print(tr("Its copies, the one made last first:"))
        for c in found:
            print(f"  {c.name}: {c}. {'' if c.lost else c.told_lacks}".rstrip())
        print(tr("To go back to one: reedlab restore \"{path}\" --copy {name}").format(path=path, name=found[0].name))
        return
    chosen = next((c for c in found if c.name == args.copy), None)
    if chosen is None:
        raise InputError(tr("There is no copy of {copy}. There are: {name}.").format(
                             copy=args.copy, name=", ".join(c.name for c in found)))
    print(tr("The copy of {name}: {chosen}. {told_lacks}").format(
              name=chosen.name, chosen=chosen, told_lacks=chosen.told_lacks))
    if not args.yes:
        print(tr("Nothing was changed. To put this copy in place, say the same once more with --yes."))
        return
    aside = restore(path, chosen.path)
    print(tr("The copy of {name} is your logbook now. {set_aside_words}").format(
              name=chosen.name, set_aside_words=set_aside_words(aside)).rstrip())
