"""The command that writes a trial's answer as a file to print or send: the one page, or the full report."""

from __future__ import annotations

import argparse
from pathlib import Path

from ..errors import InputError
from ..folder.clock import day_called
from ..folder.filing import write_file
from ..folder.printing import write_pdf
from ..wording import tr
from .arguments import AddVerb

__all__ = ["add_page_verb"]


def add_page_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    page = verb("page", _page, tr("write a trial's answer as a page or PDF to print, or the whole trial to hand on"))
    page.add_argument("logbook", metavar="LOGBOOK", help=tr("the logbook, its folder, or a copy of a trial (.json)"))
    page.add_argument("--trial", metavar="NAME", help=tr("which trial (else the one started last)"))
    page.add_argument("--report", action="store_true", help=tr("the full report instead of the one page"))
    page.add_argument("--player", metavar="CODE", default="", help=tr("the player's code, to stand in the small print"))
    page.add_argument("-o", "--out", metavar="FILE", help=tr("the file to write: .html, or .json for the whole trial "
                                                             "in one file, from which `reedlab result FILE.json` reads "
                                                             "the same answer elsewhere"))
    page.add_argument("--pdf", metavar="FILE.pdf", help=tr("print it to a PDF with the browser of this computer"))
    page.add_argument("--today", metavar="DATE", help=tr("read it as of this day"))


def _page(args: argparse.Namespace) -> None:
    from ..errands.hand_on import opened_trial, write_copy
    from ..errands.read_trial import read_trial

    out = Path(args.out).expanduser() if args.out else None
    if out is None and args.pdf is None:
        raise InputError(tr("Say which file to write: -o FILE.html, -o FILE.json or --pdf FILE.pdf."))
    if out is not None and out.suffix.lower() not in (".html", ".htm", ".json"):
        raise InputError(tr("`-o` is {path!r}; wanted a file whose name ends in .html or .json.").format(
                             path=str(out)))
    with opened_trial(Path(args.logbook)) as logbook:
        today = logbook.read_on if args.today is None and logbook.read_on else day_called(
            args.today, Path(args.logbook).parent)
        if out is not None and out.suffix.lower() == ".json":
            write_copy(logbook, args.trial, out, today=today, player=args.player)
            print(tr("Written to {out}. On another computer: reedlab result {name}").format(out=out, name=out.name))
            if args.pdf is None:
                return
        found = read_trial(logbook, args.trial, today=today, player=args.player)
    html = found.report_html() if args.report else found.to_html()
    if out is not None and out.suffix.lower() != ".json":
        write_file(out, html)
        print(tr("Written to {write_page}. Open it in a browser to print it or to save it as PDF.").format(
                  write_page=out))
    if args.pdf is not None:
        print(tr("Written to {write_pdf}.").format(write_pdf=write_pdf(html, Path(args.pdf).expanduser())))
