"""The whole of one entry: another reed, other minutes or way than dealt, from memory, yesterday, or one to change."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from ...errands.book import Book
from ...rows.values import as_it_stands
from ...screens import Entry
from ...screens.due import TrialDay, due_now, reeds_in_use
from ...trial.practice import ANCHORS
from ...trial.protocol import Habit
from ...wording import spoken_date, tr
from ..shared.form import html
from ..shared.render import render
from .entry import EntryControls
from .sending import SendingForm, new_key

__all__ = ["EntryForm"]


class EntryForm(SendingForm):
    """All that can be said of one sitting."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.editing: int | None = None
        self._filled: str | None = None
        self.head = html("")
        self.entry = EntryControls(ANCHORS)
        self.save = self.button(tr("Save"), self._save, main=True)
        self.cancel = self.button(tr("Leave it as it was"), self.afresh)
        self.show(self.head, self.entry.needed, self.entry.more_button, self.entry.more, self.save, self.cancel)
        self.entry.reed.observe(self.guarded(self._reed_chosen), "value")
        self.entry.date.observe(self.guarded(self._date_chosen), "value")
        self._blank()
        self.follow(self.refresh)()

    # --- beginning -------------------------------------------------------------------------------

    def afresh(self) -> None:
        """Begin an entry of today; one that is being typed stays."""
        self.quiet()
        if self.editing is not None or self.entry.untouched:
            self._blank()

    def yesterday(self) -> None:
        """Begin an entry of yesterday, with the first reed that is missing there."""
        self.quiet()
        self._blank()
        on = self.book.today() - timedelta(days=1)
        self.entry.date.value = on
        waiting = self._waiting()
        if waiting:
            self.entry.reed.put(waiting[0])
        self.entry.more_button.value = True

    def edit(self, number: int) -> None:
        """Show an entry, to be changed."""
        self.quiet()
        row = as_it_stands("sittings", self.book.frames_now().sittings, entry_id=number)
        self.editing = number
        self.entry.date.value = row["date"]
        self._offer()
        self.entry.reed.put(row["reed"])
        habits = next((p.habits for p in self.book.plans_now().values() if row["reed"] in p.reeds), ())
        self.entry.offer_habits(habits, row["habit"])
        self.entry.put(row)
        self._told()

    def _empty(self) -> None:
        self.editing, self.key, self._filled = None, new_key(), None
        self.entry.clear(self.book.today())

    def _blank(self) -> None:
        self._empty()
        self._offer()
        self.entry.setup.put(next((d.protocol.setup for d in self._days() if d.protocol.setup), None))
        self.entry.offer_habits((), None)
        self._told()

    # --- showing ---------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Read the logbook again; what is typed stays."""
        if self.editing is None and self.entry.untouched and self.entry.reed.typed is None:
            self._blank()  # a new day may have begun
        self._offer()
        self.entry.overall.reword(self._anchors(self.entry.reed.typed))
        self._told()

    def _on(self) -> date:
        return self.entry.date.value or self.book.today()

    def _days(self) -> list[TrialDay]:
        return self.book.trial_days(self._on())

    def _waiting(self) -> list[str]:
        return [x.reed for x, _ in due_now(self._days()) if not x.done]

    def _offer(self) -> None:
        frames = self.book.frames_now(self._on())
        waiting = self._waiting()
        rest = [r for r in reeds_in_use(frames, self._on()) if r not in waiting]
        self.entry.reed.offer([*((tr("{r}  (due now)").format(r=r), r) for r in waiting), *((r, r) for r in rest)])
        self.entry.setup.offer([(s, s) for s in frames.setups["setup"]])

    def _told(self) -> None:
        on, changing = self._on(), self.editing is not None
        self.cancel.layout.display = "" if changing else "none"
        self.save.description = tr("Save the change") if changing else tr("Save")
        said = ""
        if changing:
            said = tr("You are changing the entry for {typed} of {spoken_date}. The old one stays in the "
                      "history.").format(typed=self.entry.reed.typed, spoken_date=spoken_date(on))
        elif on != self.book.today():
            said = tr("You are writing up {spoken_date}. Was it from memory? Then tick it below.").format(
                       spoken_date=spoken_date(on))
        self.head.value = render("tell", kind="tell", text=said) if said else ""

    def _anchors(self, reed: str | None) -> Mapping[int, str]:
        """Return the words beside a rating: those of the reed's trial, else of the first trial there is."""
        days = self._days()
        own = [d for d in days if reed in d.protocol.reeds] or days
        return dict(own[0].protocol.scale) if own else ANCHORS

    def _reed_chosen(self) -> None:
        reed = self.entry.reed.typed
        self.entry.overall.reword(self._anchors(reed))
        if self.editing is not None:
            return
        self.entry.offer_habits(*self._habits_of(reed))
        line = next((x for x, _ in due_now(self._days()) if x.reed == reed), None)
        planned = line.minutes if line is not None and line.kind == "slot" and not line.done else None
        if self.entry.play_min.typed == self._filled:  # else the player typed it
            self.entry.play_min.put(planned)
            self._filled = self.entry.play_min.typed

    def _date_chosen(self) -> None:
        self._offer()
        self._reed_chosen()
        self._told()

    def _habits_of(self, reed: str | None) -> tuple[tuple[Habit, ...], str | None]:
        """Return the two ways to choose from and the planned one; nothing where a helper masks them."""
        for day in self._days():
            if reed in day.protocol.reeds and day.protocol.masked != "helper":
                planned = day.way_for(str(reed))
                return day.protocol.habits, planned.key if planned else None
        return (), None

    # --- saving ----------------------------------------------------------------------------------

    def _entries(self) -> dict[str, Entry]:
        return {str(self.entry.reed.typed): Entry(self.entry.row(), None if self.editing is not None else self.key,
                                                  self.editing)}

    def _save(self) -> None:
        self.send(self._entries, self._empty)
