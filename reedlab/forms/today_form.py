"""Today: what to play now, and one line for each reed played."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from html import escape
from typing import Any

import pandas as pd

from ..checks import read_row
from ..practice import ANCHORS, CAUTIONS, value
from ..protocol import Protocol
from ..records import Sitting
from ..tables import Frames
from ._book import Book
from ._entry import EntryControls
from ._fields import note
from ._form import Form, button, html, rows_table
from ._past import PastEntries
from ._today import (
    Due,
    TrialDay,
    due_now,
    needs_rating,
    odd_things,
    rates_in_slots,
    reeds_in_use,
    running,
)
from ._words import faults_in_words, spoken_date, spoken_row

__all__ = ["TodayForm"]


class TodayForm(Form):
    """Shows the day's plan, takes one sitting at a time, writes it and shows it as read back."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.plan = html("")
        self.past = PastEntries()
        self.save = button("Save", main=True)
        self.cancel = button("Leave it as it was")
        self.editing: int | None = None
        self._frames, self._protocols = self._read()
        self.entry = EntryControls(self._anchors())
        self.head = html("")
        self.show(self.plan, self.head, self.entry.needed, self.entry.more_button, self.entry.more,
                  self.save, self.cancel, self.past.view, note(CAUTIONS["pain"].text))
        # The answer to Save stands right below it, not at the foot of the page.
        self.children = tuple(self._ordered())
        self.save.on_click(self.guarded(self._save))
        self.cancel.on_click(self.guarded(self._stop_editing))
        self.past.change.on_click(self.guarded(self._edit))
        self.past.remove.on_click(self.guarded(self._ask_remove))
        self.entry.reed.observe(self.guarded(self._reed_chosen), "value")
        self.entry.date.observe(self.guarded(self._date_chosen), "value")
        self.book.on_change(self.guarded(self.refresh))
        self._day = book.today()
        self._next_entry()
        self.refresh()

    def _ordered(self) -> list[Any]:
        moved = [self.message, self._confirm]
        rest = [c for c in self.children if c not in moved]
        at = rest.index(self.past.view)
        return [*rest[:at], *moved, *rest[at:]]

    def _read(self) -> tuple[Frames, Mapping[str, Protocol]]:
        return self.book.frames(), self.book.protocols()

    def _anchors(self) -> Mapping[int, str]:
        days = running(self._protocols, self._frames, self.book.today())
        return dict(days[0].protocol.scale) if days else ANCHORS

    def _days(self, on: date) -> list[TrialDay]:
        return running(self._protocols, self._frames, on)

    # --- showing ---------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Read the logbook again and show the day as it stands."""
        self._frames, self._protocols = self._read()
        today = self.book.today()
        fresh = today != self._day or self.entry.reed.typed is None
        if fresh and self.editing is None and self.entry.untouched:
            self._next_entry()  # a new day or a new trial has begun while the page was open
        self._day = today
        days = self._days(today)
        self.plan.value = plan_html(today, days, bool(len(self._frames.reeds)))
        self._offer(due_now(days))
        self.past.offer(self._frames.sittings, today)
        self._reed_chosen()
        for part in (self.entry.needed, self.entry.more_button, self.save):
            part.layout.display = "" if len(self._frames.reeds) else "none"
        self.cancel.layout.display = "none" if self.editing is None else ""
        self.save.description = "Save" if self.editing is None else "Save the change"

    def _offer(self, due: list[Due]) -> None:
        waiting = [d.reed for d in due if not d.done]
        rest = [r for r in reeds_in_use(self._frames, self.entry.date.value or self.book.today())
                if r not in waiting]
        self.entry.offer_reeds([*((f"{r}  (due now)", r) for r in waiting), *((r, r) for r in rest)],
                               list(self._frames.setups["setup"]))

    def _next_entry(self) -> None:
        """Empty the controls and go to the next reed that is due."""
        self.editing = None
        self.head.value = ""
        today = self.book.today()
        self.entry.clear(today)
        due = [d for d in due_now(self._days(today)) if not d.done]
        self._offer(due_now(self._days(today)))
        setup = next((d.protocol.setup for d in self._days(today) if d.protocol.setup), None)
        self.entry.setup.put(setup)
        if due:
            self.entry.reed.put(due[0].reed)
            plan = self._protocols[due[0].trial]
            self.entry.play_min.put(value("slot_min") if rates_in_slots(plan) else None)

    def _reed_chosen(self) -> None:
        if self.editing is not None and self.entry.habit.typed is not None:
            return
        reed, on = self.entry.reed.typed, self.entry.date.value or self.book.today()
        for day in self._days(on):
            if reed in day.protocol.reeds and day.protocol.masked != "helper":
                planned = day.protocol.habit_for(reed, day.day) if day.day is not None else None
                self.entry.offer_habits(day.protocol.habits, planned.key if planned else None)
                return
        self.entry.offer_habits((), None)

    def _date_chosen(self) -> None:
        self._offer(due_now(self._days(self.entry.date.value or self.book.today())))
        self._reed_chosen()

    # --- saving ----------------------------------------------------------------------------------

    def _save(self) -> None:
        self._frames, self._protocols = self._read()
        values, faults = read_row("sittings", self.entry.row())
        lines = faults_in_words(faults)
        days = self._days(values["date"]) if values["date"] is not None else []
        if self.editing is None and needs_rating(values, days) and values["overall"] is None:
            lines.append("Overall: it is empty. How did the reed play, from 0 to 10?")
        if lines:
            self.problem(lines)
            return
        frames = self._frames
        if self.editing is not None:
            others = frames.sittings[frames.sittings["entry_id"] != self.editing]
            frames = Frames.of(**{**vars(frames), "sittings": others})
        odd = odd_things(values, frames, days)
        if odd:
            self.ask(odd, lambda: self._write(values))
        else:
            self._write(values)

    def _write(self, values: Mapping[str, Any]) -> None:
        with self.book.writing() as logbook:
            if self.editing is None:
                number = logbook.add(Sitting(**values))
            else:
                number = logbook.correct("sittings", self.editing, Sitting(**values))
        self._next_entry()
        self.refresh()
        self.done("Saved. This now stands in your logbook:", self._read_back(number))

    def _read_back(self, number: int) -> str:
        with self.book.reading() as logbook:
            frame = logbook.frame("sittings")
        row = frame[frame["entry_id"] == number].iloc[0]
        habits = {h.key: h.name for p in self._protocols.values() for h in p.habits}
        words = spoken_row("sittings", row.to_dict(), habits)
        return rows_table(list(words), [list(words.values())])

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
        self._next_entry()
        self.refresh()
        self.done("Taken back. It no longer counts.")


