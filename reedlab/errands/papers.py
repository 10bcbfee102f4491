"""From a logbook to files to take along: sheet, labels, calendar, spreadsheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any, Final

from ..errors import InputError
from ..folder.filing import make_folder, write_file
from ..handout.calendar import calendar, is_ours
from ..handout.labels import codes_in_use, labels
from ..handout.sheet import sheet
from ..handout.standing_sheet import standing_sheet
from ..handout.typed_back import planned_rows, without_repeats
from ..handout.week import Wishes, week_of
from ..logbook import Logbook
from ..logbook.workbook_out import to_fill_in
from ..rows.tables import Frames
from ..schedule import schedule, week_unsaid
from ..trial.calendar import runs_until_done
from ..wording import tr, trn
from .read_trial import pick_trial

__all__ = ["Written", "write_calendar", "write_labels", "write_page", "write_sheet", "write_spreadsheet"]

_OURS: Final = b'<meta name="generator" content="reedlab">'
_AHEAD: Final = 366  # days of a calendar, where a trial runs until every reed is done


@dataclass(frozen=True)
class Written:
    """A file that was written, and sentences for the player."""

    path: Path
    told: tuple[str, ...] = ()


def write_sheet(logbook: Logbook, path: Path, *, today: date, trial: str | None = None, week: int | None = None,
                paper: str = "a4", wishes: Wishes | None = None, for_helper: bool = False) -> Written:
    """Write a week of a trial as a page to print, the player's own or the helper's.

    Raises InputError if the file is another's, or the trial has no helper.
    """
    protocol, frames = logbook.protocol(pick_trial(logbook, trial)), logbook.frames()
    found = week_of(protocol, frames, today=today, number=week, wishes=wishes)
    if for_helper and (protocol.masked != "helper" or protocol.standing):
        raise InputError(tr("No helper hides anything in \"{trial}\", so there is no page for one.").format(
                             trial=protocol.trial))
    write_page(path, standing_sheet(protocol, found, paper=paper) if protocol.standing else
               sheet(protocol, found, paper=paper, for_helper=for_helper))
    unmet = dict.fromkeys(u.text for d in found.days if d.on >= today for u in d.unmet)
    unsaid = [] if protocol.standing else _unsaid(frames, wishes)  # nothing of it rests on the minutes
    return Written(path, (tr("Open it in a browser and print it: one page a week."), *unmet, *unsaid))


def write_labels(logbook: Logbook, path: Path, *, today: date, paper: str = "a4") -> Written:
    """Write labels for the slots of the reed case, for all reeds in use."""
    write_page(path, labels(codes_in_use(logbook.frames(), today), paper=paper))
    return Written(path, (tr("Open it in a browser and print it."),))


def write_calendar(logbook: Logbook, path: Path, *, today: date, stamp: datetime, trial: str | None = None,
                   at: time | None = None, zone: str | None = None, remind: bool = False,
                   wishes: Wishes | None = None) -> Written:
    """Write the coming days of a trial as a calendar; an earlier one in the same file is brought up to date."""
    protocol, frames = logbook.protocol(pick_trial(logbook, trial)), logbook.frames()
    if protocol.standing:
        raise InputError(tr("A standing trial asks for nothing on any one day, so it has no calendar."))
    ahead = _AHEAD if runs_until_done(protocol) else None
    plan = schedule(protocol, frames, today=today, days=ahead, **(wishes or {}))
    earlier = path.read_bytes() if path.is_file() else None
    if earlier is not None and not is_ours(earlier):
        raise InputError(tr("{path} is another calendar. Name a new file.").format(path=path))
    _write(path, calendar(protocol, plan.days, stamp=stamp, at=at, zone=zone, remind=remind, earlier=earlier))
    unmet = dict.fromkeys(u.text for u in plan.unmet)
    return Written(path, (tr("Open it with your calendar. After a change of plan, write it to the same file again and "
                             "open it once more."), *unmet, *_unsaid(frames, wishes)))


def write_spreadsheet(logbook: Logbook, path: Path, *, today: date, trial: str | None = None, weeks: int = 4,
                      wishes: Wishes | None = None) -> Written:
    """Write a new spreadsheet to fill in, with the planned rows of this week and the next `weeks` - 1."""
    if path.exists():
        raise InputError(tr("{path} is there already and may hold entries. Name a new file.").format(path=path))
    if weeks < 1:
        raise InputError(tr("`weeks` is {weeks}; wanted 1 or more.").format(weeks=weeks))
    frames = logbook.frames()
    rows: list[Mapping[str, Any]] = []
    habits: tuple[Any, ...] = ()
    again, pairs, standing = 0, False, False
    days = [today + timedelta(days=k) for k in range(7 * weeks)]
    if len(frames.trials):
        protocol = logbook.protocol(pick_trial(logbook, trial))
        habits, pairs = () if protocol.masked == "helper" else protocol.habits, protocol.pairs
        standing = bool(protocol.standing)
        first = week_of(protocol, frames, today=today, wishes=wishes)
        found = [first]
        for k in range(1, weeks):
            if first.weeks is None or first.number + k <= first.weeks:
                found.append(week_of(protocol, frames, today=today, number=first.number + k, wishes=wishes))
        planned = [d for w in found for d in w.days]
        every = planned_rows(protocol, planned, frames)
        rows = list(without_repeats(protocol, every, planned, frames, today))
        again = len(every) - len(rows)
        days = [d.on for d in planned]
    written = set(frames.days["date"].dt.date)
    make_folder(path.parent)
    write_file(path, to_fill_in(frames, rows, habits=habits, days=[d for d in days if d not in written], today=today,
                                pairs=pairs), new=True)
    if standing:  # nothing of it rests on the minutes
        return Written(path, (tr("{n} rows, one for each reed in service on each day. Fill in the ones that you play; "
                                 "the rest is left out.").format(n=len(rows)),))
    return Written(path, (tr("{n} planned rows to fill in.").format(
                              n=len(rows)), *_again(again), *_unsaid(frames, wishes)))


def _again(rows: int) -> list[str]:
    if not rows:
        return []
    return [trn("{n} missed rating is planned anew on a later day, so only the new day has a row.",
                "{n} missed ratings are planned anew on a later day, so only the new day has a row.",
                rows).format(n=rows) + " " + tr("If you did play one, write it in a row of your own.")]


def _unsaid(frames: Frames, wishes: Wishes | None) -> list[str]:
    """Say, where nothing is known of the player's minutes, what the plan reckons with."""
    told = week_unsaid(frames)
    return [] if told is None or (wishes or {}).get("usual_min") is not None else [told]


def write_page(path: Path, page: str) -> None:
    """Write a page of ours, over an earlier one if it is ours; InputError if the file holds something else."""
    if path.exists() and not (path.is_file() and _OURS in path.read_bytes()[:500]):
        raise InputError(tr("{path} holds something else. Name a new file.").format(path=path))
    _write(path, page.replace('<meta charset="utf-8">', '<meta charset="utf-8">\n' + _OURS.decode(), 1).encode())


def _write(path: Path, content: bytes) -> None:
    make_folder(path.parent)
    write_file(path, content)
