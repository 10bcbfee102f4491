"""The command line. Exit codes: 0 done, 2 the input is at fault (one clear message), 1 anything else."""

from __future__ import annotations

import argparse
import io
import os
import sys
import textwrap
import traceback
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TextIO

from .. import __version__
from ..errors import InputError, ReedlabError, ReedlabWarning
from ..folder.clock import day_called, today_in
from ..wording import speak_in_commands, tr
from .arguments import AddVerb, check_arguments, dashed, logbook_of, logbooks_of_folders, quoted, tell
from .book_verbs import add_book_verbs
from .class_verbs import add_class_verbs
from .page_verb import add_page_verb
from .paper_verbs import add_paper_verbs
from .reading_verbs import add_reading_verbs
from .standing_verb import add_standing_verb

__all__ = ["main"]

Verbs = Any  # argparse has no public name for it


def _demo(args: argparse.Namespace) -> None:
    from ..demo import set_up_demo
    from ..errands.read_trial import read_trial
    from ..logbook import Logbook

    logbook_path = set_up_demo(Path(args.folder))
    today = today_in(logbook_path.parent)
    with Logbook.open(logbook_path, read_only=True) as logbook:
        names = logbook.trial_names()
        print(tr("An invented player's logbook, as of {today}. It holds {n} trials.").format(
                  today=today.isoformat(), n=len(names)))
        for name in names:
            print(f"\n{'=' * 78}\n{name}\n{'=' * 78}")
            print(read_trial(logbook, name, today=today).to_text())
    print("\n" + tr("The demo is in {parent}. To open its pages in the browser:").format(parent=logbook_path.parent))
    print(f"    {_myself()} open {quoted(logbook_path.parent)}")


def _open(args: argparse.Namespace) -> None:
    from ..desk.home import open_folder

    open_folder(Path(args.folder), browser=not args.no_browser, phone=args.phone,
                keep_phone=args.keep_phone)


def _export(args: argparse.Namespace) -> None:
    from ..logbook import Logbook
    from ..logbook.exchange import export_folder
    from ..logbook.workbook_out import export_workbook

    write = export_workbook if args.folder.lower().endswith(".xlsx") else export_folder
    with Logbook.open(Path(args.logbook), read_only=True) as logbook:
        write(logbook, Path(args.folder))
    print(tr("Written to {folder}.").format(folder=args.folder))


def _result(args: argparse.Namespace) -> None:
    from ..errands.hand_on import opened_trial
    from ..errands.read_trial import read_trial
    from ..logbook import Logbook

    path, early = Path(args.logbook), args.open_early
    with opened_trial(path) if early is None else Logbook.open(path) as logbook:
        today = logbook.read_on if args.today is None and logbook.read_on else day_called(args.today, path.parent)
        found = read_trial(logbook, args.trial, today=today, open_early_why=early,
                           forecast=args.next, opinions=args.json)  # in words they are not told
    tell(found, as_json=args.json, full=args.full)
    if not args.json and not args.full:
        print("\n" + tr("With --full: what could still be true, other readings, every remark and number."))


def _check(args: argparse.Namespace) -> None:
    from ..errands.read_trial import trial_quality
    from ..logbook.beside import copies_told

    with logbook_of(args) as (logbook, today):
        troubles = logbook.check()
        for name in logbook.trial_names():
            print(name)
            dashed(trial_quality(logbook, name, today=today))
    for said in copies_told(Path(args.logbook)):
        print(textwrap.fill(said, 80, break_on_hyphens=False, break_long_words=False))
    if troubles:
        raise InputError("\n".join(troubles))
    print(tr("The logbook is sound."))


def _myself() -> str:
    return "reedlab" if Path(sys.argv[0]).stem == "__main__" else quoted(Path(sys.argv[0]))


