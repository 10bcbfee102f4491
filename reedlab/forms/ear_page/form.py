"""Know your own ear: the same reeds rated twice, in a shuffled order, the first rating hidden."""

from __future__ import annotations

import secrets

import ipywidgets as w
import pandas as pd

from ...analysis.player.ear import ear_order
from ...errands.book import Book
from ...trial.practice import ANCHORS, CAUTIONS
from ...wording import tr
from ..shared.fields import Number, Pick, Rating, fold, heading, note, show_if, tick
from ..shared.form import Form, NotYet, html
from ..shared.render import render
from .repeat_form import RepeatForm
from .words import EAR_STEPS, FEWEST, MOST, ear_html, ear_result, ear_sittings, free_reeds

__all__ = ["EarForm"]

_USUAL = 8


class EarForm(Form):
    """Takes two ratings of each reed by slot, tells what they say, then keeps them if the player likes."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.reeds: list[str] = []  # while a rating is under way, those that are rated
        self.order, self.ratings = pd.DataFrame(columns=["round", "slot"]), list[float]()
        self.ticks: dict[str, w.Checkbox] = {}
        self.offered = w.HBox([])
        self.begin = self.button(tr("Begin"), self._begin, main=True)
        self.empty = html(render(
            "line", text=tr("No reeds to rate yet. They need their first play, and must serve in no trial.")))
        self.choose = w.VBox([
            html(render("ear_steps", steps=EAR_STEPS, fewest=FEWEST, most=MOST, usual=_USUAL)),
            self.offered, self.begin, note(CAUTIONS["pain"].text)])
        self.turn = html("")
        self.rating = Rating(tr("Overall"), ANCHORS)
        self.next = self.button(tr("Next reed"), self._next, main=True)
        self.play = w.VBox([self.turn, self.rating, self.next])
        self.found = html("")
        self.slots: dict[int, Pick] = {}
        self.slot_box = w.HBox([])
        self.minutes = Number(tr("Minutes you played each time"), 2)
        self.save = self.button(tr("Save the ratings"), self._save, main=True)
        self.again = self.button(tr("Start over"), self._over)
        self.keep = w.VBox([
            heading(tr("Keep them?")),
            html(render("line", text=tr(
                "Now look at the codes, and say which reed lay in which slot. Then the ratings go into your logbook, "
                "and your next forecast knows your ear."))),
            self.slot_box, self.minutes, self.save])
        self.end = w.VBox([self.found, self.keep, self.again])
        self.repeats = RepeatForm(book)
        self.repeats_button = fold(tr("With a helper: one reed against itself"), self.repeats)
        self.show(self.empty, self.choose, self.play, self.end, self.repeats_button, self.repeats)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again; a rating under way is left alone."""
        if self.reeds:
            return
        busy = [r for d in self.book.trial_days(self.book.today()) for r in d.protocol.reeds]
        free = free_reeds(self.book.frames(), busy)
        off = {code for code, t in self.ticks.items() if not t.value}
        self.ticks = {code: tick(code, code not in off and (bool(self.ticks) or i < _USUAL))
                      for i, code in enumerate(free)}
        for t in self.ticks.values():
            t.observe(self._ticked, "value")
        self._ticked()
        self.offered.children = tuple(self.ticks.values())
        self._stage(self.choose if len(free) >= FEWEST else self.empty)

    def _ticked(self, *_: object) -> None:
        self.repeats.offer([code for code, t in self.ticks.items() if t.value])

    def _stage(self, seen: w.Widget) -> None:
        for part in (self.empty, self.choose, self.play, self.end):
            show_if(part is seen, part)

    def _begin(self) -> None:
        reeds = [code for code, t in self.ticks.items() if t.value]
        if not FEWEST <= len(reeds) <= MOST:
            raise NotYet([tr("Reeds: you ticked {n}; wanted {fewest} to {most}.").format(
                              n=len(reeds), fewest=FEWEST, most=MOST)], tr("Not begun yet."))
        self.quiet()
        self.reeds, self.ratings = reeds, []
        self.order = ear_order(len(reeds), secrets.randbits(31))
        self._show_turn()
        self._stage(self.play)

    def _show_turn(self) -> None:
        n = len(self.ratings)
        self.rating.put(None)
        self.turn.value = render("ear_turn", slot=self.order["slot"].iloc[n], step=n + 1, of=len(self.order))

    def _next(self) -> None:
        rated = self.rating.typed
        if rated is None:
            raise NotYet([tr("Overall: it is empty. How did the reed play, from 0 to 10?")], tr("Not taken yet."))
        self.quiet()
        self.ratings.append(rated)
        if len(self.ratings) < len(self.order):
            self._show_turn()
            return
        self.found.value = ear_html(ear_result(self.order, self.ratings))
        slots = range(1, len(self.reeds) + 1)
        self.slots = {n: Pick(tr("Slot {n}").format(
                                  n=n), [(r, r) for r in self.reeds], empty=tr("which reed?")) for n in slots}
        self.slot_box.children = tuple(self.slots.values())
        self.keep.layout.display = ""
        self._stage(self.end)

    def _save(self) -> None:
        lay = {n: pick.typed for n, pick in self.slots.items()}
        faults = [tr("Slot {n}: say which reed lay there.").format(n=n) for n, reed in lay.items() if reed is None]
        named = [r for r in lay.values() if r is not None]
        faults += [tr("{r} cannot lie in two slots.").format(
                       r=r) for r in sorted({r for r in named if named.count(r) > 1})]
        try:
            minutes = float(self.minutes.typed or "")
        except ValueError:
            minutes = -1.0
        if not 0 < minutes <= 60:
            faults.append(tr("Minutes you played each time: wanted more than 0, at most 60."))
        if faults:
            raise NotYet(faults)
        frames, today = self.book.frames(), self.book.today()
        before = frames.sittings.loc[frames.sittings["date"].dt.date == today, "order"].dropna()
        first = int(before.max()) + 1 if len(before) else 1
        records = ear_sittings(self.order, self.ratings, lay, first, date=today, play_min=minutes)
        with self.book.writing() as logbook:
            numbers = logbook.add_many(records)
        kept = int(self.book.frames().sittings["entry_id"].isin(numbers).sum())
        self.keep.layout.display = "none"
        self.done(tr("Saved. {kept} ratings of {n} reeds now stand in your logbook.").format(
                      kept=kept, n=len(self.reeds)))

    def _over(self) -> None:
        self.reeds = []
        self.quiet()
        self.refresh()
