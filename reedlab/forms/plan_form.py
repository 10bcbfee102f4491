"""Question, reeds, the plan shown, start."""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING

import ipywidgets as w

from ..errors import InputError, PlanRefused
from ..protocol import Protocol
from ..tables import Frames
from ._book import Book
from ._fields import Words, note
from ._form import Form, button, html, rows_table
from ._plan import busy_reeds, draft_html, reeds_to_offer, started_html
from ._today import running
from ._wishes import Wishes
from ._words import spoken_date

if TYPE_CHECKING:
    from ..plan import Draft

__all__ = ["PlanForm"]


class PlanForm(Form):
    """Draws up a plan and shows what it could tell, then freezes it on Start."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.draft: Draft | None = None
        self.seed = secrets.randbits(31)  # one shuffle for each page: drawing up again does not redeal at will
        self.wishes = Wishes(book.today())
        self.draw = button("Show me the plan", main=True)
        self.shown = html("")
        self.name = Words("Name of the trial")
        self.start = button("Start this trial", main=True)
        self.frozen = w.VBox([self.shown, self.name, self.start,
                              note("Starting freezes the plan. To change it, you end it and start another.")])
        self.frozen.layout.display = "none"
        self.show(self.wishes.view, self.draw, self.frozen)
        self.draw.on_click(self.guarded(self._draw))
        self.start.on_click(self.guarded(self._start))
        self.wishes.question.observe(self.guarded(self._put_away), "value")
        book.on_change(self.guarded(self.refresh))
        self.refresh()

    def refresh(self) -> None:
        """Read the logbook again and offer its reeds and set-ups."""
        frames = self.book.frames()
        self.wishes.offer_reeds(reeds_to_offer(frames), list(frames.setups["setup"]))

    def _put_away(self) -> None:
        self.draft = None
        self.frozen.layout.display = "none"
        self.draw.layout.display = "none" if self.wishes.base is None else ""
        self.quiet()

    def _running(self, frames: Frames) -> list[Protocol]:
        return [d.protocol for d in running(self.book.protocols(), frames, self.book.today())]

    def _draw(self) -> None:
        from ..plan import draw_up

        self.frozen.layout.display = "none"
        self.draft = None
        try:
            wishes = self.wishes.values()
        except PlanRefused:
            raise
        except InputError as err:
            self.problem(str(err).splitlines(), head="No plan yet. Please put this right:")
            return
        frames = self.book.frames()
        reeds = reeds_to_offer(frames)
        chosen = reeds[reeds["reed"].isin(wishes.pop("reeds"))]
        busy = busy_reeds(self._running(frames), list(chosen["reed"]))
        kinds = sorted(set(frames.boxes.loc[frames.boxes["box"].isin(chosen["box"]), "instrument"]))
        if len(kinds) > 1:
            busy.append(f"Reeds: they are for {' and '.join(kinds)}. One trial is for one instrument.")
        if busy:
            self.problem(busy, head="No plan yet. Please put this right:")
            return
        self.message.value = '<div class="reedlab-tell" role="status">Working out the plan …</div>'
        try:
            question = wishes.pop("question")
            self.draft = draw_up(question, chosen, seed=self.seed, instrument=kinds[0],
                                 boxes=frames.boxes, played=sorted(set(frames.sittings["reed"])), **wishes)
        except PlanRefused as err:
            self.problem([err.reason, f"Instead: {err.instead}"], head="This would not give a fair answer.")
            return
        self.quiet()
        self.shown.value = "<h2>The plan</h2>" + draft_html(self.draft)
        self.name.put(f"{question.title} {self.draft.protocol.start.isoformat()}")
        self.frozen.layout.display = ""

    def _start(self) -> None:
        from dataclasses import replace

        if self.draft is None:
            self.problem(["Press \"Show me the plan\" first."], head="Not started yet.")
            return
        if self.name.typed is None:
            self.problem(["Give the trial a name."], head="Not started yet.")
            return
        with self.book.writing() as logbook:
            logbook.start_trial(replace(self.draft.protocol, trial=self.name.typed))
        plan = self.book.protocols()[self.name.typed]
        self._put_away()
        self.wishes.question.put(None)
        row = [plan.trial, spoken_date(plan.start), f"{plan.days}", plan.sha256[:12]]
        self.done("Started. This now stands in your logbook:",
                  rows_table(["Trial", "First day", "Days", "Fingerprint"], [row]) + started_html(plan)
                  + '<p>Now open <a href="today.ipynb">Today</a>.</p>')
