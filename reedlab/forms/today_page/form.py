"""Today: what to play now, and one line for each reed played."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from html import escape
from typing import Any

import pandas as pd

from ...errands.book import Book
from ...rows.prefilled import placed
from ...rows.records import Sitting
from ...rows.tables import Frames
from ...screens import look_over
from ...screens.due import Due, TrialDay, due_now, needs_rating, reeds_in_use
from ...screens.words import spoken_date, spoken_row
from ...trial.practice import ANCHORS, CAUTIONS
from ...trial.protocol import Habit, Protocol
from ..shared.fields import note
from ..shared.form import Form, button, html, rows_table
from .entry import EntryControls
from .html import plan_html, saved_html
from .lines import DueLines
from .past import PastEntries
from .week_words import day_notes

__all__ = ["TodayForm"]


class TodayForm(Form):
    """Shows the day's plan, takes a line for each reed that is due, and saves them with one Save.

    The first reed due has all controls (`entry`); the others due have a short line each (`lines`). A line without
    a rating is left for later.
    """

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.plan, self.saved = html(""), html("")
        self.past = PastEntries()
        self.save = button("Save", main=True)
        self.cancel = button("Leave it as it was")
        self.yesterday = button("Write up yesterday")
        self.editing: int | None = None
        self._frames, self._protocols = self._read()
        self.entry = EntryControls(self._anchors(None, book.today()))
        self.lines = DueLines()
        self.head = html("")
        self.show(self.plan, self.saved, self.head, self.entry.needed, self.entry.more_button, self.entry.more,
                  self.lines.view, self.save, self.cancel, self.yesterday, self.past.view,
                  note(f"{CAUTIONS['pain'].text} {CAUTIONS['sharing'].text}"))
        # The answer to Save stands right below it, not at the foot of the page.
        self.children = tuple(self._ordered())
        self.save.on_click(self.guarded(self._save))
        self.cancel.on_click(self.guarded(self._stop_editing))
        self.yesterday.on_click(self.guarded(self._write_up_yesterday))
        self.past.change.on_click(self.guarded(self._edit))
        self.past.remove.on_click(self.guarded(self._ask_remove))
        self.entry.reed.observe(self.guarded(self._reed_chosen), "value")
        self.entry.date.observe(self.guarded(self._date_chosen), "value")
        self.follow(book, self.refresh)
        self._day = book.today()
        self._next_entry()
        self.refresh()

    def _ordered(self) -> list[Any]:
        moved = [self.message, self._confirm]
        rest = [c for c in self.children if c not in moved]
        at = rest.index(self.yesterday)
        return [*rest[:at], *moved, *rest[at:]]

    def _read(self) -> tuple[Frames, Mapping[str, Protocol]]:
        return self.book.frames_now(), self.book.plans_now()

    def _anchors(self, reed: str | None, on: date) -> Mapping[int, str]:
        """Return the words beside a rating: those of the reed's trial, else of the first trial there is."""
        days = self._days(on)
        own = [d for d in days if reed in d.protocol.reeds] or days
        return dict(own[0].protocol.scale) if own else ANCHORS

    def _days(self, on: date) -> list[TrialDay]:
        return self.book.trial_days(on)

    # --- showing ---------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Read the logbook again and show the day as it stands."""
        self._frames, self._protocols = self._read()
        today = self.book.today()
        fresh = today != self._day or self.entry.reed.typed is None
        if fresh and self.editing is None and self.entry.untouched and not self.lines.touched:
            self._next_entry()  # a new day or a new trial has begun while the page was open
        self._day = today
        days = self._days(today)
        notes = day_notes([d.protocol for d in days], self._frames, today)
        self.plan.value = plan_html(today, days, bool(len(self._frames.reeds)), notes)
        self._offer(due_now(self._days(self._on())))
        self.past.offer(self._frames.sittings, today)
        self._reed_chosen()
        self.saved.value = saved_html(self._frames, today) if len(self._frames.reeds) else ""
        for part in (self.entry.needed, self.entry.more_button, self.lines.view, self.save, self.yesterday):
            part.layout.display = "" if len(self._frames.reeds) else "none"
        self.cancel.layout.display = "none" if self.editing is None else ""
        self.save.description = "Save" if self.editing is None else "Save the change"

    def _offer(self, due: list[Due]) -> None:
        waiting = [d.reed for d in due if not d.done]
        rest = [r for r in reeds_in_use(self._frames, self._on()) if r not in waiting]
        self.entry.offer_reeds([*((f"{r}  (due now)", r) for r in waiting), *((r, r) for r in rest)],
                               list(self._frames.setups["setup"]))

    def _next_entry(self) -> None:
        """Empty the controls and go to the next reed that is due."""
        self._empty()
        self._first_due(self.book.today())

    def _empty(self) -> None:
        self.editing = None
        self.head.value = ""
        self.entry.clear(self.book.today())

    def _on(self) -> date:
        """Return the day that is being written up."""
        return self.entry.date.value or self.book.today()

    def _first_due(self, on: date) -> None:
        """Go to the first reed of a day that is due and not in the book."""
        due = due_now(self._days(on))
        self._offer(due)
        self.entry.setup.put(self._setup(on))
        waiting = [d for d in due if not d.done]
        if waiting:
            self.entry.reed.put(waiting[0].reed)
            self.entry.play_min.put(waiting[0].minutes if waiting[0].slot else None)
            self.entry.play_min.placeholder = f"the plan says {waiting[0].minutes:g}"

    def _setup(self, on: date) -> str | None:
        return next((d.protocol.setup for d in self._days(on) if d.protocol.setup), None)

    def _habits_of(self, reed: str | None, on: date) -> tuple[tuple[Habit, ...], str | None]:
        """Return the two ways to choose from and the planned one; nothing where a helper masks them."""
        for day in self._days(on):
            if reed in day.protocol.reeds and day.protocol.masked != "helper":
                planned = day.protocol.habit_for(reed, day.day) if day.day is not None else None
                return day.protocol.habits, planned.key if planned else None
        return (), None

    def _reed_chosen(self) -> None:
        self._show_lines()
        self.entry.overall.reword(self._anchors(self.entry.reed.typed, self._on()))
        if self.editing is not None and self.entry.habit.typed is not None:
            return
        self.entry.offer_habits(*self._habits_of(self.entry.reed.typed, self._on()))

    def _show_lines(self) -> None:
        """Show a line for each reed due that is neither in the book nor the one in the first line."""
        on = self._on()
        due = [] if self.editing is not None else [
            d for d in due_now(self._days(on)) if d.rate and not d.done and d.reed != self.entry.reed.typed]
        self.lines.show([(d, self._habits_of(d.reed, on)[0], self._setup(on), self._anchors(d.reed, on))
                         for d in due], on)

    def _date_chosen(self) -> None:
        on, today = self._on(), self.book.today()
        self._offer(due_now(self._days(on)))
        self._reed_chosen()
        if self.editing is None:
            self.head.value = "" if on == today else (
                f'<div class="reedlab-tell">You are writing up <b>{escape(spoken_date(on))}</b>. '
                "Was it from memory? Then tick it below.</div>")

    def _write_up_yesterday(self) -> None:
        self.quiet()
        self._next_entry()
        self.entry.date.value = self.book.today() - timedelta(days=1)
        self.entry.reed.put(None)
        self._first_due(self.entry.date.value)
        self.entry.more_button.value = True

    # --- saving ----------------------------------------------------------------------------------

    def _save(self) -> None:
        self._frames, self._protocols = self.book.frames_now(self._on()), self.book.plans_now()
        if self.editing is not None:
            self._write_if_right([self.entry.row()])
            return
        on = self._on()
        rows = [{**row, "from_memory": self.entry.from_memory.value} for row in self.lines.rated(on)]
        if not (rows and self.entry.untouched and self._asked(self.entry.row())):
            rows.insert(0, self.entry.row())  # else the first reed is left for later
        self._write_if_right(rows)

    def _asked(self, row: Mapping[str, Any]) -> bool:
        """Say whether the trial asks for this row, or it names no reed at all: then it may wait."""
        return row["reed"] is None or needs_rating(row, self._days(self._on()))

    def _write_if_right(self, rows: Sequence[Mapping[str, Any]]) -> None:
        looked = look_over(rows, self._frames, self._protocols, changed=self.editing, known=self._days)
        if looked.faults:
            self.problem(looked.faults)
        elif looked.odd:
            self.ask(looked.odd, lambda: self._write(looked.rows))
        else:
            self._write(looked.rows)

    def _write(self, rows: Sequence[Mapping[str, Any]]) -> None:
        records = [Sitting(**row) for row in placed(rows, self._frames.sittings, changed=self.editing)]
        with self.book.writing() as logbook:
            if self.editing is not None:
                numbers = [logbook.correct("sittings", self.editing, records[0])]
            elif len(records) == 1:
                numbers = [logbook.add(records[0])]
            else:
                numbers = logbook.add_many(records)
            for record in records:
                self.lines.forget([record.reed], record.date)
            self._empty()  # the forms are told next, and this one goes on to the next reed
        self.done("Saved. This now stands in your logbook:", self._read_back(numbers, [r.date for r in records]))

    def _read_back(self, numbers: Sequence[int], days: Sequence[date]) -> str:
        frame = self.book.frames_now(*days).sittings
        habits = {h.key: h.name for p in self._protocols.values() for h in p.habits}
        rows = [spoken_row("sittings", r, habits)
                for r in frame[frame["entry_id"].isin(numbers)].sort_values("entry_id").to_dict("records")]
        head = list(dict.fromkeys(k for row in rows for k in row))
        return rows_table(head, [[row.get(k, "") for k in head] for row in rows])

    # --- changing --------------------------------------------------------------------------------

    def _chosen(self) -> pd.Series | None:
        number = self.past.pick.typed
        if number is None:
            self.problem(["Choose an entry from the list first."], head="Nothing chosen.")
            return None
        return self._frames.sittings.set_index("entry_id", drop=False).loc[number]

    def _edit(self) -> None:
        row = self._chosen()
        if row is None:
            return
        self.quiet()
        on = row["date"].date()
        self.editing = int(row["entry_id"])
        self.entry.date.value = on
        self.entry.offer_reeds([(r, r) for r in reeds_in_use(self._frames, on)],
                               list(self._frames.setups["setup"]))
        habits = next((p.habits for p in self._protocols.values() if row["reed"] in p.reeds), ())
        self.entry.reed.put(row["reed"])
        self.entry.offer_habits(habits, row["habit"])
        plain: dict[str, Any] = {str(k): (None if pd.isna(v) else v) for k, v in row.items()}
        self.entry.put({**plain, "date": on})
        self.head.value = ('<div class="reedlab-tell">You are changing the entry for '
                           f"<b>{escape(row['reed'])}</b> of {escape(spoken_date(on))}. The old one stays in "
                           "the history.</div>")
        self.lines.show((), on)
        self.cancel.layout.display = ""
        self.save.description = "Save the change"

    def _stop_editing(self) -> None:
        self.quiet()
        self._next_entry()
        self.refresh()

    def _ask_remove(self) -> None:
        row = self._chosen()
        if row is None:
            return
        number = int(row["entry_id"])
        self.ask([f"Take back the entry for {row['reed']} of {spoken_date(row['date'].date())}? "
                  "It no longer counts; the history keeps it."], lambda: self._remove(number),
                 yes="Yes, take it back")

    def _remove(self, number: int) -> None:
        with self.book.writing() as logbook:
            logbook.withdraw("sittings", number)
            self._empty()
        self.done("Taken back. It no longer counts.")
