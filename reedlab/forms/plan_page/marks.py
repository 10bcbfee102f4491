"""The controls for the player's own marks: the words of the scale, the worn-out rule, the cap of hours."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from ...errors import InputError
from ...plan.marks import FEWEST_ANCHORS, Marks
from ...trial.outcomes import OUTCOMES
from ...trial.practice import ANCHORS
from ...wording import tr
from ..shared.fields import Choice, Number, Words, heading, note, show_if

__all__ = ["MarkControls"]

_USUAL = Marks()


class MarkControls:
    """Folded away in the plan: all of it has a usual answer, and is frozen with the plan."""

    def __init__(self) -> None:
        self.anchors = {points: Words(tr("{points} points mean").format(
                                          points=points), words) for points, words in ANCHORS.items()}
        self.rule = Choice(tr("When is a reed worn out?"), [(tr("By its ratings"),
                                                             "ratings"), (tr("When I say so"), "player")],
                           _USUAL.worn_out_rule)
        self.below = Number(tr("Worn out below, points"), _USUAL.worn_out_below)
        self.good = Number(tr("No longer good below, points"), _USUAL.good_below)
        self.in_a_row = Number(tr("Ratings in a row"), _USUAL.in_a_row)
        self.cap = Number(tr("Most playing hours a reed"), hint=tr("empty: as suits the plan"))
        self.numbers = w.HBox([self.below, self.good, self.in_a_row])
        self.said = note(tr("It counts once a reed is rated below this mark so often in a row."))
        self.worn = w.VBox([self.rule, self.numbers, self.said])
        self.capped = w.VBox([self.cap, note(tr("Here the way sets the hours. A reed is done at this many hours, the "
                                                "same for both ways."))])
        self.view = w.VBox([
            heading(tr("The words beside your ratings"), 4), w.HBox(list(self.anchors.values())),
            note(tr("Say what a rating means to you. Keep at least {fewest_anchors}; empty the others if you like. "
                    "They stand beside every rating of this trial.").format(
                     fewest_anchors=FEWEST_ANCHORS)), self.worn, self.capped])
        self.rule.observe(self._rule_chosen, "value")
        self.show_for(None, sets_hours=False)

    def show_for(self, outcome: str | None, *, sets_hours: bool) -> None:
        """Show the worn-out rule where lives are compared, the cap where the way sets the hours."""
        self._outcome = outcome
        self.worn.layout.display = "" if outcome is not None and OUTCOMES[outcome].lives else "none"
        self.capped.layout.display = "" if sets_hours else "none"
        self._rule_chosen()

    def _rule_chosen(self, *_: object) -> None:
        worn_out = self._outcome is not None and OUTCOMES[self._outcome].by_word
        by_ratings = not worn_out or self.rule.typed != "player"
        show_if(worn_out, self.rule)
        show_if(worn_out and by_ratings, self.below)
        show_if(not worn_out, self.good)
        show_if(by_ratings, self.in_a_row, self.said)

    def read(self, faults: list[str]) -> dict[str, Any]:
        """Return what `draw_up` takes: the marks, and the cap; what is to be put right is added to `faults`.

        The cap is None where the planner is to choose it, or none is offered.
        """
        row = self.in_a_row.within(1, 10, faults, needed=False)
        if row is not None and row != int(row):
            faults.append(tr("{description}: wanted a whole number.").format(description=self.in_a_row.description))
        said = {"worn_out_below": self.below.within(0.5, 10, faults, needed=False),
                "good_below": self.good.within(0.5, 10, faults, needed=False),
                "in_a_row": None if row is None else int(row), "worn_out_rule": self.rule.typed}
        scale = tuple((points, c.typed) for points, c in self.anchors.items() if c.typed is not None)
        offered = self.capped.layout.display != "none"
        cap = self.cap.within(1, 500, faults, needed=False) if offered else None
        try:
            marks = Marks(scale=scale, **{name: value for name, value in said.items() if value is not None})
        except InputError as err:
            faults += str(err).splitlines()
            marks = _USUAL
        return {"marks": marks, "cap_hours": cap}
