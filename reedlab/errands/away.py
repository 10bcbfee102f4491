"""The page of one file: made from a logbook for its player, and what it hands back read into the logbook."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from ..errors import EntryRefused, InputError
from ..handout.away import away_page
from ..handout.handed_back import LARGEST, SITTING, THE_TEXT, HandedBack, read_handed_back
from ..logbook import Logbook
from ..rows.records import Day, Retirement, Sitting
from ..rows.tables import TABLES
from ..schedule import schedule
from ..screens import Asked
from ..screens.due import reeds_in_use
from ..screens.saving import asked
from ..screens.words import fault_in_words
from ..trial.calendar import runs_until_done
from ..wording import date_month, tr, trn
from .by_day import add_by_day
from .papers import Written, write_page
from .read_trial import pick_trial

__all__ = ["TakenIn", "Unsure", "page_for", "read_away", "read_for_pupil", "text_of", "write_away"]

_AHEAD: Final = 56  # days of a page, where a trial runs until every reed is done
_RECORDS: Final = {"sittings": Sitting, "days": Day, "retirements": Retirement}

Row = Mapping[str, Any]


@dataclass(frozen=True)
class TakenIn:
    """What became of what a page handed back: rows that are new, changed or taken back, and what was there already.

    `left` tells, a sentence each, what was left as the logbook has it.
    """

    trial: str
    added: int
    changed: int
    taken_back: int
    there: int
    left: tuple[str, ...]

    def __str__(self) -> str:
        counts = ((self.added, tr("{n} new")), (self.changed, tr("{n} changed")),
                  (self.taken_back, tr("{n} taken back")))
        new = ", ".join(word.format(n=n) for n, word in counts if n) or tr("nothing new")
        lines = [tr("Read in for {trial}: {new}.").format(trial=self.trial, new=new)]
        if self.there:
            lines.append(trn("{n} was in the logbook already.", "{n} were in the logbook already.",
                             self.there).format(n=self.there))
        return "\n".join([*lines, *self.left])


def write_away(logbook: Logbook, path: Path, *, today: date, trial: str | None = None, code: str = "") -> Written:
    """Write the page of one file for a trial: all its days to come, or eight weeks where it has no last day.

    `code` is the pupil's, where the page goes to a teacher. Raises InputError if the file is another's, or the trial
    is over.
    """
    write_page(path, page_for(logbook, today=today, trial=trial, code=code))
    told = tr("Send it to the phone or computer that goes along, and open it there with a browser. After a change of "
              "plan make it again; the same browser keeps what was typed.")
    return Written(path, (told,))


def page_for(logbook: Logbook, *, today: date, trial: str | None = None, code: str = "") -> str:
    """Return the page of one file for a trial, as `write_away` writes it; InputError if the trial is over."""
    protocol, frames = logbook.protocol(pick_trial(logbook, trial)), logbook.frames()
    plan = schedule(protocol, frames, today=today, days=_AHEAD if runs_until_done(protocol) else None)
    days = [d for d in plan.days if d.state != "over" and (d.state != "waiting" or d.lines)]
    if not days:
        raise InputError(tr("The trial '{trial}' is over: there is nothing left to write down for it.").format(
            trial=protocol.trial))
    return away_page(protocol, days, reeds_in_use(frames, today), code=code, made=today)


def text_of(content: bytes, name: str) -> str:
    """Return the text of a file that may be one that a page made; InputError if it cannot be."""
    if len(content) > LARGEST:
        raise InputError(tr("{name}: a very large file; wanted the file that the page makes.").format(name=name))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise InputError(tr("{name}: no text; wanted the file that the page makes.").format(name=name)) from None


class Unsure(InputError):
    """Some entries look odd; nothing was read in yet. `token` is the yes to what is asked in `lines`."""

    def __init__(self, question: Asked) -> None:
        super().__init__("\n".join([tr("Nothing was read in yet. Is this right?"), *question.lines]))
        self.lines, self.token = question.lines, question.token


def read_away(logbook: Logbook, text: str, name: str = THE_TEXT, *, sure: str | None = None) -> TakenIn:
    """Read what a page handed back into a logbook: all of it or nothing, and each thing once.

    A row that the logbook has or had under the page's own name is not read in again; one that was changed on the page
    since is a correction. What was changed or taken back in the logbook stays as it is there.

    Parameters
    ----------
    logbook : Logbook
    text, name : str
        The page's file or text, and what to call it in a message.
    sure : str, optional
        The token of the question that this answers with yes.

    Raises
    ------
    Unsure
        Entries that look odd: hand them in again with its token.
    ExchangeError, InputError
        A foreign or changed text, another plan, and everything that cannot be saved, each named. Nothing was read in.
    """
    handed = read_handed_back(text, name)
    trial = _trial_of(logbook, handed, name)
    with logbook.together():
        return _Reading(logbook, trial).take(handed, sure)


def _trial_of(logbook: Logbook, handed: HandedBack, name: str) -> str:
    trials = logbook.frame("trials")
    mine = trials.loc[trials["protocol_sha256"] == handed.plan, "trial"]
    if not len(mine):
        raise InputError(tr("{name}: it belongs to the plan of '{trial}' with the fingerprint {plan}, which is not in "
                            "this logbook. Nothing was read in.").format(
                                name=name, trial=handed.trial, plan=handed.plan[:12]))
    return str(mine.iloc[0])


def read_for_pupil(books: Mapping[str, Path], text: str, name: str = THE_TEXT, *, sure: str | None = None,
                   now: Callable[[], datetime] | None = None) -> tuple[str, TakenIn]:
    """Read what a pupil's page handed back into the logbook that is kept for the pupil.

    Parameters
    ----------
    books : mapping of code to Path
        The logbooks kept. Whose it is, the fingerprint of the deal says: no two pupils have the same.
    text, name, sure
        As for `read_away`.
    now : callable, optional
        The clock of the logbooks.

    Returns
    -------
    str, TakenIn
        The pupil's code, and what became of it.
    """
    handed = read_handed_back(text, name)
    for code, path in books.items():
        with Logbook.open(path, read_only=True) as logbook:
            mine = handed.plan in set(logbook.frame("trials")["protocol_sha256"])
        if mine:
            with Logbook.open(path, now=now) as logbook:
                return code, read_away(logbook, text, name, sure=sure)
    raise InputError(tr("{name}: it was made from the plan of '{trial}' with the fingerprint {plan}, and no logbook "
                        "kept here has that plan. Ask the pupil for the page that you made, and for what it hands "
                        "back.").format(name=name, trial=handed.trial, plan=handed.plan[:12]))


class _Reading:
    """One reading: faults and questions are gathered, the logbook is written as if there were none."""

    def __init__(self, logbook: Logbook, trial: str) -> None:
        self.logbook, self.trial = logbook, trial
        self.faults: list[str] = []
        self.odd: list[str] = []
        self.left: list[str] = []
        self.counts: dict[str, int] = defaultdict(int)
        self.now: dict[str, dict[Any, dict[str, Any]]] = {}
        self.ever: dict[str, dict[Any, list[dict[str, Any]]]] = {}
        for table in _RECORDS:
            self.now[table], self.ever[table] = logbook.by_key(table)

    def take(self, handed: HandedBack, sure: str | None) -> TakenIn:
        self._withdraw("sittings", handed.taken_back)
        self._withdraw("retirements", [r["reed"] for r in handed.retirements if r["reason"] is None
                                       and self.now["retirements"].get(r["reed"], {}).get("date") == r["date"]])
        said = {(r["date"], r["reed"], r["play_min"], r["overall"]): key for key, r in self.now["sittings"].items()}
        fresh: list[Row] = []
        for row in handed.sittings:
            other = said.get((row["date"], row["reed"], row["play_min"], row["overall"]), row["sitting"])
            if other != row["sitting"] and not other.startswith("away-"):
                self.counts["there"] += 1  # typed in at the desk, too
            elif self._is_news("sittings", row, SITTING):
                fresh.append(row)
        self._sittings(fresh)
        for row in handed.days:
            if self._is_news("days", row, list(row)) and (row["date"] in self.now["days"] or _says(row)):
                self._put("days", {**_plain("days", self.now["days"].get(row["date"], {})), **row})
        for row in handed.retirements:
            if row["reason"] is not None and self._is_news("retirements", row, ["reed", "date", "reason"]):
                self._put("retirements", row)
        if self.faults:
            head = tr("Nothing was read in yet. To put right on the page, then hand back once more:")
            raise InputError("\n".join([head, *self.faults]))
        question = asked(self.odd)
        if self.odd and sure != question.token:
            raise Unsure(question)
        return TakenIn(self.trial, self.counts["added"], self.counts["changed"], self.counts["taken_back"],
                       self.counts["there"], tuple(self.left))

    def _withdraw(self, table: str, keys: Sequence[str]) -> None:
        for key in keys:
            old = self.now[table].pop(key, None)
            if old is not None:
                self.logbook.withdraw(table, old["entry_id"])
                self.counts["taken_back"] += 1

    def _is_news(self, table: str, row: Row, columns: Sequence[str]) -> bool:
        """Say whether the logbook never had this row; count it, or tell of it, where it did."""
        key = row[TABLES[table].key[0]]
        now, ever = self.now[table].get(key), self.ever[table][key]
        if now is not None and all(now[c] == row[c] for c in columns):
            self.counts["there"] += 1
        elif any(all(old[c] == row[c] for c in columns) for old in ever) or (ever and now is None):
            told = tr("{what} was taken back in the logbook since, and stays so.") if now is None else tr(
                "{what} was changed in the logbook since, and stays so.")
            self.left.append(told.format(what=_named(row)))
        else:
            return True
        return False

    def _sittings(self, rows: Sequence[Row]) -> None:
        new = [r for r in rows if r["sitting"] not in self.now["sittings"]]
        done = add_by_day(self.logbook, new)
        self.counts["added"] += len(done.numbers)
        self.odd += done.odd
        self.faults += [*done.lacking, *(
            f"{tr('The logbook') if n is None else _named(new[n])}: {fault_in_words(f)}" for n, f in done.faults)]
        for row in rows:
            old = self.now["sittings"].get(row["sitting"])
            if old is not None:
                self._put("sittings", {**_plain("sittings", old), **{c: row[c] for c in SITTING}})

    def _put(self, table: str, row: Row) -> None:
        known = row[TABLES[table].key[0]] in self.now[table]
        try:
            self.logbook.put(_RECORDS[table](**row))
            self.counts["changed" if known else "added"] += 1
        except EntryRefused as err:
            self.faults += [f"{_named(row)}: {fault_in_words(f)}" for f in err.faults]


def _says(day: Row) -> bool:
    return any(value for column, value in day.items() if column != "date")


def _plain(table: str, row: Row) -> dict[str, Any]:
    return {c: row[c] for c in TABLES[table].columns if c in row}


def _named(row: Row) -> str:
    on = row["date"]
    return f"{row.get('reed', tr('The day'))}, {date_month(on)}"
