"""Not playing, today or until a date: one Save; what it means is said before and after."""

from __future__ import annotations

from datetime import date

from ...errands.book import Book
from ...errors import InputError
from ...screens.not_playing import Away, away, away_now, back_again, days_behind, spell_words
from ...wording import spoken_date, tr
from ..shared.fields import Choice, DayPicker, Pick, note, show_if
from ..shared.form import Form, html, need
from ..shared.render import render

__all__ = ["NotPlayingForm"]

_USUAL = ((tr("Today only"), "today"), (tr("Until a date"), "until"))


class NotPlayingForm(Form):
    """A holiday, an illness and a day off are one thing."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.how = Choice(tr("Not playing"), _USUAL, "today")
        self._behind: tuple[date, ...] = ()
        self.first, self.last = DayPicker(tr("First day"), book.today()), DayPicker(tr("Last day"))
        self.means = html("")
        self.save = self.button(tr("Save: not playing"), self._save, main=True)
        self.spells = Pick(tr("Playing after all?"), [], empty=tr("choose the days"))
        self.back = self.button(tr("I do play then"), self._back)
        self.show(self.how, self.first, self.last, self.means, self.save, self.spells, self.back,
                  note(tr("A day without playing is never a fault. Stop when it hurts.")))
        for control in (self.how, self.first, self.last):
            control.observe(self.guarded(self._preview), "value")
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again."""
        frames, today = self.book.frames_now(), self.book.today()
        self._offer(days_behind(frames, self.book.plans_now(), today))
        spells = away_now(frames, today)
        self.spells.offer([(_span(a, b), (a, b)) for a, b in spells])
        show_if(spells, self.spells, self.back)
        self._preview()

    def _offer(self, behind: tuple[date, ...]) -> None:
        """Offer the days just gone by where the plan can still be moved along by them."""
        if behind == self._behind:
            return
        chosen, self._behind = self.how.typed, behind
        gone_by = [(spell_words(behind), "behind")] if behind else []
        self.how.options = [*_USUAL, *gone_by]
        self.how.put("today" if chosen == "behind" else chosen)

    def _span(self) -> tuple[date, date]:
        if self.how.typed == "behind" and self._behind:
            return self._behind[0], self._behind[-1]
        if self.how.typed != "until":
            return self.book.today(), self.book.today()
        if self.first.value is None or self.last.value is None:
            raise InputError(tr("Choose the first and the last day without playing."))
        return self.first.value, self.last.value

    def _meaning(self, first: date, last: date) -> Away:
        frames = self.book.frames_now(first)
        return away(frames, self.book.plans_now(), first, last, self.book.today())

    def _preview(self) -> None:
        until = self.how.typed == "until"
        show_if(until, self.first, self.last)
        self.means.value = ""
        if not until or (self.first.value and self.last.value and self.first.value <= self.last.value):
            meant = self._meaning(*self._span())
            if meant.moved or meant.lost:
                self.means.value = render("not_playing", moved=meant.moved, lost=meant.lost)

    def _save(self) -> None:
        first, last = self._span()
        meant = self._meaning(first, last)
        with self.book.writing() as logbook:
            meant.write(logbook)
        self.how.put("today")
        self.last.value = None
        self.refresh()
        means = render("not_playing", moved=meant.moved, lost=meant.lost)
        self.done(tr("Saved: not playing {span}.").format(span=_span(first, last)), means)

    def _back(self) -> None:
        need(tr("Nothing chosen."), (self.spells, tr("Choose the days from the list first.")))
        first, last = self.spells.typed
        meant = back_again(self.book.frames_now(first), self.book.plans_now(), first, last, self.book.today())
        with self.book.writing() as logbook:
            meant.write(logbook)
        self.done(tr("Saved: you play {span} after all.").format(
                      span=_span(first, last)), render("not_playing", moved=meant.moved, lost=()))


def _span(first: date, last: date) -> str:
    if first == last:
        return tr("on {date}").format(date=spoken_date(first))
    return tr("from {first} to {last}").format(first=spoken_date(first), last=spoken_date(last))
