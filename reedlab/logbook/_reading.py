"""What can be read of an open logbook: its rows, frames, plans and history, and whether it is sound."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd

from ..errors import InputError, LogbookError, ProtocolError
from ..folder.clock import is_invented
from ..rows.recent import REEDS_GONE, SITTINGS
from ..rows.tables import TABLES, Frames, typed, typed_columns
from ..trial.opened_boxes import with_boxes
from ..trial.protocol import Protocol
from ..wording import tr
from . import _excerpts, _rows
from ._audit import audit
from ._damage import WAY_BACK, Damaged
from ._file import LogbookFile, soundly
from ._salvage import salvage

__all__ = ["LogbookRead", "Rows", "known_table"]

Row = dict[str, Any]
Rows = Mapping[str, Sequence[Mapping[str, Any]]]


class LogbookRead(LogbookFile):
    """A logbook as far as it is read; `Logbook` writes, too."""

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
            chain = _rows.chain(self._connection, known_table(table), entry_id)
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

    def all_rows(self) -> tuple[dict[str, list[Row]], dict[str, list[Row]]]:
        """Return by table the current rows, and all entries."""
        with self.entries() as entries:
            current = {t: list(now) for t, (now, _) in entries.items()}
            return current, {t: [*current[t], *past] for t, (_, past) in entries.items()}

    def by_key(self, table: str) -> tuple[dict[Any, Row], dict[Any, list[Row]]]:
        """Return by the first column of its key each current row of a table, and all entries, the current one first."""
        key = TABLES[table].key[0]
        ever: dict[Any, list[Row]] = defaultdict(list)
        with self.entries() as entries:
            now = {row[key]: row for row in entries[table][0]}
            for row in (*now.values(), *entries[table][1]):
                ever[row[key]].append(row)
        return now, ever

    def _is_whole(self) -> bool:
        try:
            with self._reading():
                return all(_rows.is_whole(self._connection, table) for table in TABLES)
        except Damaged:
            return False

    def _find(self, table: str, where: str, values: Sequence[Any]) -> list[dict[str, Any]]:
        return _rows.current(self._connection, table, where, values)

    @soundly
    def _current(self, table: str, where: str = "1", values: Sequence[Any] = ()) -> list[dict[str, Any]]:
        with self._reading():
            raw = _rows.raw(self._connection, known_table(table), where, values)
        return _rows.said(table, raw)

    def _frames(self, rows: Rows) -> Frames:
        return Frames(**{name: self._framed(name, rows[name], ("entry_id", "entered_at")) for name in TABLES})

    def _framed(self, table: str, rows: Sequence[Mapping[str, Any]], more: Sequence[str]) -> pd.DataFrame:
        if not rows:
            return _no_rows(table, tuple(more)).copy()
        columns = {c: np.fromiter((r[c] for r in rows), dtype=object, count=len(rows))
                   for c in (*TABLES[table].columns, *more)}
        return typed_columns(table, columns | {"entry_id": columns["entry_id"].astype("int64")}, len(rows))

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


def known_table(table: str) -> str:
    """Return the name of a table. Raises InputError if there is none of that name."""
    if table not in TABLES:
        raise InputError(tr("There is no table '{table}'; the tables are {tables}.").format(
                             table=table, tables=", ".join(TABLES)))
    return table
