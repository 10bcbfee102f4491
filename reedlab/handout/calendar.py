"""The plan as a calendar file (RFC 5545): one entry a day, which a later plan updates instead of doubling."""

from __future__ import annotations

import hashlib
import zoneinfo
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from typing import Final

import icalendar

from ..errors import InputError
from ..schedule import Line, PlayDay
from ..trial.pairs import told_way
from ..trial.practice import CAUTIONS
from ..trial.protocol import Protocol
from ..wording import tr
from .sheet import in_one_line
from .week import NO_WAY, to_play

__all__ = ["PRODID", "calendar", "is_ours"]

PRODID: Final = "-//reedlab//plan of a trial//EN"


def calendar(protocol: Protocol, days: Sequence[PlayDay], *, stamp: datetime, at: time | None = None,
             zone: str | None = None, remind: bool = False, earlier: bytes | None = None) -> bytes:
    """Return the plan as the bytes of an .ics file.

    Parameters
    ----------
    protocol : Protocol
        With a helper, the entries leave out which way a reed is dealt.
    days : sequence of PlayDay
        Days with nothing to play get no entry.
    stamp : datetime
        The moment this plan was made, with a time zone.
    at : time, optional
        When the player practises; by default the entries are for the whole day.
    zone : str, optional
        Time zone by its usual name, as Europe/Vienna; without it `at` holds wherever the player is.
    remind : bool
        Each entry to come carries a reminder at that time; those of the whole day carry none.
    earlier : bytes, optional
        The file made from an earlier plan. A day that has changed since gets the next sequence number; one that no
        longer has anything to play is cancelled.

    Returns
    -------
    bytes
        UTF-8 with CRLF, lines of at most 75 bytes. The name of an entry follows from the trial and the number of
        the trial day, so a day that a holiday moves keeps its entry. Sequence numbers never fall with time: they
        are at least the days since the trial began, so a new plan wins even where the earlier file is lost.

    Raises
    ------
    InputError
        If the zone or the earlier file cannot be used, or `stamp` has no time zone.
    """
    if stamp.tzinfo is None:
        raise InputError(tr("`stamp` has no time zone; wanted a moment such as datetime.now(UTC)."))
    tz = _zone(zone, at)
    old = {} if earlier is None else _entries(earlier)
    least = max((stamp.astimezone(UTC).date() - protocol.start).days, 0)
    out = icalendar.Calendar()
    out.add("prodid", PRODID)
    out.add("version", "2.0")
    out.add("calscale", "GREGORIAN")
    out.add("x-wr-calname", tr("Reeds: {trial}").format(trial=in_one_line(protocol.trial)))
    for day in days:
        if to_play(day) or day.said:
            event = _event(protocol, day, stamp, at, tz)
            if remind and at is not None:
                event.add_component(_reminder(event))
            event.add("sequence", _sequence(event, old.pop(str(event["uid"]), None), least))
            out.add_component(event)
    first = min((d.on for d in days), default=None)
    if first is not None:
        for event in old.values():
            out.add_component(_carried(event, stamp, first, least))
    if tz is not None:
        out.add_missing_timezones(*_years(out))
    return bytes(out.to_ical())


def is_ours(text: bytes) -> bool:
    """Return True if these are the bytes of a file that `calendar` made."""
    return PRODID.encode() in text[:400]


def _zone(zone: str | None, at: time | None) -> zoneinfo.ZoneInfo | None:
    if zone is None:
        return None
    if at is None:
        raise InputError(tr("A time zone needs a time of day too, such as 18:00."))
    try:
        return zoneinfo.ZoneInfo(zone)
    except (ValueError, OSError, zoneinfo.ZoneInfoNotFoundError):
        raise InputError(tr("The time zone {zone!r} is not known; wanted a name such as Europe/Vienna.").format(
                             zone=zone)) from None


def _years(book: icalendar.Calendar) -> tuple[date, date]:
    """Return the first and last day for which the zone's rules are written out."""
    years = [e.decoded("dtstart").year for e in book.walk("VEVENT")] or [1970]
    return date(min(years) - 1, 1, 1), date(max(years) + 2, 1, 1)


