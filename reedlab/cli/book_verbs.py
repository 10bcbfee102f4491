"""The commands that change a logbook as a whole: files read into it, and a dated copy put in its place."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import ExchangeError, InputError
from ..folder.clock import today_in
from ..wording import tr
from .arguments import AddVerb, quoted

if TYPE_CHECKING:
    from ..diaries.asks import Ask

__all__ = ["add_book_verbs"]


def add_book_verbs(verb: AddVerb) -> None:
    """Add the commands to the command line."""
    taken = verb("import", _import, tr("read CSV files or a spreadsheet into a logbook, all or nothing"))
    taken.add_argument("folder", metavar="FOLDER",
                       help=tr("a folder of CSV files, one of them, an .xlsx file, or what a page of one file "
                               "handed back"))
    taken.add_argument("--decimal-comma", action="store_true",
                       help=tr("CSV files with semicolons, decimal commas and dates as 05.03.2026"))
    taken.add_argument("--guess", metavar="FILE", help=tr("a diary as it is: write a first guess at what stands "
                                                          "where"))
    taken.add_argument("--matching", metavar="FILE", help=tr("a diary as it is: what the page, or --guess, wrote "
                                                             "of it"))
    taken.add_argument("--sheet", metavar="NAME", help=tr("a diary as it is: this sheet of a spreadsheet (else the "
                                                          "longest)"))
    taken.add_argument("--skip", type=int, action="append", default=[], metavar="ROW",
                       help=tr("with --matching: leave this odd row out; may be said again"))
    taken.add_argument("--yes", action="store_true", help=tr("odd entries of such a page are right"))
    taken.add_argument("--into", required=True, metavar="LOGBOOK", help=tr("the logbook (made if it is new)"))
    restore = verb("restore", _restore, tr("show the dated copies of a logbook, and go back to one"))
    restore.add_argument("logbook", nargs="?", default="my-reeds", metavar="FOLDER",
                         help=tr("your folder, or the logbook in it (default: my-reeds)"))
    restore.add_argument("--copy", metavar="DAY", help=tr("the copy to go back to, by its day as listed"))
    restore.add_argument("--yes", action="store_true", help=tr("do it; without it you are only told what would happen"))


def _import(args: argparse.Namespace) -> None:
    from ..logbook.exchange import import_into

    path = Path(args.folder)
    if args.guess:
        return _guess(path, Path(args.into), args.guess, args.sheet)
    if args.matching:
        return _diary(path, Path(args.into), Path(args.matching), args.skip, args.sheet)
    if args.skip or args.sheet:
        raise InputError(tr("`--skip` and `--sheet` are for a diary as it is: say --matching too."))
    if path.suffix.lower() in (".json", ".txt"):
        return _away(path, Path(args.into), sure=args.yes)
    try:
        print(import_into(path, Path(args.into), decimal_comma=args.decimal_comma))
    except ExchangeError as err:
        if not path.is_file():
            raise
        raise InputError(tr("{err}\nIs it a diary of another shape? Then: reedlab import {file} --into {book} --guess "
                            "FILE.json").format(err=err, file=quoted(path), book=quoted(args.into))) from err


def _guess(path: Path, book: Path, out: str, sheet: str | None) -> None:
    """Write what a diary looks like, to be looked over."""
    from ..errands.take_diary import look_at, matching_for, read, still_open
    from ..folder.filing import write_file

    today = today_in(book.parent)
    grid = read(path.read_bytes(), path.name, sheet)
    matching = matching_for(grid, today, book, path.name)
    write_file(out, matching.to_json(), new=True)
    diary = look_at(grid, path.name, matching, book, today=today)
    found = diary.understood
    left = [f"  - {line}" for line in still_open(found)]
    if wanted := [x for x in (_as_written(ask) for ask in found.asks) if x]:
        left += ["    " + tr("In the file they stand so, for instance:"), *(f"      {x}" for x in wanted)]
    if words := next((ask.words for ask in found.asks if ask.code == "ways"), None):
        left.append("    " + tr('Under `ways`, write "{word}": and one of {keys}; "" is neither, "-" leaves its rows '
                                "out.").format(word=next(iter(words)), keys=", ".join(diary.known.ways)))
    head = tr("Written to {out}: a guess. Look it over and say what is still open:") if left else tr(
        "Written to {out}: nothing is open. Look it over.")
    then = tr("Then: reedlab import {file} --into {book} --matching {out}").format(
        file=quoted(path), book=quoted(book), out=quoted(out))
    print("\n".join([head.format(out=out), *found.told, *left, then]))


def _as_written(ask: Ask) -> str:
    """Return a line of the settings file that would say what is asked; "" where the file shows its form already."""
    guess: Any = ask.guess
    if ask.code == "scale":
        guess = {"worst": 0, "best": 10, "words": dict.fromkeys(list(ask.words)[:1], 5)} if guess is None else {
            "worst": guess.worst, "best": guess.best, "words": dict(guess.words)}
    elif ask.code == "reeds":
        guess = {word: seen or f"1-{i:02d}" for i, (word, (_, seen)) in enumerate(list(ask.words.items())[:2], start=1)}
    elif ask.code in ("columns", "ways"):
        return ""
    elif guess is None and ask.options:
        guess = ask.options[0][1]
    return f'"{ask.code}": {json.dumps(guess, ensure_ascii=False)}'


def _diary(path: Path, book: Path, said: Path, skip: list[int], sheet: str | None) -> None:
    """Take in a diary as it is, with what its settings file says of it."""
    from ..diaries.matching import Matching
    from ..errands.take_diary import look_at, read, take_diary

    today = today_in(book.parent)
    grid = read(path.read_bytes(), path.name, sheet)
    matching = Matching.from_json(said.read_text(encoding="utf-8-sig"), said.name)
    found = look_at(grid, path.name, matching, book, today=today).understood
    if skip and not found.asks:
        odd = {o.line: o.mark for o in found.odd}
        if sound := [n for n in skip if n not in odd]:
            raise InputError(tr("`--skip`: row {n} is not odd.").format(n=sound[0]))
        matching = matching.and_(skipped=(*matching.skipped, *(odd[n] for n in skip)))
    diary = look_at(grid, path.name, matching, book, today=today)
    try:
        done = take_diary(diary, book)
    except InputError as err:
        if diary.understood.odd and not diary.understood.asks:
            raise InputError(tr("{err}\nTo leave such a row out, say --skip and its number.").format(err=err)) from err
        raise
    print("\n".join([*diary.understood.told, str(done)]))


def _away(path: Path, book: Path, *, sure: bool) -> None:
    """Read in what a page of one file handed back."""
    from ..errands.away import Unsure, read_away, text_of
    from ..logbook import Logbook

    text = text_of(path.read_bytes(), path.name)
    with Logbook.open(book) as logbook:
        try:
            found = read_away(logbook, text, path.name)
        except Unsure as odd:
            if not sure:
                raise InputError(tr("{odd}\nIf it is, say it again with --yes.").format(odd=odd)) from None
            found = read_away(logbook, text, path.name, sure=odd.token)
    print(found)


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