def _parser() -> argparse.ArgumentParser:
    speak_in_commands(argparse)
    parser = argparse.ArgumentParser(prog="reedlab", description=tr("Fair trials of reed habits: plan, log, read."))
    parser.add_argument("--version", action="version", version=f"reedlab {__version__}",
                        help=tr("show program's version number and exit"))
    verbs = parser.add_subparsers(dest="verb", required=True, metavar="COMMAND")

    verb = _adder(verbs)

    demo = verb("demo", _demo, tr("set up an invented player's logbook and pages, and print its answers"))
    demo.add_argument("folder", nargs="?", default="reedlab-demo", metavar="FOLDER")
    opened = verb("open", _open, tr("open the pages in the browser (the folder is made if it is new)"))
    opened.add_argument("folder", nargs="?", default="my-reeds", metavar="FOLDER")
    opened.add_argument("--no-browser", action="store_true", help=tr("start the server, open no browser"))
    opened.add_argument("--phone", action="store_true",
                        help=tr("also show the Today page to your phone, on the home network only"))
    opened.add_argument("--keep-phone", action="store_true",
                        help=tr("the same, and a phone let in once stays let in at the next start with "
                                "--keep-phone"))
    add_book_verbs(verb)
    given = verb("export", _export, tr("write a logbook out as a folder of CSV files, or as a spreadsheet"))
    given.add_argument("logbook", metavar="LOGBOOK")
    given.add_argument("folder", metavar="FOLDER", help=tr("a new folder, or a new file ending in .xlsx"))
    result = verb("result", _result, tr("print the answer of a trial, or its progress while it runs"))
    result.add_argument("logbook", metavar="LOGBOOK")
    result.add_argument("--trial", metavar="NAME", help=tr("which trial (else the one started last)"))
    result.add_argument("--full", action="store_true", help=tr("all of it: other readings, every remark and number"))
    result.add_argument("--json", action="store_true", help=tr("for programs"))
    result.add_argument("--next", action="store_true",
                        help=tr("after \"can't tell\": play the next trial through and say what it would show "
                                "(seconds)"))
    result.add_argument("--open-early", metavar="WHY",
                        help=tr("open a running trial now; the look is kept, and counts unless the plan allows it"))
    result.add_argument("--today", metavar="DATE", help=tr("read it as of this day"))
    check = verb("check", _check, tr("is the logbook sound, how complete is each trial, was its plan followed?"))
    check.add_argument("logbook", metavar="LOGBOOK")
    check.add_argument("--today", metavar="DATE", help=tr("as of this day"))
    add_reading_verbs(verb)
    add_page_verb(verb)
    add_standing_verb(verb)
    add_paper_verbs(_family(verbs, "paper", tr("write what goes to paper or into a calendar")))
    add_class_verbs(_family(verbs, "class", tr("one question for a class, or several trials of one question")))
    return parser


def _adder(verbs: Verbs) -> AddVerb:
    """Return what adds one command, with its job and what it is for."""
    def verb(name: str, job: Callable[[argparse.Namespace], None], told: str) -> argparse.ArgumentParser:
        sub = verbs.add_parser(name, help=told, description=told)
        sub.set_defaults(job=job)
        return sub

    return verb


def _family(verbs: Verbs, name: str, told: str) -> AddVerb:
    """Return what adds a command under a word that they share."""
    sub = verbs.add_parser(name, help=told, description=told)
    return _adder(sub.add_subparsers(dest="what", required=True, metavar="WHAT"))


@contextmanager
def _warnings_told() -> Iterator[None]:
    """Have what the player should know although it went well on standard error, without a place in the program."""
    with warnings.catch_warnings():
        other = warnings.showwarning

        def tell(message: Warning | str, category: type[Warning], filename: str, lineno: int,
                 file: TextIO | None = None, line: str | None = None) -> None:
            if issubclass(category, ReedlabWarning):
                print(f"reedlab: {message}", file=sys.stderr)
            else:
                other(message, category, filename, lineno, file, line)

        warnings.simplefilter("always", ReedlabWarning)
        warnings.showwarning = tell
        yield


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a name or sign that this terminal cannot show is no reason to stop
            stream.reconfigure(errors="backslashreplace")
    args = _parser().parse_args(argv)
    try:
        check_arguments(args)
        logbooks_of_folders(args)
        with _warnings_told():
            args.job(args)
    except ReedlabError as err:
        print(f"reedlab: {err}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # the reader of our output went away: nothing to report
        sys.stdout = open(os.devnull, "w")  # noqa: SIM115
        return 0
    except OSError as err:
        if err.filename is None:
            return _our_fault(err)
        print(tr("reedlab: {filename}: {strerror}. Nothing was changed.").format(
                  filename=err.filename, strerror=err.strerror), file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        print("reedlab: stopped.", file=sys.stderr)
        return 1
    except Exception as err:
        return _our_fault(err)
    return 0


def _our_fault(err: Exception) -> int:
    print(tr("reedlab: something went wrong that is not your fault ({name}: {err}). Nothing already saved is "
             "lost. Set REEDLAB_DEBUG=1 to see the details.").format(name=type(err).__name__, err=err), file=sys.stderr)
    if os.environ.get("REEDLAB_DEBUG"):
        traceback.print_exc()
    return 1