def plan_html(today: date, days: list[TrialDay], any_reeds: bool) -> str:
    """Return the day's plan as HTML: for each running trial where it stands and what to play."""
    out = [f"<h2>{escape(spoken_date(today))}</h2>"]
    for day in days:
        out.append(_trial_html(day))
    if not days:
        out.append("<p>No trial is running. You can still write down what you play.</p>" if any_reeds else
                   '<p>There are no reeds in your logbook yet. Begin with <a href="plan.ipynb">new reeds</a>.</p>')
    return "".join(out)


def _trial_html(day: TrialDay) -> str:
    name = f"<b>{escape(day.protocol.trial)}</b>"
    if day.state == "waiting":
        return f"<p>{name} begins on {escape(spoken_date(day.first))}.</p>"
    if day.state == "paused":
        return f"<p>{name} is paused today.</p>"
    head = f"<p>{name}: day {day.day} of {day.protocol.days}."
    if day.fixed:
        head += f" {day.rated} of {day.planned} ratings are in the book."
    if day.due:
        hidden = day.protocol.masked == "helper"
        rows = [[d.order or "any", d.reed, "your helper makes it ready" if hidden else _what(d),
                 "✓ done" if d.done else "to play"] for d in sorted(day.due, key=lambda d: d.order or 99)]
        if all(d.done for d in day.due):
            head += " <b>All done for today.</b>"
        return head + "</p>" + rows_table(["Order", "Reed", "What to do", ""], rows)
    if day.fixed:
        return head + " No reed of it is due today.</p>"
    return head + " Play its reeds as each one's way says.</p>" + _ways(day)


def _what(due: Due) -> str:
    if due.habit is None:
        return "as you like"
    return f"{due.habit.name[:1].upper()}{due.habit.name[1:]}. {due.habit.steps}".strip()


def _ways(day: TrialDay) -> str:
    rows = []
    for habit in day.protocol.habits:
        reeds = [r for r in day.protocol.reeds if day.protocol.habit_for(r, day.day or 1) == habit]
        rows.append([habit.name, habit.steps, ", ".join(reeds)])
    return rows_table(["Way", "What to do", "Reeds"], rows)
