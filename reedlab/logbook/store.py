"""The logbook: one SQLite file that never forgets an entry."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from typing import TYPE_CHECKING, Any

import pandas as pd

from ..errors import EntryRefused, Fault, InputError, LogbookError
from ..rows.records import Look, Record
from ..rows.tables import TABLES
from ..rows.values import read_row
from ..trial.opened_boxes import deal_rows, opening, with_boxes
from ..trial.protocol import Protocol
from ..wording import tr
from . import _rows
from ._admission import newly_wrong, still_held
from ._concerned import Change
from ._reading import LogbookRead, Rows, known_table
from .between import key_of
from .schema import quoted

__all__ = ["Logbook"]

if TYPE_CHECKING:
    from .incoming import Entry

_KEPT_FOR_GOOD = {
    "trials": tr("A trial that has started stays in the logbook; end it instead."),
    "looks": tr("An early look stays in the logbook: it cannot be unseen."),
    "deals": tr("What a box was dealt stays in the logbook. Retire or set aside a reed instead."),
}


class Logbook(LogbookRead):
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
        return self._add_rows([(known_table(table), row) for row in frame.to_dict("records")])

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

    @contextmanager
    def merging(self) -> Iterator[tuple[Rows, Rows, Callable[[str, Sequence[Entry]], None]]]:
        """Hand over the current rows, all entries and a function that writes checked entries, in one transaction.

        For `reedlab.logbook.exchange`: the caller has checked what it writes. Entry numbers are kept where
        the table is empty, else given anew.
        """
        with self._writing():
            current, every = self.all_rows()

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

            yield current, every, write

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
                faults += still_held(starting, self._find)
            if faults:
                raise EntryRefused(faults)
            return [self._insert(c.table, c.new) for c in fresh if c.new is not None]

    def _replace(self, table: str, entry_id: int, values: Mapping[str, Any] | None) -> int:
        """Supersede an entry with new values, or with a withdrawal where `values` is None."""
        with self._writing():
            old = _rows.entry(self._connection, known_table(table), entry_id)
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