def _entries(text: bytes) -> dict[str, icalendar.Event]:
    try:
        if not is_ours(text):
            raise ValueError
        found = icalendar.Calendar.from_ical(text).walk("VEVENT")
        return {str(e["uid"]): e for e in found if isinstance(e, icalendar.Event)}
    except (ValueError, KeyError):
        raise InputError(tr("The earlier calendar cannot be read. Write to a new file.")) from None


def _event(protocol: Protocol, day: PlayDay, stamp: datetime, at: time | None,
           tz: zoneinfo.ZoneInfo | None) -> icalendar.Event:
    what = tr("day {number}").format(number=day.number) if day.number is not None else day.on.isoformat()
    digest = hashlib.sha256(f"{protocol.sha256} {what}".encode()).hexdigest()[:32]
    lines = to_play(day)
    minutes = sum(x.minutes for x in lines)
    told = " " + tr("({minutes:g} min)").format(minutes=minutes) if minutes else ""
    free = [x.reed for x in day.lines if x.kind == "free"]
    trial = in_one_line(protocol.trial)
    text = [trial if day.number is None else tr("{trial}, day {number} of {days}").format(
                trial=trial, number=day.number, days=protocol.days),
            *day.said, *(_line(protocol, n, x) for n, x in enumerate(lines, start=1)),
            *([tr("Then as you like: {free}").format(free=", ".join(free))] if free else []), CAUTIONS["pain"].text]
    title = (tr("Reeds {reed}{told}").format(reed=", ".join(x.reed for x in lines), told=told) if lines else
             tr("Reeds: each in its way"))
    event = icalendar.Event()
    event.add("uid", f"{digest}@reedlab")
    event.add("dtstamp", stamp.astimezone(UTC))
    if at is None:
        event.add("dtstart", day.on)
        event.add("dtend", day.on + timedelta(days=1))
    else:
        event.add("dtstart", datetime.combine(day.on, at, tzinfo=tz))
        event.add("duration", timedelta(minutes=max(minutes, 5)))
    event.add("summary", title)
    event.add("description", "\n".join(text))
    event.add("transp", "TRANSPARENT")
    return event


def _line(protocol: Protocol, n: int, line: Line) -> str:
    parts = [tr("{minutes:g} min").format(minutes=line.minutes)] if line.minutes else []
    if line.kind in NO_WAY:
        parts.append(NO_WAY[line.kind])
    elif line.habit is not None:
        parts.append(in_one_line(told_way(protocol, line.habit)))
    return f"{n}. {line.reed}: {', '.join(parts)}" if parts else f"{n}. {line.reed}"


def _reminder(event: icalendar.Event) -> icalendar.Alarm:
    """Return a reminder when the entry begins (RFC 5545, 3.6.6)."""
    alarm = icalendar.Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", str(event["summary"]))
    alarm.add("trigger", timedelta(0))
    return alarm


def _sequence(event: icalendar.Event, old: icalendar.Event | None, least: int) -> int:
    if old is None:
        return least
    before = int(old.get("sequence", 0))
    same = _told(event) == _told(old)
    return before if same else max(before + 1, least)


def _told(event: icalendar.Event) -> dict[str, object]:
    """Return what a player would see of an entry."""
    names = ("dtstart", "dtend", "duration", "summary", "description", "status")
    seen: dict[str, object] = {k: event[k].to_ical() for k in names if k in event}
    zone = event["dtstart"].params.get("TZID")
    seen["reminded"] = len(event.walk("VALARM"))
    return seen | ({"zone": str(zone)} if zone else {})


def _carried(event: icalendar.Event, stamp: datetime, first: date, least: int) -> icalendar.Event:
    """Keep an entry of an earlier plan as it was if its day is over, else cancel it."""
    start = event.decoded("dtstart")
    on = start.date() if isinstance(start, datetime) else start
    if on < first or str(event.get("status", "")) == "CANCELLED":
        return event
    out: icalendar.Event = event.copy()
    for name in ("dtstamp", "sequence", "status"):
        out.pop(name, None)
    out.add("dtstamp", stamp.astimezone(UTC))
    out.add("sequence", max(int(event.get("sequence", 0)) + 1, least))
    out.add("status", "CANCELLED")
    return out
