"""The commands that write things to take along: sheet, labels, calendar, spreadsheet."""

from __future__ import annotations

import argparse
import textwrap
from collections.abc import Callable
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..errors import InputError
from ..folder.clock import day_called
from ..wording import tr
from .arguments import AddVerb, logbook_of, quoted

if TYPE_CHECKING:
    from ..handout.week import Wishes

__all__ = ["add_paper_verbs"]


def add_paper_verbs(verb: AddVerb) -> None:
    """Add the commands to the command line."""
    sheet = _verb(verb, "sheet", _sheet, tr("write a week of the plan as a page for the music stand"), plan=True)
    sheet.add_argument("--week", type=int, metavar="N", help=tr("week of the trial (else this week)"))
    sheet.add_argument("--helper", action="store_true", help=tr(
        "the page of the helper who hides the ways: not for the player's eyes"))
    _paper(sheet)
    _paper(_verb(verb, "labels", _labels, tr("write labels for the slots of the reed case")))
    calendar = _verb(verb, "calendar", _calendar, tr("write the plan as a calendar file (.ics)"), plan=True)
    calendar.add_argument("--at", metavar="TIME", help=tr("when you practise, as 18:00 (else for the whole day)"))
    calendar.add_argument("--zone", metavar="NAME", help=tr("its time zone, as Europe/Vienna (else wherever you are)"))
    calendar.add_argument("--remind", action="store_true", help=tr("with --at: each entry reminds you when it begins"))
    away = _verb(verb, "away", _away, tr("write a page of one file that takes ratings in any browser, "
                                         "without a network"))
    away.add_argument("--trial", metavar="NAME", help=tr("which trial (else the one started last)"))
    away.add_argument("--code", default="", metavar="CODE", help=tr(
        "a pupil's code such as P07, if it goes to a teacher"))
    book = _verb(verb, "spreadsheet", _spreadsheet, tr("write a spreadsheet to fill in anywhere (.xlsx)"), plan=True)
    book.add_argument("--weeks", type=int, default=4, metavar="N", help=tr("how many weeks of the plan (else 4)"))


def _verb(verb: AddVerb, name: str, job: Callable[[argparse.Namespace], None], told: str, *,
          plan: bool = False) -> argparse.ArgumentParser:
    sub = verb(name, job, told)
    sub.add_argument("logbook", metavar="LOGBOOK")
    sub.add_argument("-o", "--out", required=True, metavar="FILE", help=tr("the file to write"))
    sub.add_argument("--today", metavar="DATE", help=tr("as of this day"))
    if plan:
        sub.add_argument("--trial", metavar="NAME", help=tr("which trial (else the one started last)"))
        sub.add_argument("--minutes", type=float, metavar="N",
                         help=tr("minutes you practise a day (else your week in the logbook)"))
        sub.add_argument("--day-off", action="append", default=[], metavar="DAY",
                         help=tr("a date as 2026-03-01 or a weekday as sunday, beside those in the logbook; may be "
                                 "said again"))
        sub.add_argument("--concert", action="append", default=[], metavar="DATE",
                         help=tr("beside those in the logbook; may be said again"))
        sub.add_argument("--reeds-at-most", type=int, metavar="N", help=tr("reeds a day at most"))
    return sub


def _paper(sub: argparse.ArgumentParser) -> None:
    sub.add_argument("--paper", choices=("a4", "letter"), default="a4")


def _wishes(args: argparse.Namespace) -> Wishes:
    from ..rows.tables import WEEKDAYS

    off: list[date | int] = []
    for day in args.day_off:
        name = day.strip().casefold()
        off.append(WEEKDAYS.index(name) if name in WEEKDAYS else
                   day_called(day, option="--day-off", more=" " + tr("or a weekday")))
    return {"usual_min": args.minutes, "days_off": off, "reeds_at_most": args.reeds_at_most,
            "concerts": [day_called(c, option="--concert") for c in args.concert]}


def _run(args: argparse.Namespace, name: str, **more: Any) -> None:
    from ..errands import away, papers

    with logbook_of(args) as (logbook, on):
        write = getattr(away if name == "write_away" else papers, name)
        done = write(logbook, Path(args.out), today=on, **more)
    print(tr("Written to {path}.").format(path=done.path))
    for sentence in done.told:
        print(textwrap.fill(sentence, 80))


def _sheet(args: argparse.Namespace) -> None:
    _run(args, "write_sheet", trial=args.trial, week=args.week, paper=args.paper, wishes=_wishes(args),
         for_helper=args.helper)


def _labels(args: argparse.Namespace) -> None:
    _run(args, "write_labels", paper=args.paper)


def _away(args: argparse.Namespace) -> None:
    _run(args, "write_away", trial=args.trial, code=args.code)
    print(tr("To read in what it hands back: reedlab import FILE.json --into {name}").format(
              name=quoted(args.logbook)))


def _calendar(args: argparse.Namespace) -> None:
    at = None
    if args.at is not None:
        try:
            at = time.fromisoformat(args.at)
        except ValueError:
            raise InputError(tr("`--at` is {at!r}; wanted a time of day like 18:00.").format(at=args.at)) from None
        if at.tzinfo is not None:
            raise InputError(tr("`--at` holds a time zone; say the zone with --zone."))
    if args.remind and at is None:
        raise InputError(tr("`--remind` needs to know when: say the time with --at."))
    _run(args, "write_calendar", trial=args.trial, at=at, zone=args.zone, remind=args.remind, stamp=datetime.now(UTC),
         wishes=_wishes(args))


def _spreadsheet(args: argparse.Namespace) -> None:
    _run(args, "write_spreadsheet", trial=args.trial, weeks=args.weeks, wishes=_wishes(args))
    print(tr("To read it in: reedlab import {name} --into {name2}").format(
              name=quoted(args.out), name2=quoted(args.logbook)))
