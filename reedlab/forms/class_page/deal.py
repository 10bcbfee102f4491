"""The pupil's form: the class's plan dealt over the pupil's own reeds, shown, and started."""

from __future__ import annotations

import secrets
from datetime import timedelta
from typing import TYPE_CHECKING

import ipywidgets as w

from ...errands.book import Book
from ...errands.class_steps import deal_own
from ...errors import PlanRefused
from ...wording import tr
from ..plan_page.words import busy_reeds, draft_html, reeds_to_offer, started_html
from ..shared.fields import Choice, DayPicker, Pick, Words, heading, note, show_if, tick
from ..shared.form import NOT_FAIR, Form, NotYet, html, told_under, unsaid
from ..shared.render import render
from .shared import plan_called, plan_html, plan_options, shelf_of

if TYPE_CHECKING:
    from ...plan import Draft

__all__ = ["ClassDealForm"]


class ClassDealForm(Form):
    """What the class fixed can only be read; the reeds, the first day and the hope are the pupil's own."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.draft: Draft | None = None
        self.seed = secrets.randbits(31)  # one shuffle for each page: dealing again does not redeal at will
        self.plan = Pick(tr("The class's plan"), [], empty=tr("choose the teacher's file"))
        self.about = html("")
        self.ticks: dict[str, w.Checkbox] = {}
        self.reeds = w.HBox([])
        self.start = DayPicker(tr("First day"), book.today() + timedelta(days=1))
        self.expected = Choice(tr("Which way do you expect to do better?"), [])
        self.helper = tick(tr("A helper makes the reeds ready and hides from me which way it was"))
        self.draw = self.button(tr("Deal my reeds"), self._draw, main=True)
        self.shown = html("")
        self.name = Words(tr("Name of the trial"))
        self.begin = self.button(tr("Start this trial"), self._begin, main=True)
        self.frozen = w.VBox([self.shown, self.name, self.begin])
        self.rest = w.VBox([self.about, heading(tr("Your reeds")),
                            note(tr("Untick what the trial should leave alone. Give new reeds their first "
                                    "play before.")),
                            self.reeds, self.start, self.expected, self.helper, self.draw])
        self.none = note(tr("Make the class's plan first, or add your teacher's file, above."))
        self.show(self.none, self.plan, self.rest, self.frozen)
        self.plan.observe(self.guarded(self._chosen), "value")
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Look for plans and reeds again; a deal that is shown stays until one of them changes."""
        options = plan_options(shelf_of(self.book))
        show_if(not options, self.none)
        show_if(options, self.plan)
        if options != list(self.plan.options)[1:]:
            self.plan.offer(options)
        offered = reeds_to_offer(self.book.frames(), self.book.today())
        told = {str(code): f"{code} ({first:g})" if first == first else str(code)
                for code, first in zip(offered["reed"], offered["first_play"], strict=True)}
        if told and told == {code: t.description for code, t in self.ticks.items()}:
            return
        off = {code for code, t in self.ticks.items() if not t.value}
        self.ticks = {code: tick(words, code not in off) for code, words in told.items()}
        self.reeds.children = tuple(self.ticks.values()) or (note(tr(
            "No reeds yet. Save a box on the page New reeds.")),)
        self._chosen()

    def _chosen(self) -> None:
        self.draft = None
        show_if(False, self.frozen)
        show_if(self.plan.typed, self.rest)
        if self.plan.typed is None:
            return
        plan = plan_called(shelf_of(self.book), self.plan.typed)
        self.about.value = plan_html(plan)
        options = [*((h.name, h.key) for h in plan.habits), (tr("No difference"), "same"), (tr("I cannot say"), "none")]
        if list(self.expected.options) != options:
            self.expected.options = options
            self.expected.put(None)

    def _draw(self) -> None:
        plan = plan_called(shelf_of(self.book), self.plan.typed)
        frames = self.book.frames()
        used = [code for code, t in self.ticks.items() if t.value]
        expect = tr("Which way do you expect to do better? Choose one; \"I cannot say\" will do.")
        faults = unsaid((self.start, tr("First day: choose a date.")), (self.expected, expect))
        if not used:
            faults.append(tr("Reeds: tick the reeds for the trial."))
        faults += busy_reeds([d.protocol for d in self.book.trial_days(self.book.today())], used)
        if faults:
            raise NotYet(faults, tr("Not dealt yet. Please put this right:"))
        self.message.value = render("tell", kind="tell", text=tr("Dealing …"))
        with told_under(NOT_FAIR, PlanRefused):
            self.draft = deal_own(
                plan, frames, start=self.start.value, seed=self.seed,
                left_out=[c for c, t in self.ticks.items() if not t.value],
                expected=None if self.expected.typed == "none" else self.expected.typed,
                masked="helper" if self.helper.value else "none")
        self.quiet()
        self.shown.value = str(render("heading", text=tr("Your plan"), level=2)) + draft_html(self.draft)
        self.name.put(self.draft.protocol.trial)
        show_if(True, self.frozen)

    def _begin(self) -> None:
        from dataclasses import replace

        if self.draft is None:
            raise NotYet([tr("Press \"Deal my reeds\" first.")], tr("Not started yet."))
        if self.name.typed is None:
            raise NotYet([tr("Give the trial a name.")], tr("Not started yet."))
        name, protocol = self.name.typed, self.draft.protocol
        with self.book.writing() as logbook:
            logbook.start_trial(replace(protocol, trial=name))
        self._chosen()
        self.done(tr("Started. This now stands in your logbook:"), started_html(self.book.protocols()[name]))
