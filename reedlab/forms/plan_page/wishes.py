"""The controls of the plan page, and the wishes they say."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from typing import Any

import ipywidgets as w
import pandas as pd

from ...errors import InputError
from ...questions import CATALOGUE, Question, own_question
from ...trial.outcomes import OUTCOMES
from ...trial.protocol import Habit
from ..shared.fields import Choice, Number, Pick, Words, day_picker, folds, note, tick
from .marks import MarkControls
from .words import DESIGN_WORDS, habit_key, question_html

__all__ = ["OwnWays", "Wishes"]


class OwnWays:
    """The player's own words for the question and its two ways."""

    def __init__(self) -> None:
        self.ask = Words("Your question, in a sentence")
        self.names = [Words("The one way, in a few words"), Words("The other way, in a few words")]
        self.steps = [Words("What to do, the one way"), Words("What to do, the other way")]
        for control in (self.ask, *self.steps):
            control.add_class("reedlab-wide")
        self.lasts = Choice("Is the effect still there the next day?", [("Yes, or not sure", True), ("No", False)])
        self.sets_hours = tick("The ways differ in how long or how often a reed is played")
        self.from_new = tick("The reeds must be new at the start")
        self.confirmed = tick("In both ways reeds are wiped or rinsed, dried, and played by nobody else")
        self.extra = w.VBox([self.lasts, self.sets_hours, self.from_new])
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
        """Return the question in the player's words."""
        habits = [Habit(habit_key(n.typed or "") if base.key == "own" else old.key, n.typed or "", s.typed or "")
                  for old, n, s in zip(base.habits, self.names, self.steps, strict=True)]
        if base.key != "own":
            if not all(h.name for h in habits):
                raise InputError("Each way needs a name: a few words that fit after \"with\".")
            return replace(base.with_habits(*habits), ask=self.ask.typed or base.ask)
        if self.lasts.typed is None:
            raise InputError("Say whether the effect is still there the next day. Not sure? Choose yes.")
        return own_question(self.ask.typed or "", *habits, lasts=self.lasts.typed,
                            sets_hours=self.sets_hours.value, from_new=self.from_new.value,
                            confirmed=self.confirmed.value)


