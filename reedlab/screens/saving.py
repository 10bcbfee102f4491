"""What may be saved on the Today page: looked over, asked about once, written, each with an answer in plain data.

Every face asks here, so that none allows what another refuses.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, Protocol

import pandas as pd

from ..errors import EntryRefused
from ..rows.prefilled import placed
from ..rows.records import Record, Sitting
from ..rows.tables import Frames
from ..rows.values import as_it_stands, read_row
from ..trial.protocol import Protocol as Plan
from ..wording import tr
from .due import TrialDay, needs_rating, odd_things, running
from .words import faults_in_words, lines_of, read_back, spoken_row

__all__ = ["AS_PLANNED", "Asked", "Entry", "Looked", "Refused", "Written", "asked", "entry_of", "look_over", "save",
           "take_back", "written_words"]

#: In the place of a way: the one the plan says for this reed and day, if it says one.
AS_PLANNED: Final = tr("as planned")
_GONE: Final = tr("This entry was changed or taken back since. Look at it again.")


#: Gives the trials of a day (`due.running`) where they have been reckoned already.
Known = Callable[[date], Sequence[TrialDay]]


class Store(Protocol):
    """What is needed of a logbook."""

    def together(self) -> AbstractContextManager[None]: ...
    @property
    def today(self) -> date: ...
    def frames_since(self, day: date) -> Frames: ...
    def protocol(self, trial: str) -> Plan: ...
    def add(self, record: Record) -> int: ...
    def put(self, record: Record) -> int: ...
    def correct(self, table: str, entry_id: int, record: Record) -> int: ...
    def withdraw(self, table: str, entry_id: int) -> int: ...
    def history(self, table: str, entry_id: int) -> pd.DataFrame: ...
    def day_of_sitting(self, name: str) -> date | None: ...


@dataclass(frozen=True)
class Entry:
    """One sitting as a face hands it in.

    `row` holds what was typed, by column, unchecked. `key` names the sitting for good, so that the same entry sent
    twice is written once. `changed` is the entry it takes the place of: columns not in `row` stay. `sure` is the
    token of the question that it answers with yes.
    """

    row: Mapping[str, Any]
    key: str | None = None
    changed: int | None = None
    sure: str | None = None


@dataclass(frozen=True)
class Refused:
    """Nothing was written; each line says what to put right."""

    lines: tuple[str, ...]


@dataclass(frozen=True)
class Asked:
    """Nothing was written yet: is this right? Hand the entry in again with `token` as its `sure`."""

    lines: tuple[str, ...]
    token: str


@dataclass(frozen=True)
class Written:
    """It is in the logbook. `spoken` is the line as read back, by title; empty for one that was taken back.

    `again` is True where it stood there before, because the same entry was sent twice.
    """

    entry_id: int | None
    spoken: Mapping[str, str] = field(default_factory=dict)
    again: bool = False


@dataclass(frozen=True)
class Looked:
    """Rows looked over: their values by column, what must be put right and what looks odd, in lines."""

    rows: tuple[dict[str, Any], ...]
    faults: tuple[str, ...]
    odd: tuple[str, ...]


def look_over(rows: Sequence[Mapping[str, Any]], frames: Frames, protocols: Mapping[str, Plan], *,
              changed: int | None = None, known: Known | None = None) -> Looked:
    """Read rows of sittings and say what keeps them from being saved.

    Parameters
    ----------
    rows : sequence of mapping
        What was typed, by column; a `habit` of `AS_PLANNED` is looked up.
    frames : Frames
        The logbook as it stands.
    protocols : mapping
        The plan of every trial by name.
    changed : int, optional
        The entry that the one row takes the place of.
    known : callable, optional
        Gives the trials of a day (`due.running`) where they have been reckoned already.

    Returns
    -------
    Looked
        Odd rows are marked as confirmed: they are written only after a yes.
    """
    if changed is not None:
        others = frames.sittings[frames.sittings["entry_id"] != changed]
        frames = Frames.trusted(**{**vars(frames), "sittings": others})
    read, lines, odd = [], [], []
    of_day: dict[date, Sequence[TrialDay]] = {}
    for row in rows:
        as_planned = row.get("habit") == AS_PLANNED
        values, faults = read_row("sittings", {**row, "habit": None} if as_planned else row)
        said = faults_in_words(faults)
        on = values["date"]
        if on is not None and on not in of_day:
            of_day[on] = running(protocols, frames, on) if changed is not None or known is None else known(on)
        days = of_day.get(on, [])
        if as_planned:
            values["habit"] = _planned_way(values, days)
        asked = needs_rating(values, days) if changed is None else ""
        if asked and values[asked] is None:
            said.append(tr("Overall: it is empty. How did the reed play, from 0 to 10?") if asked == "overall" else
                        tr("Better go: it is empty. Which go was better, and by how much? No difference will do."))
        lines += [f"{row.get('reed')}: {line}" for line in said] if len(rows) > 1 else said
        if not said:
            found = odd_things(values, frames, days)
            values["confirmed"] = bool(found)
            odd += found
        read.append(values)
    return Looked(tuple(read), tuple(lines), tuple(odd))


def _planned_way(values: Mapping[str, Any], days: Sequence[TrialDay]) -> str | None:
    if values["where"] not in (None, "practice"):
        return None  # a rehearsal or a concert is the player's own choice
    for day in days:
        if values["reed"] in day.protocol.reeds and day.day is not None and day.protocol.masked != "helper":
            planned = day.way_for(values["reed"])
            return None if planned is None else planned.key
    return None


def save(logbook: Store, entry: Entry, known: Known | None = None) -> Refused | Asked | Written:
    """Save one sitting, or say why not. All of it happens in one transaction of the logbook.

    `known` gives the trials of a day as the logbook stands, where they have been reckoned already.
    """
    try:
        with logbook.together():
            return _save(logbook, entry, known)
    except EntryRefused as err:
        return Refused(tuple(lines_of(err)))


def _save(logbook: Store, entry: Entry, known: Known | None) -> Refused | Asked | Written:
    before = None if entry.key is None or entry.changed is not None else logbook.day_of_sitting(entry.key)
    first = min([logbook.today, *_days(logbook, entry), *([before] if before is not None else [])])
    frames = logbook.frames_since(first)
    if before is not None:
        here = frames.sittings[frames.sittings["sitting"] == entry.key]
        return _written(logbook, frames, int(here["entry_id"].iloc[0]) if len(here) else None, again=True)
    row = dict(entry.row)
    if entry.changed is not None:
        old = as_it_stands("sittings", frames.sittings, entry_id=entry.changed)
        if not old:
            return _changed_before(logbook, frames, entry)
        row = {**old, **row}
    elif entry.key is not None:
        row["sitting"] = entry.key
    protocols = {str(t): logbook.protocol(str(t)) for t in frames.trials["trial"]}
    looked = look_over([row], frames, protocols, changed=entry.changed, known=known)
    if looked.faults:
        return Refused(looked.faults)
    if looked.odd and entry.sure != (question := asked(looked.odd)).token:
        return question
    record = Sitting(**placed(looked.rows, frames.sittings, changed=entry.changed)[0])
    number = logbook.add(record) if entry.changed is None else logbook.correct("sittings", entry.changed, record)
    return _written(logbook, frames, number)


def _days(logbook: Store, entry: Entry) -> list[date]:
    """Return the days that an entry speaks of: its own, and those of the entry that it takes the place of."""
    on = read_row("sittings", {"date": entry.row.get("date")})[0]["date"]
    old = [] if entry.changed is None else [d.date() for d in logbook.history("sittings", entry.changed)["date"]]
    return [*old, *([] if on is None else [on])]


def take_back(logbook: Store, entry_id: int) -> Refused | Written:
    """Take a sitting back; twice is once. The history keeps it."""
    with logbook.together():
        chain = logbook.history("sittings", entry_id)
        gone, last = bool(chain["withdrawn"].iloc[-1]), int(chain["entry_id"].iloc[-1])
        if not gone and last == entry_id:
            logbook.withdraw("sittings", entry_id)
            return Written(None)
        return Written(None, again=True) if gone else Refused((_GONE,))


def asked(lines: Sequence[str]) -> Asked:
    """Return the question whether what looks odd is right; equal lines make an equal token."""
    return Asked(tuple(lines), hashlib.sha256("\n".join(lines).encode("utf-8")).hexdigest()[:16])


def _changed_before(logbook: Store, frames: Frames, entry: Entry) -> Refused | Written:
    """The same change sent twice is done; any other must be made to the newest entry."""
    chain = logbook.history("sittings", int(entry.changed or 0))
    last = int(chain["entry_id"].iloc[-1])
    now = as_it_stands("sittings", frames.sittings, entry_id=last)
    if not now:
        return Refused((_GONE,))
    stands, _ = read_row("sittings", now)
    wanted, _ = read_row("sittings", {**stands, **entry.row})
    same = all(stands[c] == wanted[c] for c in wanted if c != "confirmed")
    return _written(logbook, frames, last, again=True) if same else Refused((_GONE,))


def _written(logbook: Store, frames: Frames, number: int | None, *, again: bool = False) -> Written:
    if number is None:
        return Written(None, again=again)
    habits = {h.key: h.name for t in frames.trials["trial"] for h in logbook.protocol(str(t)).habits}
    row = logbook.history("sittings", number).set_index("entry_id").loc[number]
    return Written(number, spoken_row("sittings", row.to_dict(), habits), again)


def written_words(answers: Sequence[Written]) -> str:
    """Return what became of entries that are in the logbook, each as read back, in one sentence."""
    read = "; ".join(read_back(a.spoken) for a in answers if a.spoken) or tr("an entry that was taken back since")
    again = all(a.again for a in answers)
    return (tr("In the book already: {read}.") if again else tr("Saved: {read}.")).format(read=read)


def entry_of(frames: Frames, number: int, protocols: Mapping[str, Plan]) -> dict[str, str]:
    """Return an entry as it stands, in words by title; empty if it no longer counts."""
    row = frames.sittings[frames.sittings["entry_id"] == number]
    habits = {h.key: h.name for p in protocols.values() for h in p.habits}
    return spoken_row("sittings", row.iloc[0].to_dict(), habits) if len(row) else {}
