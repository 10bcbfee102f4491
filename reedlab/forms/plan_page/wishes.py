"""The controls of the plan page; what they say is read by `screens.plan`."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

import ipywidgets as w

from ...errors import InputError
from ...plan.by_pair import TWO_REEDS
from ...plan.ranking import LENGTHS, Ranked
from ...questions import CATALOGUE, WEARS_OFF, Question
from ...screens.plan import (
    DESIGN_WORDS,
    GOES_ON,
    GONE_AGAIN,
    ReedChoice,
    Typed,
    Use,
    length_lines,
    plan_wishes,
    question_typed,
    reeds_first,
    way_lines,
    ways_to_expect,
)
from ...screens.questions import weeks_words
from ...trial.outcomes import OUTCOMES
from ...trial.practice import value
from ...wording import tr
from ..shared.fields import Choice, DayPicker, Number, Pick, Words, dressed, fold, note, tick
from ..shared.form import html
from ..shared.render import render
from .marks import MarkControls
from .words import question_html

__all__ = ["OwnWays", "Wishes"]


class OwnWays:
    """The player's own words for the question and its two ways."""

    def __init__(self) -> None:
        self.ask = dressed(Words(tr("Your question, in a sentence")), "wide")
        self.names = [Words(tr("The one way, in a few words")), Words(tr("The other way, in a few words"))]
        self.steps = [dressed(Words(told), "wide") for told in (tr("What to do, the one way"),
                                                                tr("What to do, the other way"))]
        self.lasts = Choice(tr("Is the effect still there the next day?"), [(tr(
                "Yes, or not sure"), True), (tr("No"), False)])
        self.wears_off = Number(GONE_AGAIN)
        self.sets_hours = tick(tr("The ways differ in how long or how often a reed is played"))
        self.from_new = tick(tr("The reeds must be new at the start"))
        self.confirmed = tick(tr("In both ways reeds are wiped or rinsed, dried, and played by nobody else"))
        self.extra = w.VBox([self.lasts, self.wears_off, self.sets_hours, self.from_new])
        self.view = w.VBox([
            self.ask, w.HBox([self.names[0], self.steps[0]]), w.HBox([self.names[1], self.steps[1]]), self.extra,
            self.confirmed])

    def show_for(self, question: Question) -> None:
        """Fill in the catalogue's words; empty for a question of the player's own."""
        own = question.key == "own"
        self.ask.put(None if own else question.ask)
        for habit, name, steps in zip(question.habits, self.names, self.steps, strict=True):
            name.put(None if own else habit.name)
            steps.put(None if own else habit.steps)
        self.extra.layout.display = "" if own else "none"

    def question(self, base: Question) -> Question:
        """Return the question in the player's words; InputError or PlanRefused where that can't be."""
        return question_typed(Typed(question=base.key, numbers={}, **self.typed))

    @property
    def typed(self) -> dict[str, Any]:
        """What was typed, as `screens.plan.Typed` takes it."""
        one, two = self.names
        first, second = self.steps
        return {"ask": self.ask.typed, "names": (one.typed, two.typed), "steps": (first.typed, second.typed),
                "lasts": self.lasts.typed, "wears_off": self.wears_off.typed,
                "sets_hours": self.sets_hours.value, "from_new": self.from_new.value,
                "confirmed": self.confirmed.value}


