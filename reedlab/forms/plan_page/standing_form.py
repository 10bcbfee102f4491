"""A standing trial: what it may take, begin it; and deal the next box of one that runs."""

from __future__ import annotations

import secrets

import ipywidgets as w

from ...errands.book import Book
from ...errands.standing_steps import boxes_at_hand, deal_next, draft_standing, outlook_for, standing_trials
from ...errors import EntryRefused, PlanRefused
from ...questions import CATALOGUE
from ...trial.protocol import Protocol
from ...wording import tr
from ..shared.fields import Pick, Words, note
from ..shared.form import Form, NotYet, html, need, rows_table, told_under
from ..shared.render import render

__all__ = ["StandingForm"]


class StandingForm(Form):
    """Where a standing trial runs, deals a box in it; else shows what one may take, and begins it."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.seed = secrets.randbits(31)
        asked = [q for q in CATALOGUE.values() if q.key != "own" and "life_hours" in q.outcomes]
        self.question = Pick(tr("Question"), [(q.title, q.key) for q in asked], empty=tr("choose a question"))
        self.box = Pick(tr("Box to deal"), [], empty=tr("choose a box"))
        self.name = Words(tr("Name of the trial"))
        self.look = self.button(tr("Show me what it may take"), self._look)
        self.shown = html("")
        self.begin = self.button(tr("Begin this trial"), self._begin, main=True)
        self.running = Pick(tr("Trial"), [], empty=tr("choose a trial"))
        self.next_box = Pick(tr("Box to deal"), [], empty=tr("choose a box"))
        self.deal = self.button(tr("Deal this box"), self._deal, main=True)
        self.new = w.VBox([w.HBox([self.question, self.box, self.name]), self.look, self.shown, self.begin])
        self.going = w.VBox([w.HBox([self.running, self.next_box]), self.deal])
        self.show(note(tr("It goes on until it is settled. Each new box is shuffled when you open it, half to "
                          "each way. No rating is asked for: only which reed, how long, and when it is done. You "
                          "may read it on any day.")), self.going, self.new)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again: which boxes can be dealt, which standing trials run."""
        frames = self.book.frames()
        names = standing_trials(self.book.protocols(), frames, self.book.today())
        boxes = [(tr("box {box}, {n} reeds").format(box=b, n=n), b)
                 for b, n in boxes_at_hand(frames, self.book.today()).items()]
        for control in (self.box, self.next_box):
            control.offer(boxes)
        self.running.offer([(n, n) for n in names])
        if len(names) == 1:
            self.running.put(names[0])
        self.going.layout.display = "" if names else "none"

    def _look(self) -> None:
        from ...summary.words.standing import outlook_sentences

        need(tr("Nothing to show yet."), (self.question, tr("Question: choose one.")))
        said = outlook_sentences(outlook_for(self.book.frames()))
        self.shown.value = render("lines", lines=said)
        self.quiet()

    def _begin(self) -> None:
        need(tr("Not begun yet. Please put this right:"), (self.question, tr("Question: choose one.")),
             (self.box, tr("Box to deal: choose one.")))
        with (told_under(tr("Not begun yet."), PlanRefused),
              told_under(tr("Not begun yet. Please put this right:"), EntryRefused)):
            draft = draft_standing(self.book.frames(), self.question.typed or "", start=self.book.today(),
                                   seed=self.seed, deal=[self.box.typed or ""], trial=self.name.typed)
            with self.book.writing() as logbook:
                logbook.start_trial(draft.protocol)
        self.shown.value = ""
        self.seed = secrets.randbits(31)
        for control in (self.question, self.name):
            control.put(None)
        self.done(" ".join([tr("Begun: {trial}.").format(trial=draft.protocol.trial), *draft.remarks]),
                  _ways(draft.protocol, ()))

    def _deal(self) -> None:
        if self.next_box.typed is None or self.running.typed is None:
            raise NotYet([tr("Choose the trial and the box.")], tr("Not dealt yet."))
        with (told_under(tr("Not dealt yet."), PlanRefused),
              told_under(tr("Not dealt yet. Please put this right:"), EntryRefused), self.book.writing() as logbook):
            dealt = deal_next(logbook, self.next_box.typed, self.book.today(), self.running.typed)
        self.done(tr("Dealt. This now stands in your logbook:"), _ways(dealt.plan, dealt.reeds[0] + dealt.reeds[1]))


def _ways(plan: Protocol, only: tuple[str, ...]) -> str:
    """Return which reed keeps to which way; those of a box only where they are named."""
    if plan.masked == "helper":
        return render("line", text=tr("Your helper makes the reeds ready; you will not see the ways here."))
    rows = [[h.name, h.steps, ", ".join(u.unit for u, k in zip(plan.units, plan.dealt, strict=True)
                                        if k == h.key and (not only or u.unit in only))] for h in plan.habits]
    return rows_table([tr("Way"), tr("What to do"), tr("Reeds")], rows)
