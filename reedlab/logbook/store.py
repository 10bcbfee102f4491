"""The logbook: one SQLite file that never forgets an entry."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import pandas as pd

from ..errors import EntryRefused, Fault, InputError, LogbookError, ProtocolError
from ..folder.clock import is_invented
from ..rows.recent import REEDS_GONE, SITTINGS
from ..rows.records import Look, Record
from ..rows.tables import TABLES, Frames, typed
from ..rows.values import read_row
from ..trial.opened_boxes import deal_rows, opening, with_boxes
from ..trial.protocol import Protocol
from ..wording import tr
from . import _excerpts, _rows
from ._admission import newly_wrong
from ._audit import audit
from ._concerned import Change, held_by
from ._damage import WAY_BACK, Damaged
from ._file import LogbookFile, soundly
from ._held import still_held
from ._salvage import salvage
from .between import key_of
from .schema import quoted

__all__ = ["Logbook"]

if TYPE_CHECKING:
    from .incoming import Entry

Rows = Mapping[str, Sequence[Mapping[str, Any]]]

_KEPT_FOR_GOOD = {
    "trials": tr("A trial that has started stays in the logbook; end it instead."),
    "looks": tr("An early look stays in the logbook: it cannot be unseen."),
    "deals": tr("What a box was dealt stays in the logbook. Retire or set aside a reed instead."),
}


class Logbook(LogbookFile):
    """One player's logbook. Use as a context manager, or close it when done.

    Entries are never overwritten. A correction is a new entry that takes an earlier one's place; a
    withdrawal is an entry that takes an earlier one back; `history` shows them all.

    Make one with `Logbook.create` or `Logbook.open`.
    """


    def add(self, record: Record) -> int:
        """Add one record and return its entry number.

        Raises
        ------
        EntryRefused
            With every fault: of the values, and against the rest of the logbook.
        """
        return self.add_many([record])[0]

    def add_many(self, records: Iterable[Record]) -> list[int]:
        """Add records, all or none, and return their entry numbers. Much quicker than one by one."""
        return self._add_rows([(r.table, _rows.as_mapping(r)) for r in records])

    def add_frame(self, table: str, frame: pd.DataFrame) -> list[int]:
        """Add the rows of a frame with the table's columns, all or none, and return their entry numbers.

        Raises EntryRefused with every fault of every row, and InputError for a table that is not known.
        """
        return self._add_rows([(_known(table), row) for row in frame.to_dict("records")])

    @contextmanager
    def together(self) -> Iterator[None]:
        """Make what is added, put, corrected or withdrawn within one: all of it or nothing."""
        with self._writing():
            yield

    def put(self, record: Record) -> int:
        """Add a record, or correct the row with the same key (a day, a reed ...), and return its entry number.

        A row that says the same already is left as it is.
        """
        row, _ = read_row(record.table, _rows.as_mapping(record))
        key = key_of(record.table, row)
        same = [] if key is None else self._current(
            record.table, " AND ".join(f"{quoted(c)} = ?" for c in TABLES[record.table].key),
            [k.isoformat() if isinstance(k, date) else k for k in key])
        if not same:
            return self.add(record)
        old = same[0]
        if all(old[c] == v for c, v in row.items()):
            return int(old["entry_id"])
        return self.correct(record.table, old["entry_id"], record)

    def correct(self, table: str, entry_id: int, record: Record) -> int:
        """Put `record` in the place of an entry and return the new entry's number. The old one is kept."""
        if record.table != table:
            raise InputError(tr("This record belongs into {table}, not {table2}.").format(
                                 table=record.table, table2=table))
        if table in _KEPT_FOR_GOOD:
            raise LogbookError(_KEPT_FOR_GOOD[table])
        return self._replace(table, entry_id, _rows.as_mapping(record))

    def withdraw(self, table: str, entry_id: int) -> int:
        """Take an entry back (it stays in the history) and return the number of the entry that does so."""
        if table in _KEPT_FOR_GOOD:
            raise LogbookError(_KEPT_FOR_GOOD[table])
        return self._replace(table, entry_id, None)

    def start_trial(self, protocol: Protocol) -> int:
        """Freeze a plan with its fingerprint and return the entry number.

        The boxes that a standing plan has opened are written down with it. Raises EntryRefused if its reeds are not
        in the logbook or serve in another trial still, or a trial of this name is there.
        """
        return self._add_rows([("trials", {
            "trial": protocol.trial, "started": protocol.start, "protocol_sha256": protocol.sha256,
            "protocol": protocol.to_json()}), *(("deals", r) for r in deal_rows(protocol))], starting=protocol)[0]

    def open_box(self, trial: str, reeds: Sequence[str], on: date) -> Protocol:
        """Deal a new box in a standing trial, as its frozen plan deals it; return the plan with the box.

        Parameters
        ----------
        trial : str
        reeds : sequence of str
            The reeds to deal, best first play first; leave out those set aside.
        on : date

        Raises
        ------
        EntryRefused, InputError, LogbookError
            It is no standing trial, it has ended, or a reed cannot be dealt.
        """
        with self._writing():
            plan = self.protocol(trial)
            ended = self._trial(trial)["ended"]
            if ended is not None:
                raise LogbookError(tr("The trial '{trial}' was ended on {ended}; it takes in no new box.").format(
                                       trial=trial, ended=ended))
            rows = opening(plan, reeds, on)
            self._add_rows([("deals", r) for r in rows], starting=with_boxes(plan, rows))
            return self.protocol(trial)

    def end_trial(self, trial: str, on: date, why: str) -> int:
        """End a trial by hand, on a day and with a reason, and return the entry number."""
        old = self._trial(trial)
        if old["ended"] is not None:
            raise LogbookError(tr("The trial '{trial}' was ended on {ended} already.").format(
                                   trial=trial, ended=old["ended"]))
        return self._replace("trials", old["entry_id"],
                             {c: old[c] for c in TABLES["trials"].columns} | {"ended": on, "ended_why": why})

    def record_look(self, trial: str, on: date, why: str) -> int:
        """Write down an early look at a running trial. A second look on one day is the same look."""
        self._trial(trial)
        for old in self._current("looks", "trial = ? AND date = ?", (trial, on.isoformat())):
            return int(old["entry_id"])
        return self.add(Look(trial=trial, date=on, why=why))


    def frame(self, table: str) -> pd.DataFrame:
        """Return a table's current rows, typed, with `entry_id` and `entered_at` (UTC) at the end."""
        return self._framed(table, self._current(table), ("entry_id", "entered_at"))

    @soundly
    def frames(self) -> Frames:
        """Return all current rows, read in one go."""
        with self._reading():
            raw = {name: _rows.raw(self._connection, name) for name in TABLES}
        return self._frames({name: _rows.said(name, rows) for name, rows in raw.items()})

    #: a logbook is read as of today and names nobody; a copy of a trial has its own day and code
    read_on: date | None = None
    player: str = ""

    @property
    def invented(self) -> bool:
        """Whether this is the demo's logbook."""
        return is_invented(self.path.parent)

    @soundly
    def frames_since(self, day: date) -> Frames:
        """Return the current rows that matter for a day and all after it: what may be played and asked then.

        All that was ever written of the reeds in service and of the trials not over, and whatever is of that day
        or later. It costs the same after ten years.
        """
        with self._reading():
            rows = _excerpts.since(self._find, day)
        return self._frames(rows)

    @soundly
    def frames_of(self, trial: str) -> Frames:
        """Return the current rows that the answer of a trial rests on."""
        with self._reading():
            rows = _excerpts.of_trial(self._find, self.protocol(trial))
        return self._frames(rows)

    @soundly
    def frames_of_the_case(self, day: date) -> Frames:
        """Return the current rows for the reed case: those since a day, and what is recent (`rows.recent`)."""
        with self._reading():
            rows = _excerpts.of_the_case(self._find, day, SITTINGS, REEDS_GONE)
        return self._frames(rows)

    @soundly
    def history(self, table: str, entry_id: int) -> pd.DataFrame:
        """Return the whole chain an entry belongs to, oldest first.

        Columns: the table's, then `entry_id`, `entered_at`, `supersedes` and `withdrawn`.
        """
        with self._reading():
            chain = _rows.chain(self._connection, _known(table), entry_id)
        if not chain:
            raise LogbookError(tr("There is no entry {entry_id} in {table}.").format(entry_id=entry_id, table=table))
        frame = self._framed(table, chain, _rows.META)
        return frame.assign(supersedes=frame["supersedes"].astype("Int64"),
                            withdrawn=frame["withdrawn"].astype(bool))

    @soundly
    def day_of_sitting(self, name: str) -> date | None:
        """Return the first day that an entry of this name was ever given, taken back or not; None if there is none."""
        with self._reading():
            day = self._connection.execute("SELECT min(date) FROM sittings WHERE sitting = ?", (name,)).fetchone()[0]
        return None if day is None else date.fromisoformat(day)

    def day_of_last(self, sittings: int) -> date | None:
        """Return the day of the first of the last so many sittings; None while there are none."""
        with self._reading():
            found = self._connection.execute(
                "SELECT min(date) FROM (SELECT date FROM current_sittings ORDER BY date DESC LIMIT ?)",
                (sittings,)).fetchone()[0]
        return None if found is None else date.fromisoformat(found)

    @soundly
    def reeds_gone(self) -> int:
        """Return how many reeds have ever left service."""
        with self._reading():
            return int(self._connection.execute("SELECT count(DISTINCT reed) FROM current_retirements").fetchone()[0])

    @soundly
    def trial_names(self) -> list[str]:
        """Return the trials' names, in the order they were started."""
        with self._reading():
            return [name for name, in self._connection.execute(
                "SELECT trial FROM current_trials ORDER BY started, entry_id")]

    def protocols(self, frames: Frames) -> dict[str, Protocol]:
        """Return the plan of every trial in some rows of this logbook by name, in the order they were started."""
        trials = frames.trials.sort_values(["started", "entry_id"])
        return {str(name): self.protocol(str(name)) for name in trials["trial"]}

    def protocol(self, trial: str) -> Protocol:
        """Return a trial's frozen plan, with the boxes that a standing one has opened.

        Raises LogbookError if it no longer matches its fingerprint.
        """
        row = self._trial(trial)
        try:
            plan = Protocol.from_json(row["protocol"])
        except ProtocolError as err:
            raise LogbookError(tr("The plan of the trial '{trial}' cannot be read. {err}").format(
                                   trial=trial, err=err)) from err
        if plan.sha256 != row["protocol_sha256"]:
            raise LogbookError(tr("The plan of the trial '{trial}' no longer matches its fingerprint: it was changed "
                                  "after the start. Use a copy of the logbook from before.").format(trial=trial))
        return with_boxes(plan, self._current("deals", "trial = ?", (trial,))) if plan.standing else plan

    def check(self) -> list[str]:
        """Return a plain sentence for everything that is wrong in the logbook; empty if it is sound.

        Looks at the file itself and every entry's seal; where these are whole, at every current row, the rows
        against each other and the plans' fingerprints.
        """
        try:
            if not self.lost:
                with self._reading():
                    return audit(self._connection, self.today)
            lost = self.lost
        except Damaged:
            copy, lost = salvage(self.path)
            copy.close()
        return [*lost, WAY_BACK]

    @contextmanager
    def entries(self) -> Iterator[dict[str, tuple[_rows.Entries, _rows.Entries]]]:
        """Hand over by table the current rows and, as entered, all entries superseded or withdrawn.

        They are read one by one while they are asked for; of a damaged file opened to read, what is sound.
        """
        if self._read_only and not self.lost and not self._is_whole():
            self._salvage()
        with self._reading():
            yield {t: (_rows.Entries(self._connection, t), _rows.Entries(self._connection, t, past=True))
                   for t in TABLES}

    def _is_whole(self) -> bool:
        try:
            with self._reading():
                return all(_rows.is_whole(self._connection, table) for table in TABLES)
        except Damaged:
            return False

    @contextmanager
    def merging(self) -> Iterator[tuple[Rows, Rows, Callable[[str, Sequence[Entry]], None]]]:
        """Hand over the current rows, all entries and a function that writes checked entries, in one transaction.

        For `reedlab.logbook.exchange`: the caller has checked what it writes. Entry numbers are kept where
        the table is empty, else given anew.
        """
        with self._writing():
            every = {t: _rows.every(self._connection, t) for t in TABLES}

            def write(table: str, entries: Sequence[Entry]) -> None:
                numbers: dict[int, int] = {}
                keep = not every[table]
                for e in entries:
                    number = self._insert(
                        table, e.row, entered_at=e.entered_at, withdrawn=e.withdrawn,
                        supersedes=None if e.supersedes is None else numbers[e.supersedes],
                        entry_id=e.entry_id if keep else None)
                    if e.entry_id is not None:
                        numbers[e.entry_id] = number

            yield self._all_current(), every, write


    def _add_rows(self, raw: Sequence[tuple[str, Mapping[str, Any]]], *,
                  starting: Protocol | None = None) -> list[int]:
        with self._writing():
            taken: set[str] = set()
            faults: list[Fault] = []
            fresh = []
            for n, (table, values) in enumerate(raw, start=1):
                row, bad = read_row(table, values)
                faults += [Fault(table, n, *f) for f in bad]
                if table == "sittings" and row["sitting"] is None and row["date"] and row["reed"]:
                    taken |= _rows.names_taken(self._connection, row["date"], row["reed"])
                    row["sitting"] = _rows.sitting_name(row["date"], row["reed"], taken)
                fresh.append(Change(table, None, row))
            faults += newly_wrong(fresh, range(1, len(fresh) + 1), self._find, self.today)
            if starting is not None and not faults:
                faults += still_held(starting, held_by(starting, self._find))
            if faults:
                raise EntryRefused(faults)
            return [self._insert(c.table, c.new) for c in fresh if c.new is not None]

    def _replace(self, table: str, entry_id: int, values: Mapping[str, Any] | None) -> int:
        """Supersede an entry with new values, or with a withdrawal where `values` is None."""
        with self._writing():
            old = _rows.entry(self._connection, _known(table), entry_id)
            if old is None:
                raise LogbookError(tr("There is no entry {entry_id} in {table}.").format(
                                       entry_id=entry_id, table=table))
            if not self._find(table, "entry_id = ?", (entry_id,)):
                raise LogbookError(tr("Entry {entry_id} of {table} was corrected or withdrawn before. Look the row up "
                                      "again and change its newest entry.").format(entry_id=entry_id, table=table))
            faults: list[Fault] = []
            row: Mapping[str, Any] | None = None
            if values is not None:
                row, bad = read_row(table, values)
                faults += [Fault(table, 1, *f) for f in bad]
                if table == "sittings" and row["sitting"] is None:
                    row["sitting"] = old["sitting"]
            faults += [f for f in newly_wrong([Change(table, old, row)], [1], self._find, self.today)
                       if (f.file, f.column) != ("trials", "protocol")]  # a plan at fault must still be ended
            if faults:
                raise EntryRefused(faults)
            return self._insert(table, old if row is None else row, supersedes=entry_id, withdrawn=row is None)

    def _insert(self, table: str, row: Mapping[str, Any], *, entered_at: str | None = None,
                supersedes: int | None = None, withdrawn: bool = False, entry_id: int | None = None) -> int:
        self._make_ready()
        return _rows.insert(self._connection, table, row, entered_at=entered_at or _rows.stamp(self._now()),
                            supersedes=supersedes, withdrawn=withdrawn, entry_id=entry_id)

    def _find(self, table: str, where: str, values: Sequence[Any]) -> list[dict[str, Any]]:
        return _rows.current(self._connection, table, where, values)

    def _all_current(self) -> dict[str, list[dict[str, Any]]]:
        return {name: _rows.current(self._connection, name) for name in TABLES}

    @soundly
    def _current(self, table: str, where: str = "1", values: Sequence[Any] = ()) -> list[dict[str, Any]]:
        with self._reading():
            raw = _rows.raw(self._connection, _known(table), where, values)
        return _rows.said(table, raw)

    def _frames(self, rows: Rows) -> Frames:
        return Frames(**{name: self._framed(name, rows[name], ("entry_id", "entered_at")) for name in TABLES})

    def _framed(self, table: str, rows: Sequence[Mapping[str, Any]], more: Sequence[str]) -> pd.DataFrame:
        if not rows:
            return _no_rows(table, tuple(more)).copy()
        columns = [*TABLES[table].columns, *more]
        frame = typed(table, pd.DataFrame([[r[c] for c in columns] for r in rows], columns=columns, dtype=object))
        return frame.astype({"entry_id": "int64"})

    def _trial(self, trial: str) -> dict[str, Any]:
        for row in self._current("trials", "trial = ?", (trial,)):
            return row
        rows = self._current("trials")
        names = ", ".join(f"'{r['trial']}'" for r in rows)
        said = tr("There is no trial '{trial}' in this logbook. It has {names}.") if rows else tr(
            "There is no trial '{trial}' in this logbook. It has no trial yet.")
        raise LogbookError(said.format(trial=trial, names=names))


@lru_cache
def _no_rows(table: str, more: tuple[str, ...]) -> pd.DataFrame:
    none = pd.DataFrame(columns=[*TABLES[table].columns, *more], dtype=object)
    return typed(table, none).astype({"entry_id": "int64"})


def _known(table: str) -> str:
    if table not in TABLES:
        raise InputError(tr("There is no table '{table}'; the tables are {tables}.").format(
                             table=table, tables=", ".join(TABLES)))
    return table
