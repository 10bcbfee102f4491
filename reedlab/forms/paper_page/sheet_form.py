"""Typing a filled sheet back in: a week of the plan, one row for each line of the paper."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import ipywidgets as w

from ...errands.away import Unsure
from ...errands.book import Book
from ...errands.type_back import SheetSaved, save_sheet
from ...errors import EntryRefused, Fault, InputError
from ...handout.reed_weeks import ReedWeek, reed_weeks
from ...handout.standing_sheet import SPARE
from ...handout.typed_back import planned_rows
from ...handout.week import week_of, weeks_begun
from ...rows.prefilled import left_empty
from ...rows.tables import Frames
from ...schedule import PlayDay
from ...screens.words import spoken_row, title
from ...trial.protocol import Protocol
from ...wording import all_of, tr, trn
from ..plan_page.words import scale_words
from ..shared.fields import Pick, dressed, fold, note, show_if, tick
from ..shared.form import Form, NotYet, rows_table
from .form import offer_trials
from .reed_week_row import ReedWeekRow
from .sheet_rows import DayCell, SheetRow

__all__ = ["SheetForm"]

_BY_DAY: Final = tr("Fill in what stands on your paper, day by day. Leave a row empty that you did not play. M: "
                    "written from memory. ?: not sure which reed.")
_BY_REED: Final = tr("Fill in the minutes that stand on your paper; leave a day empty on which a reed was not played. "
                     "A reed that is done left service on its last day with minutes, else on the last day of its row. "
                     "?: not sure which reed.")


class SheetForm(Form):
    """Shows the rows of one week, once it is opened; a Save writes all that were filled in, or none and says why."""

    def __init__(self, book: Book, *, opened: bool = False) -> None:
        super().__init__(book)
        self.trial = dressed(Pick(tr("Trial"), []), "wide")
        self.week = Pick(tr("Week"), [])
        self.rows, self.scale = w.VBox(), note("")
        self.lines: list[SheetRow | ReedWeekRow] = []
        self.days: list[DayCell] = []
        self._protocols: dict[str, Protocol] = {}
        self._laid_out = False
        self.save = self.button(tr("Save the sheet"), self._save, main=True)
        self.fresh = tick(tr("I wrote these down on the day, not later from memory"), True)
        self.which = w.HBox([self.trial, self.week])
        self.how = note("")
        inside = w.VBox([self.which, self.how, self.scale, self.rows, self.fresh, self.save])
        self.open = fold(tr("Type in a filled sheet"), inside)
        self.show(self.open, inside)
        if opened:  # where the form has a page's part to itself
            self.open.value = True
            show_if(False, self.open)
        self.open.observe(self.guarded(self.refresh), "value")
        self.trial.observe(self.guarded(self._trial_chosen), "value")
        self.week.observe(self.guarded(self._week_chosen), "value")
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Offer the trials and weeks again; rows that are being filled in stay as they are."""
        touched = any(line.touched for line in self.lines) or any(day.touched for day in self.days)
        if not self.open.value or touched:
            return
        self._protocols = self.book.protocols()
        self._laid_out = False  # once for all that is put right here
        offer_trials(self.trial, self.book)
        self._offer_weeks()
        self._fill()

    @property
    def _protocol(self) -> Protocol | None:
        return self._protocols.get(self.trial.typed)

    def _trial_chosen(self) -> None:
        if self._laid_out:
            self._laid_out = False
            self.week.put(None)
            self._offer_weeks()
            self._fill()

    def _week_chosen(self) -> None:
        if self._laid_out:
            self._fill()

    def _offer_weeks(self) -> None:
        """Offer the weeks up to today, the last of them first; one that is chosen stays."""
        protocol = self._protocol
        if protocol is None:
            self.week.offer([])
            return
        last = weeks_begun(protocol, self.book.frames(), self.book.today())
        self.week.offer([(tr("week {n}").format(n=n), n) for n in range(1, last + 1)], last or None)

    def _fill(self) -> None:
        """Lay out the lines of the chosen week, with what is not in the logbook yet to be filled in."""
        protocol = self._protocol
        self._laid_out = True
        self.lines, self.days = [], []
        shown: list[w.Widget] = []
        if protocol is not None and self.week.typed is not None:
            self.how.value = note(_BY_REED if protocol.standing else _BY_DAY).value
            shown = (self._by_reed if protocol.standing else self._by_day)(protocol, int(self.week.typed))
        self.scale.value = "" if protocol is None or protocol.standing else note(
            tr("Overall: {scale_words}").format(scale_words=scale_words(protocol.scale))).value
        empty = not self.lines
        show_if(not empty, self.how, self.scale, self.fresh, self.save)
        show_if(self._protocols, self.which)
        self.rows.children = [note(tr("There is no week of a trial to type in yet."))] if empty else shown

    def _by_day(self, protocol: Protocol, number: int) -> list[w.Widget]:
        """Lay out a day's planned rows under its cell, and one of the player's own; one for any day at the end."""
        frames, past, own = self._past(protocol, number)
        rows = planned_rows(protocol, past, frames)
        shown: list[w.Widget] = []
        for day in past:
            self.days.append(DayCell(day, frames))
            mine = [*(SheetRow(r, protocol) for r in rows if r["date"] == day.on),
                    SheetRow(None, protocol, own, day.on)]
            self.lines += mine
            shown += [self.days[-1].view, *(line.view for line in mine)]
        self.lines.append(SheetRow(None, protocol, own))
        return [*shown, self.lines[-1].view]

    def _by_reed(self, protocol: Protocol, number: int) -> list[w.Widget]:
        """Lay out a line for each reed in service, and the empty ones of the paper."""
        frames, past, own = self._past(protocol, number)
        if past:
            spare = ReedWeek(protocol, None, tuple(d.on for d in past), {})
            self.lines += [*(ReedWeekRow(x) for x in reed_weeks(protocol, past, frames)),
                           *(ReedWeekRow(spare, own) for _ in range(SPARE))]
        return [line.view for line in self.lines]

    def _past(self, protocol: Protocol, number: int) -> tuple[Frames, list[PlayDay], list[str]]:
        """Return the logbook, the days of a week up to today, and the reeds that a row of one's own may be of."""
        frames, today = self.book.frames(), self.book.today()
        week = week_of(protocol, frames, today=today, number=number)
        return frames, [d for d in week.days if d.on <= today], [
            r for r in sorted(frames.reeds["reed"]) if isinstance(r, str)]

    def _save(self, sure: str | None = None) -> None:
        if not self.lines:
            raise InputError(tr("There is no week to type in."))
        rows = [x for line in self.lines for x in line.sittings(late=not self.fresh.value)]
        gone = [x for line in self.lines for x in line.gone()]
        days = [day for day in self.days if day.touched]
        if all(left_empty("sittings", row) for _, row in rows) and not days and not gone:
            raise NotYet([tr("Fill in the minutes of at least one row.")], tr("Nothing to save yet."))
        try:
            with self.book.writing() as logbook:
                done = save_sheet(logbook, [row for _, row in rows], [day.typed() for day in days],
                                  [row for _, row in gone], sure=sure)
                for part in (*self.lines, *self.days):
                    part.touched = False  # they are safe; the form may lay its rows out anew
        except Unsure as odd:
            token = odd.token
            self.ask(odd.lines, lambda: self._save(token), yes=tr("Yes, save the sheet"))
            return
        except EntryRefused as err:
            names = {"sittings": [name for name, _ in rows], "days": [day.name for day in days],
                     "retirements": [name for name, _ in gone]}
            raise NotYet([_told(f, names) for f in err.faults]) from err
        self._fill()
        counts = ((len(done.sittings), trn("{n} row", "{n} rows", len(done.sittings))),
                  (len(done.days), trn("{n} day", "{n} days", len(done.days))),
                  (len(done.gone), trn("{n} reed done", "{n} reeds done", len(done.gone))))
        self.done(tr("Saved: {parts}. This now stands in your logbook:").format(
                      parts=all_of([word.format(n=n) for n, word in counts if n])), self._read_back(done))

    def _read_back(self, done: SheetSaved) -> str:
        frames = self.book.frames()
        habits = {h.key: h.name for p in self._protocols.values() for h in p.habits}
        sat, air, left = frames.sittings, frames.days, frames.retirements
        tables = []
        for name, rows in (("sittings", sat[sat["entry_id"].isin(done.sittings)]),
                           ("days", air[air["date"].dt.date.isin(done.days)]),
                           ("retirements", left[left["entry_id"].isin(done.gone)])):
            back = [spoken_row(name, row, habits) for row in rows.to_dict("records")]
            head = list(dict.fromkeys(k for row in back for k in row))
            tables += [rows_table(head, [[row.get(k, "") for k in head] for row in back])] if back else []
        return "".join(tables)


def _told(fault: Fault, names: Mapping[str, Sequence[str]]) -> str:
    """Say which row, day or reed a fault is in; a line's place counts from 1."""
    where = tr("Logbook") if fault.line is None else names[fault.file][fault.line - 1]
    return tr("{where}: {title}: found {found}; wanted {wanted}.").format(
               where=where, title=title(fault.column or "entry"), found=fault.found, wanted=fault.wanted)
