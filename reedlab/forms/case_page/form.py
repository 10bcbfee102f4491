"""The reed case: a picture of every reed. It saves only an early look, and takes back what was entered by mistake."""

from __future__ import annotations

from datetime import date

import ipywidgets as w
from markupsafe import Markup

from ...errands.book import Book
from ...reedcase import CaseView, open_case
from ...screens.case import case_page, ready_for
from ...screens.slips import slips, undo
from ...wording import tr
from ...worlds import World
from ..shared.fields import DayPicker, Fold, Pick, Words, dressed, note, show_if
from ..shared.form import NO_REEDS, Form, NotYet, html, need, rows_table
from ..shared.render import render
from ..today_page.week_words import concert_words

__all__ = ["CaseForm"]


class CaseForm(Form):
    """Shows every reed. What would tell how a running trial goes stays sealed until it is opened on purpose."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.add_class("reedlab-day")
        self.facts, self.reeds, self.picks, self.gone = html(""), html(""), html(""), html("")
        self.known = dressed(Pick(tr("Your concerts to come"), [], empty=tr("another day")), "wide")
        self.concert = DayPicker(tr("Concert or rehearsal on"))
        self.why = Words(tr("Why do you want to see them now?"))
        self.early = self.button(tr("Open the sealed reeds"), self._ask)
        self.slip = dressed(Pick(tr("What was entered by mistake?"), [], empty=tr("choose")), "wide")
        self.undo = self.button(tr("Take it back"), self._ask_undo)
        self.for_concert = Fold(tr("Reeds for a concert"), w.HBox([self.known, self.concert]), self.picks)
        self.sealed = Fold(
            tr("Sealed reeds"), note(tr("Ratings of reeds in a running trial are sealed. Opening them is an "
                                        "early look at the trial: it is written down and makes the final answer "
                                        "a little harder to reach, unless the trial may be read early.")),
            self.why, self.early)
        self.left = Fold(tr("Every box, and what reeds die of here"), self.gone)
        self.mistakes = Fold(tr("Entered by mistake?"), self.slip, self.undo)
        self.folds = (self.for_concert, self.sealed, self.left, self.mistakes)
        self.show(html(render("case_style")), self.facts, self.reeds, *self.folds)
        self.known.observe(self.guarded(self._concert_chosen), "value")
        self.concert.observe(self.guarded(self._show_picks), "value")
        self._case: CaseView | None = None
        self._offered: date | None = None  # the concert chosen for the player
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Read the logbook again and show the case as it stands."""
        (frames, plans, gone), today = self.book.the_case(), self.book.today()
        looks = frames.looks
        opened = set(looks.loc[looks["date"].dt.date == today, "trial"])  # a look holds for its own day
        case = self._case = open_case(frames, plans, today, World(), opened=opened)
        page = case_page(case, gone)
        self.facts.value = render("case_facts", facts=page.facts)
        self.reeds.value = (render("case_rows", rows=page.rows, widest=page.widest, new=page.new, notes=page.notes)
                            if page.rows or page.new else NO_REEDS)
        self.gone.value = render(
            "case_gone", costs=page.costs, deaths=page.deaths, older=page.older,
            why=Markup(rows_table([tr("Why"), tr("Reeds"), tr("Hours played (the middle one)")], page.deaths)),
            each=Markup(rows_table([tr("Reed"), tr("Left on"), tr("Why"), tr("Hours played")], page.gone)))
        found = slips(frames, plans) if len(frames.boxes) else []
        self.slip.offer([(s.words, (s.kind, s.code)) for s in found])
        for part, seen in zip(self.folds, (case.reeds, case.sealed, case.reeds or case.gone, found), strict=True):
            show_if(seen, part)
        self._offer_concerts(case, page.ready.on)
        self._show_picks()

    def _offer_concerts(self, case: CaseView, next_one: date) -> None:
        """Offer the concerts of the logbook; the next one, else a Saturday, is chosen unless the player chose a day."""
        self.known.offer([(concert_words(c), c.on) for c in case.concerts])
        show_if(case.concerts, self.known)
        passed = self.concert.value is not None and self.concert.value < self.book.today()
        if passed or self.concert.value == self._offered:
            self._offered = self.concert.value = next_one

    def _concert_chosen(self) -> None:
        if self.known.typed is not None:
            self.concert.value = self.known.typed

    def _show_picks(self) -> None:
        on = self.concert.value
        self.known.put(on)
        self.picks.value = ""
        if on is None or self._case is None:
            return
        if on < self.book.today():
            raise NotYet([tr("Choose today or a day to come.")], tr("That day has passed."))
        self.quiet()
        ready = ready_for(self._case, on)
        rows = [[reed, tr("✓ ready") if fit else tr("not yet"), why, mean] for reed, fit, why, mean in ready.rows]
        self.picks.value = render("case_ready", ready=ready, table=Markup(rows_table(
            [tr("Reed"), "", tr("Why"), tr("Mean of its last ratings")], rows, cards=True)))

    # --- an early look -------------------------------------------------------------------------------

    def _ask(self) -> None:
        need(tr("Not opened yet."), (self.why, tr("Say in a few words why. The reason stays in your logbook.")))
        self.ask([tr("An early look cannot be unseen. Open the reeds of the running trial now?")], self._open,
                 yes=tr("Yes, open them"))

    def _open(self) -> None:
        if self._case is None or self.why.typed is None:
            return
        why = tr("reed case: {typed}").format(typed=self.why.typed)
        with self.book.writing() as logbook:
            for trial in self._case.sealed:
                logbook.record_look(trial, self.book.today(), why)
        self.why.put(None)
        self.refresh()
        self.done(tr("Opened for today. The look is written down in your logbook."))

    # --- entered by mistake --------------------------------------------------------------------------

    def _ask_undo(self) -> None:
        need(tr("Nothing chosen."), (self.slip, tr("Choose from the list first.")))
        (kind, code), words = self.slip.typed, self.slip.label
        self.ask([tr("Take back {words}? The history keeps it.").format(
                      words=words)], lambda: self._undo(kind, code, words),
                 yes=tr("Yes, take it back"))

    def _undo(self, kind: str, code: str, words: str) -> None:
        with self.book.writing() as logbook:
            there = undo(logbook, kind, code)
        self.slip.put(None)
        self.done(tr("Taken back: {words}.").format(words=words) if there else tr("It was taken back before."))