class Wishes:
    """All controls of a plan. `values()` returns what `plan.draw_up` takes."""

    def __init__(self, today: date) -> None:
        self.question = Pick("What do you want to know?", [(q.title, q.key) for q in CATALOGUE.values()],
                             empty="choose a question")
        self.about = w.HTML()
        self.words_button = w.ToggleButton(value=False, description="Change the words")
        self.words = OwnWays()
        self.ticks: dict[str, w.Checkbox] = {}
        self.reeds = w.HBox([])
        self.reeds_head = w.HTML()
        self.design = Choice("How", [])
        self.outcome = Pick("What counts", [])
        self.outcome.add_class("reedlab-wide")  # its choices are whole phrases
        self.matters = Number("Smallest difference that matters to you")
        self.start = day_picker("First day", today)
        self.days = Number("Days")
        self.expected = Choice("Which way do you expect to do better?", [])
        self.more_button = w.ToggleButton(value=False, description="More choices")
        self.reeds_a_day = Number("Reeds to rate a day (empty: as suits the plan)")
        self.minutes = Number("Minutes you play a day, all reeds", 60)
        self._minutes = self.minutes.typed  # what was filled in beforehand
        self.setup = Pick("Set-up", [])
        self.helper = tick("A helper makes the reeds ready and hides from me which way it was")
        self.marks = MarkControls()
        self.more = w.VBox([w.HBox([self.reeds_a_day, self.minutes, self.setup]), self.helper, self.marks.view])
        self.rest = w.VBox([
            self.words_button, self.words.view, self.reeds_head, self.reeds, self.design,
            w.HBox([self.outcome, self.matters]), w.HBox([self.start, self.days]), self.expected,
            note("Say it now, before the start. It is kept with the plan."), self.more_button, self.more])
        self.view = w.VBox([self.question, self.about, self.rest])
        folds(self.more_button, self.more)
        folds(self.words_button, self.words.view)
        self.question.observe(self._question_chosen, "value")
        self.design.observe(self._design_chosen, "value")
        self.outcome.observe(self._outcome_chosen, "value")
        self.words.sets_hours.observe(self._outcome_chosen, "value")
        self._question_chosen()

    @property
    def base(self) -> Question | None:
        """The catalogue's question chosen, if any."""
        return None if self.question.typed is None else CATALOGUE[self.question.typed]

    def offer_reeds(self, reeds: pd.DataFrame, setups: Sequence[str]) -> None:
        """Offer these reeds, ticked unless the player has unticked them, and these set-ups."""
        off = {code for code, t in self.ticks.items() if not t.value}
        self.ticks = {str(code): tick(f"{code} ({rating:g})" if rating == rating else str(code), code not in off)
                      for code, rating in zip(reeds["reed"], reeds["first_play"], strict=True)}
        self.reeds.children = tuple(self.ticks.values())
        self.reeds_head.value = (
            '<h3>Reeds</h3><p class="reedlab-quiet">In brackets: the first-play rating. Untick what the trial '
            "should leave alone. Unless break-in is the question, break reeds in first: about 10, 25, then 45 "
            "minutes on three days.</p>" if len(reeds) else "<h3>Reeds</h3><p>No reeds yet. Save a box above.</p>")
        self.setup.offer([(s, s) for s in setups])
        if len(setups) and self.setup.typed is None:
            self.setup.put(setups[-1])

    def offer_minutes(self, minutes: float | None) -> None:
        """Fill in the mean of the player's week, unless the player has put in another number."""
        if minutes is not None and self.minutes.typed == self._minutes:
            self.minutes.put(minutes)
            self._minutes = self.minutes.typed

    def _question_chosen(self, *_: object) -> None:
        q = self.base
        self.rest.layout.display = "none" if q is None else ""
        self.about.value = "" if q is None else question_html(q)
        if q is None:
            return
        self.words.show_for(q)
        self.words_button.value = q.key == "own"
        designs = ("day_by_day", "reed_by_reed") if q.key == "own" else q.designs
        self.design.options = [(DESIGN_WORDS[d], d) for d in designs]
        self.design.put(None if q.key == "own" else q.design)
        self.design.layout.display = "" if len(designs) > 1 and q.key != "own" else "none"
        self.expected.options = [*((h.name, h.key) for h in q.habits), ("No difference", "same"),
                                 ("I cannot say", "none")]
        self.expected.put(None)
        self._design_chosen()

    def _design_chosen(self, *_: object) -> None:
        q, design = self.base, self.design.value
        if q is None:
            return
        outcomes = q.outcomes if design is None else q.outcomes_for(design)
        self.outcome.offer([(OUTCOMES[o].title, o) for o in outcomes])
        self.outcome.put(outcomes[0] if design is not None else None)
        self._outcome_chosen()

    def _outcome_chosen(self, *_: object) -> None:
        q, outcome = self.base, self.outcome.typed
        if q is None:
            return
        self.matters.put(None if outcome is None else q.matters[outcome])
        self.days.put(None if outcome is None else q.days[outcome])
        unit = "" if outcome is None else OUTCOMES[outcome].gap_unit
        self.matters.description = "Smallest difference that matters to you" + (f", {unit}" if unit else "")
        self.marks.show_for(outcome, sets_hours=self.words.sets_hours.value if q.key == "own" else not q.same_days)

    def values(self) -> dict[str, Any]:
        """Return the wishes; raises InputError naming every control to put right."""
        q = self.base
        if q is None:
            raise InputError("Choose a question first.")
        faults = []
        numbers: dict[str, float | None] = {}
        for name, control, low, high in (("days", self.days, 1, 1000), ("matters", self.matters, 0.01, 100),
                                         ("reeds_a_day", self.reeds_a_day, 1, 10),
                                         ("minutes_a_day", self.minutes, 5, 600)):
            numbers[name] = None
            if control.typed is not None:
                try:
                    numbers[name] = float(control.typed)
                except ValueError:
                    numbers[name] = float("nan")
                if not low <= (numbers[name] or 0) <= high:
                    faults.append(f"{control.description}: wanted a number from {low:g} to {high:g}.")
        if self.start.value is None:
            faults.append("First day: choose a date.")
        if self.expected.typed is None:
            faults.append("Which way do you expect to do better? Choose one; \"I cannot say\" will do.")
        reeds = [code for code, t in self.ticks.items() if t.value]
        if not reeds:
            faults.append("Reeds: tick the reeds for the trial.")
        try:
            question = self.words.question(q)
        except InputError as err:
            faults.append(str(err))
        for part in (self.marks.marks, self.marks.cap_hours):
            try:
                part()
            except InputError as err:
                faults += str(err).splitlines()
        if faults:
            raise InputError("\n".join(faults))
        keys = [h.key for h in question.habits]
        expected = self.expected.typed
        if expected not in ("same", "none") and q.key == "own":
            expected = keys[[h.key for h in q.habits].index(expected)]
        return {
            "question": question, "reeds": reeds, "start": self.start.value,
            "design": self.design.typed, "outcome": self.outcome.typed,
            "days": self._days(numbers["days"]), "matters": numbers["matters"],
            "reeds_a_day": None if numbers["reeds_a_day"] is None else int(numbers["reeds_a_day"]),
            "minutes_a_day": numbers["minutes_a_day"] or 60.0,
            "expected": None if expected == "none" else expected, "setup": self.setup.typed,
            "masked": "helper" if self.helper.value else "none", "confirmed": self.words.confirmed.value,
            "marks": self.marks.marks(), "cap_hours": self.marks.cap_hours(),
        }

    def _days(self, typed: float | None) -> int | None:
        """Return the days wished for; None where the question's own length stands, which may be made longer."""
        q, outcome = self.base, self.outcome.typed
        if typed is None or (q is not None and outcome is not None and typed == q.days[outcome]):
            return None
        return int(typed)