class Wishes:
    """All controls of a plan: `view` is the second step. `values()` returns what `plan.draw_up` takes."""

    def __init__(self, today: date) -> None:
        self.question = Pick(tr("What do you want to know?"), [(q.title, q.key) for q in CATALOGUE.values()],
                             empty=tr("choose a question"))
        self.rows: Sequence[Ranked] = ()  # what was weighed for the question chosen
        self.about = html("")
        self.words = OwnWays()
        self.words_button = fold(tr("Change the words"), self.words.view)
        self.choices: tuple[ReedChoice, ...] = ()
        self.ticks: dict[str, w.Checkbox] = {}
        self.reeds = w.HBox([])
        reeds = w.VBox([note(tr("In brackets: the first-play rating. Untick what the trial should leave alone.")),
                        self.reeds])
        self.reeds_button = fold(tr("Reeds"), reeds)
        self.reeds_said = html("")
        self.design = Choice(tr("How"), [])
        self.outcome = dressed(Pick(tr("Judged by"), []), "wide")  # its choices are whole phrases
        self.how = html("")
        self.goes_on = Number(GOES_ON)
        self.length = Choice(tr("How long"), [])
        self.start = DayPicker(tr("First day"), today)
        self.expected = Choice(tr("Which way do you expect to do better?"), [])
        self.matters = Number(tr("Smallest difference that matters to you"))
        self.days = Number(tr("Days"))
        self.reeds_a_day = Number(tr("Reeds to rate a day (empty: as suits the plan)"))
        self.minutes = Number(tr("Minutes a day"), value("usual_practice_min"))
        self._minutes = self.minutes.typed  # what was filled in beforehand
        self._asked: str | None = None  # the question for which reeds were last ticked
        self._suggested: str | None = None  # the length that was filled in and may be made longer
        self.setup = Pick("Set-up", [])
        self.helper = tick(tr("A helper makes the reeds ready and hides from me which way it was"))
        self.read_early = tick(tr("Rated day by day: the answer may be opened on any day, at no price"), True)
        self.marks = MarkControls()
        self.more = w.VBox([
            w.HBox([self.design, self.outcome]), self.words_button, self.words.view,
            w.HBox([self.matters, self.days, self.reeds_a_day, self.setup]), self.helper, self.read_early,
            self.marks.view])
        self.more_button = fold(tr("More choices"), self.more)
        self.view = w.VBox([
            self.about, self.how, self.goes_on, self.length, w.HBox([self.start, self.expected]),
            w.HBox([self.reeds_button, self.more_button]), self.reeds_said, reeds, self.more])
        self.question.observe(self._question_chosen, "value")
        self.design.observe(self._design_chosen, "value")
        self.outcome.observe(self._outcome_chosen, "value")
        self.length.observe(self._length_chosen, "value")
        self.words.sets_hours.observe(self._outcome_chosen, "value")
        self.words.wears_off.observe(self._offer_again, "value")
        self._question_chosen()

    @property
    def base(self) -> Question | None:
        """The catalogue's question chosen, if any."""
        return None if self.question.typed is None else CATALOGUE[self.question.typed]

    # --- what is offered -------------------------------------------------------------------------

    def offer_reeds(self, choices: Sequence[ReedChoice], setups: Sequence[str]) -> None:
        """Offer these reeds, ticked unless the player has unticked them or they serve elsewhere, and these set-ups."""
        off = {code for code, t in self.ticks.items() if not t.value and not t.disabled}
        self.choices = tuple(choices)
        self.ticks = {}
        for c in choices:
            text = c.reed if c.first_play is None else f"{c.reed} ({c.first_play:g})"
            made = tick(f"{text}, {c.why}" if c.why else text, c.reed not in off and not c.why)
            made.disabled = bool(c.why)
            made.observe(self._count_reeds, "value")
            self.ticks[c.reed] = made
        self.reeds.children = tuple(self.ticks.values())
        self._count_reeds()
        self.setup.offer([(s, s) for s in setups], setups[-1] if setups else None)

    def offer_minutes(self, minutes: float | None) -> None:
        """Fill in the mean of the player's week, unless the player has put in another number."""
        if minutes is not None and self.minutes.typed == self._minutes:
            self.minutes.put(minutes)
            self._minutes = self.minutes.typed

    def offer_chances(self, rows: Sequence[Ranked]) -> None:
        """Say beside each way and each length what it can settle; what is chosen stays chosen."""
        self.rows = rows
        if self.base is not None:
            self._offer_again()
            self._offer_lengths()

    def use(self, plan: Use) -> None:
        """Choose what has to be chosen to get a plan."""
        self.question.put(plan.question)
        self.design.put(plan.design)
        self.outcome.put(plan.outcome)
        self.set_days(plan.days)
        self.marks.cap.put(plan.cap_hours)
        if plan.reeds is not None:
            for reed, t in self.ticks.items():
                t.value = reed in plan.reeds

    def set_days(self, days: int) -> None:
        """Choose a length, which is kept as it is."""
        self.days.put(days)
        self._suggested = None
        self.length.put(days)

    def _count_reeds(self, *_: object) -> None:
        busy = [c.reed for c in self.choices if c.why]
        on = len(self._ticked())
        self._offer_expected()
        self.reeds_button.description = tr("Reeds: {on} of {n}").format(on=on, n=len(self.ticks))
        said = "" if self.ticks else tr("No reeds yet: save a box first, above.")
        if busy:
            said = tr("{n} serve in a trial that runs.").format(n=len(busy))
        self.reeds_said.value = render("note", text=said) if said else ""

    def _ticked(self) -> tuple[str, ...]:
        return tuple(code for code, t in self.ticks.items() if t.value)

    def _offer_expected(self) -> None:
        if self.base is not None:
            self.expected.offer([*ways_to_expect(self.base, self._ticked()), (tr("No difference"), "same"),
                                 (tr("I cannot say"), "none")])

    # --- what was chosen -------------------------------------------------------------------------

    def _question_chosen(self, *_: object) -> None:
        q = self.base
        self.view.layout.display = "none" if q is None else ""
        self.about.value = "" if q is None else question_html(q, ask=False)
        if q is None:
            return
        self.rows = [r for r in self.rows if r.question == q.key]
        self.words.show_for(q)
        self.goes_on.put(None)
        self.more_button.value = self.words_button.value = q.key == "own"
        designs = ("day_by_day", "reed_by_reed") if q.key == "own" else q.designs
        self.design.options = [(DESIGN_WORDS[d], d) for d in designs]
        self.design.put(None if q.key == "own" else q.design)
        self.design.layout.display = "" if len(designs) > 1 and q.key != "own" else "none"
        self._design_chosen()
        first = reeds_first(q, self.choices)
        if (q.key == TWO_REEDS) != (self._asked == TWO_REEDS):
            for reed, t in self.ticks.items():
                t.value = reed in first
            self.reeds_button.value = q.key == TWO_REEDS
        self._asked = q.key
        self.words_button.layout.display = "none" if q.key == TWO_REEDS else ""
        self._offer_expected()
        self.expected.put(None)
        self.helper.value = False
        self.helper.layout.display = "" if q.mask is not None else "none"

    def _design_chosen(self, *_: object) -> None:
        q, design = self.base, self.design.typed
        if q is None:
            return
        self._offer_outcomes()
        if design is not None:
            self.outcome.put(q.outcome_for(design))
        self._outcome_chosen()

    def _offer_outcomes(self) -> None:
        q, design = self.base, self.design.typed
        if q is None:
            return
        own = q.key == "own" and self.words.wears_off.typed is not None
        if design is None or (own and design == "reed_by_reed"):
            found = [(OUTCOMES[o].title, o) for o in (WEARS_OFF if own else q.outcomes)]
        else:
            told = tr("{words} · {chance} of 100")
            found = [(words if chance is None else told.format(words=words, chance=chance), o)
                     for o, words, chance in way_lines(q, design, self.rows)]
        self.outcome.offer(found)
        self.outcome.layout.display = "" if len(found) > 1 and (own or q.key != "own") else "none"

    def _outcome_chosen(self, *_: object) -> None:
        q, outcome = self.base, self.outcome.typed
        if q is None:
            return
        how = "crossover" if outcome is not None and OUTCOMES[outcome].crossover else self.design.typed
        self.how.value = "" if outcome is None or how is None else render("note", text=tr(
            "{design}. Judged by: {outcome}.").format(design=DESIGN_WORDS[how], outcome=OUTCOMES[outcome].title))
        self.read_early.layout.display = "none" if outcome is not None and OUTCOMES[outcome].pairs else ""
        if outcome is not None:
            self.matters.put(q.matters[outcome])
            self.days.put(q.days[outcome])
            self._suggested = self.days.typed
        sets_hours = not q.same_days or (q.key == "own" and self.words.sets_hours.value)
        crossover = outcome is not None and OUTCOMES[outcome].crossover
        self.goes_on.layout.display = "" if crossover and q.key != "own" else "none"
        if crossover and self.goes_on.typed is None:
            self.goes_on.put(q.wears_off)
        self.marks.show_for(outcome, sets_hours=sets_hours)
        self._offer_lengths()

    def _offer_again(self, *_: object) -> None:
        """Offer what the days allow; what was chosen stays where it is still offered."""
        outcome, days, suggested, gap = self.outcome.typed, self.days.value, self._suggested, self.matters.value
        self._offer_outcomes()
        self.outcome.put(outcome)
        self.days.value, self._suggested, self.matters.value = days, suggested, gap

    def _offer_lengths(self) -> None:
        lines = length_lines(self.rows, self.design.typed, self.outcome.typed, LENGTHS)
        chosen = self.days.typed
        self.length.options = [(weeks_words(n) if c is None
                                else tr("{weeks_words} · {c} of 100").format(weeks_words=weeks_words(n), c=c), 7 * n)
                               for n, c in lines]
        self.length.put(int(chosen) if chosen is not None and chosen.isdigit() else None)

    def _length_chosen(self, change: dict[str, Any]) -> None:
        if change["new"] is not None and str(change["new"]) != self.days.typed:
            self.days.put(change["new"])
            self._suggested = None

    # --- what is said ----------------------------------------------------------------------------

    def values(self) -> dict[str, Any]:
        """Return what `draw_up` takes; raises InputError naming everything to put right."""
        q = self.question.typed
        typed = Typed(
            question=q, reeds=self._ticked(), start=self.start.value,
            design=self.design.typed, outcome=self.outcome.typed, expected=self.expected.typed, setup=self.setup.typed,
            helper=self.helper.value, read_early=self.read_early.value, suggested_days=self._suggested, numbers={
                "days": self.days.typed, "matters": self.matters.typed, "reeds_a_day": self.reeds_a_day.typed,
                "minutes_a_day": self.minutes.typed, "goes_on": self.goes_on.typed},
            **self.words.typed)
        wishes, faults = plan_wishes(typed)
        lines = list(faults)
        marks = self.marks.read(lines)
        if lines:
            raise InputError("\n".join(lines))
        return {**wishes, **marks}
