"""The teacher's form: one plan for the whole class, written to a file to hand out."""

from __future__ import annotations

import re
from typing import Any

import ipywidgets as w

from ...classes.class_outlook import class_outlook, outlook_words
from ...classes.class_plan import ClassPlan, class_plan
from ...errands.book import Book
from ...errors import InputError, PlanRefused
from ...folder.filing import make_folder
from ...logbook.class_files import write_plan_file
from ...plan.marks import Marks
from ...questions import CATALOGUE, Question
from ...rows.tables import RATING_WORDS
from ...trial.outcomes import OUTCOMES
from ...trial.practice import ANCHORS
from ...trial.protocol import DESIGNS
from ...wording import tr
from ..plan_page.wishes import OwnWays
from ..plan_page.words import DESIGN_WORDS, question_html
from ..shared.fields import Choice, Number, Pick, Words, dressed, fold, heading, note
from ..shared.form import NOT_FAIR, Form, NotYet, html, told_under
from ..shared.render import render
from .shared import class_folder, plan_html

__all__ = ["ClassPlanForm"]

_RATINGS = [(told, column) for column, told in RATING_WORDS.items()]


class ClassPlanForm(Form):
    """Question, scale and length, the same for all; each pupil's reeds are dealt later."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.question = Pick(tr("What do you want to know?"), [(q.title, q.key) for q in CATALOGUE.values()],
                             empty=tr("choose a question"))
        self.about = html("")
        self.words = OwnWays()
        self.words_button = fold(tr("Change the words"), self.words.view)
        self.words.confirmed.layout.display = "none"  # it is the player's own word, which no file can carry
        self.design = Choice(tr("How"), [])
        self.outcome = Pick(tr("What counts"), [])
        self.rating = Choice(tr("Rated by"), _RATINGS, "overall")
        self.matters = Number(tr("Smallest difference that matters"))
        self.days = Number(tr("Days"))
        self.reeds_a_day = Number(tr("Reeds to rate a day (empty: as suits the plan)"))
        self.minutes = Number(tr("Minutes a pupil plays a day"), 60)
        self.scale = {points: Words(tr("{points} points means").format(points=points), words)
                      for points, words in ANCHORS.items()}
        self.scale_view = w.HBox(list(self.scale.values()))
        self.scale_button = fold(tr("Change the words of the scale"), self.scale_view)
        self.name = Words(tr("Name of the file"))
        self.save = self.button(tr("Write the plan to hand out"), self._save, main=True)
        self.pupils, self.each = Number(tr("Pupils in the class"), 8), Number(tr("Reeds each pupil has"), 4)
        self.foretell = dressed(self.button(tr("What can the class show?"), self._foretell), "beside")
        self.shows = html("")
        self.rest = w.VBox([self.about, self.words_button, self.words.view, self.design,
                            w.HBox([self.outcome, self.rating]),
                            w.HBox([self.matters, self.days]), w.HBox([self.reeds_a_day, self.minutes]),
                            self.scale_button, self.scale_view,
                            note(tr("All pupils use the same question, scale and length. Each has their own "
                                    "reeds, dealt afresh.")), self.name, self.save,
                            heading(tr("Before you hand it out")), w.HBox([self.pupils, self.each, self.foretell]),
                            self.shows])
        self.show(self.question, self.rest)
        self.question.observe(self.guarded(self._chosen), "value")
        self.design.observe(self.guarded(self._design_chosen), "value")
        self.outcome.observe(self.guarded(self._outcome_chosen), "value")
        self._chosen()

    @property
    def _base(self) -> Question | None:
        return None if self.question.typed is None else CATALOGUE[self.question.typed]

    def _chosen(self) -> None:
        self.quiet()
        q = self._base
        self.rest.layout.display = "none" if q is None else ""
        if q is None:
            return
        self.about.value = question_html(q)
        own = q.key == "own"
        self.words.show_for(q)
        self.words_button.value = own
        designs = DESIGNS if own else q.designs
        self.design.options = [(DESIGN_WORDS[d], d) for d in designs]
        self.design.put(q.design)
        self.design.layout.display = "" if len(designs) > 1 else "none"
        self.name.put(f"class plan {q.key}")
        self._design_chosen()

    def _design_chosen(self) -> None:
        q, design = self._base, self.design.typed
        if q is None or design is None:
            return
        found = q.outcomes_for(design) or tuple(o for o, known in OUTCOMES.items() if design in known.designs)
        outcomes = tuple(o for o in found if not OUTCOMES[o].crossover)
        self.outcome.offer([(OUTCOMES[o].title, o) for o in outcomes])
        if self.outcome.typed is None:
            self.outcome.put(outcomes[0])
        self._outcome_chosen()

    def _outcome_chosen(self) -> None:
        q, outcome = self._base, self.outcome.typed
        if q is None or outcome is None:
            return
        card = OUTCOMES[outcome]
        self.matters.put(q.matters[outcome])
        self.days.put(q.days[outcome])
        self.matters.description = tr("Smallest difference that matters, {value}").format(
                                       value=tr("times") if card.lives else card.unit)

    def _foretell(self) -> None:
        faults: list[str] = []
        pupils, each = (self.pupils.within(1, 60, faults, whole=True), self.each.within(1, 20, faults, whole=True))
        if pupils is None or each is None:
            raise NotYet(faults)
        plan = self._plan()
        self.message.value = render("tell", kind="tell", text=tr("Playing it through …"))
        with told_under(NOT_FAIR, PlanRefused):
            found = class_outlook(plan, pupils=int(pupils), reeds=int(each))
        self.quiet()
        self.shows.value = render("class_outlook", said=outlook_words(found))

    def _save(self) -> None:
        plan = self._plan()
        path = class_folder(self.book) / f"{self.name.typed}.json"
        make_folder(path.parent)
        write_plan_file(path, plan)
        self.book.tell_forms()
        self.done(tr("Written. Hand this file out, just as it is:"),
                  str(render("path", path=path.resolve())) + plan_html(plan))

    def _plan(self) -> ClassPlan:
        """Return the plan as it is filled in; NotYet with what is to be put right."""
        with (told_under(NOT_FAIR, PlanRefused),
              told_under(tr("Not written yet. Please put this right:"), InputError)):
            if self._base is None:
                raise InputError(tr("Choose a question first."))
            question, wishes = self.words.question(self._base), self._wishes()
            scale = Marks(scale=tuple((p, c.typed) for p, c in self.scale.items() if c.typed is not None)).scale
            return class_plan(question, scale=dict(scale), **wishes)

    def _wishes(self) -> dict[str, Any]:
        """Return what `class_plan` takes; InputError naming every control to put right."""
        out: dict[str, Any] = {"design": self.design.typed, "outcome": self.outcome.typed,
                               "rating": self.rating.typed or "overall"}
        faults: list[str] = []
        for name, control, low, high, whole, needed in (
                ("matters", self.matters, 0.01, 100, False, True), ("days", self.days, 1, 1000, True, True),
                ("reeds_a_day", self.reeds_a_day, 1, 10, True, False),
                ("minutes_a_day", self.minutes, 5, 600, False, True)):
            number = control.within(low, high, faults, whole=whole, needed=needed)
            if number is not None:
                out[name] = int(number) if whole else number
        if not re.fullmatch(r"[\w][\w .,()+-]{0,59}", self.name.typed or ""):
            faults.append(tr("Name of the file: wanted letters, digits, spaces and dashes, at most 60."))
        if faults:
            raise InputError("\n".join(faults))
        return out
