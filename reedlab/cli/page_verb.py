"""The command that writes a trial's answer as a file to print or send: the one page, or the full report."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import InputError
from ..folder.clock import day_called
from ..folder.filing import write_file

if TYPE_CHECKING:
    from ..summary import Answer

__all__ = ["add_page_verb", "write_page"]

AddVerb = Callable[[str, Callable[[argparse.Namespace], None], str], argparse.ArgumentParser]


def add_page_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    page = verb("page", _page, "write a trial's answer as a page to print or send")
    page.add_argument("logbook", metavar="LOGBOOK")
    page.add_argument("--trial", metavar="NAME", help="which trial (else the one started last)")
    page.add_argument("--report", action="store_true", help="the full report instead of the one page")
    page.add_argument("-o", "--out", required=True, metavar="FILE.html", help="the file to write")
    page.add_argument("--today", metavar="DATE", help="read it as of this day")


def write_page(answer: Answer, path: Path, *, report: bool = False) -> Path:
    """Write an answer as one HTML file that needs nothing beside it, and return its path.

    Parameters
    ----------
    answer : Answer
    path : Path
        A file ending in .html or .htm; written over if it is there.
    report : bool
        The full report instead of the one page.

    Raises
    ------
    InputError
        If the name does not end in .html, or the file cannot be written there.
    """
    path = Path(path).expanduser()
    if path.suffix.lower() not in (".html", ".htm"):
        raise InputError(f"`-o` is {str(path)!r}; wanted a file whose name ends in .html.")
    text = answer.report_html() if report else answer.to_html()
    write_file(path, text)
    return path


def _page(args: argparse.Namespace) -> None:
    from ..errands.read_trial import read_trial
    from ..logbook import Logbook

    path = Path(args.logbook)
    with Logbook.open(path, read_only=True) as logbook:
        found = read_trial(logbook, args.trial, today=day_called(args.today, path.parent))
    print(f"Written to {write_page(found, Path(args.out), report=args.report)}. "
          "Open it in a browser to print it or to save it as PDF.")
