"""Question, reeds, the plan shown, start."""

from __future__ import annotations

import secrets
from functools import partial
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from ...analysis.units.first_plays import played_beyond_first
from ...analysis.verdicts.repeats import repeat_level
from ...errands.book import Book
from ...errors import EntryRefused, InputError, PlanRefused
from ...rows.tables import Frames
from ...schedule import minutes_a_day
from ...screens.due import running
from ...screens.words import lines_of, spoken_date
from ...trial.protocol import Protocol
from ..shared.fields import Words, note
from ..shared.form import Form, button, html, rows_table
from .outlook_view import OutlookView
from .outlook_words import advise_player, own_world, play_through, repeat_note
from .wishes import Wishes
from .words import busy_reeds, draft_html, reeds_to_offer, started_html

if TYPE_CHECKING:
    from ...plan import Draft
    from ...trial.outlook import Outlook
    from ...worlds import World

__all__ = ["PlanForm"]

#: Refusals of the wish itself, to which no other plan is an answer.
_NO_ADVICE = ("forbidden_habit", "confirm_habit", "same_habit", "instrument_mix", "unknown_question")
_TRIALS, _ADVICE_TRIALS = 3000, 3000  # about how many simulated trials each bar has to go through


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
        self.outlook = OutlookView()
        self.name = Words("Name of the trial")
        self.start = button("Start this trial", main=True)
        self.frozen = w.VBox([self.shown, self.name, self.start,
                              note("Starting freezes the plan. To change it, you end it and start another.")])
        self.frozen.layout.display = "none"
        self.show(self.wishes.view, self.draw, self.outlook, self.frozen)
        self.draw.on_click(self.guarded(self._draw))
        self.start.on_click(self.guarded(self._start))
        self.wishes.question.observe(self.guarded(self._put_away), "value")
        self.follow(book, self.refresh)
        self.refresh()

    def refresh(self) -> None:
        """Read the logbook again and offer its reeds and set-ups."""
        frames = self.book.frames()
        self.wishes.offer_reeds(reeds_to_offer(frames), list(frames.setups["setup"]))
        self.wishes.offer_minutes(minutes_a_day(frames))

    def _put_away(self) -> None:
        self.draft = None
        self.frozen.layout.display = "none"
        self.outlook.clear()
        self.draw.layout.display = "none" if self.wishes.base is None else ""
        self.quiet()

    def _running(self, frames: Frames) -> list[Protocol]:
        return [d.protocol for d in running(self.book.protocols(), frames, self.book.today())]

    def _draw(self) -> None:
        from ...plan import draw_up

        self.frozen.layout.display = "none"
        self.outlook.clear()
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
        question = wishes.pop("question")
        world = own_world(frames)
        more: dict[str, Any] = {"boxes": frames.boxes, "played": played_beyond_first(frames)}
        limit = wishes["days"] or question.days[wishes["outcome"] or question.outcomes[0]]
        refused: PlanRefused | None = None
        seen: Outlook | None = None
        try:
            self.draft = draw_up(question, chosen, seed=self.seed, instrument=kinds[0], world=world, **more,
                                 **wishes)
        except PlanRefused as err:
            refused = err
        else:
            limit = self.draft.protocol.days
            seen = self._show_plan(self.draft, question.title, world, wishes["minutes_a_day"], frames)
        if refused is None or refused.code not in _NO_ADVICE:
            with self.outlook.playing("Looking for other plans …", _ADVICE_TRIALS) as step:
                advice = advise_player(question, chosen, wishes, min(limit, 1000), world, self.seed, kinds[0],
                                       seen, step, level_of=partial(repeat_level, frames=frames), **more)
            self.outlook.show_advice(advice)
        if refused is not None:
            self.problem([refused.reason, f"Instead: {refused.instead}"],
                         head="This would not give a fair answer.")

    def _show_plan(self, draft: Draft, title: str, world: World, minutes_a_day: float, frames: Frames) -> Outlook:
        """Show the forecast first: it is the most useful thing to say; then the plan itself, ready to start."""
        with self.outlook.playing("Playing the plan through …", _TRIALS) as step:
            seen = play_through(draft, world, minutes_a_day, self.seed, step, repeat_level(draft.protocol, frames))
            self.outlook.show_forecast(seen)
        self.quiet()
        self.shown.value = "<h2>The plan</h2>" + repeat_note(draft, frames) + draft_html(draft)
        self.name.put(f"{title} {draft.protocol.start.isoformat()}")
        self.frozen.layout.display = ""
        return seen

    def _start(self) -> None:
        from dataclasses import replace

        if self.draft is None:
            self.problem(["Press \"Show me the plan\" first."], head="Not started yet.")
            return
        if self.name.typed is None:
            self.problem(["Give the trial a name."], head="Not started yet.")
            return
        try:
            with self.book.writing() as logbook:
                logbook.start_trial(replace(self.draft.protocol, trial=self.name.typed))
        except EntryRefused as err:  # another page may have started one meanwhile
            self.problem(lines_of(err), head="Not started yet. Please put this right:")
            return
        plan = self.book.protocols()[self.name.typed]
        self._put_away()
        self.wishes.question.put(None)
        row = [plan.trial, spoken_date(plan.start), f"{plan.days}", plan.sha256[:12]]
        self.done("Started. This now stands in your logbook:",
                  rows_table(["Trial", "First day", "Days", "Fingerprint"], [row]) + started_html(plan)
                  + '<p>Now open <a href="today.ipynb">Today</a>.</p>')
