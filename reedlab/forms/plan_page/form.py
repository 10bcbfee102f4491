"""Three short steps: the question, the reeds and the time, what the plan can show; then it starts."""

from __future__ import annotations

import dataclasses
import secrets
from functools import partial
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from ...analysis.units.first_plays import played_beyond_first
from ...analysis.verdicts.repeats import earlier_names, repeat_level
from ...errands.book import Book
from ...errors import EntryRefused, InputError, PlanRefused
from ...plan.at_hand import break_in_days, ramp_left
from ...rows.tables import Frames
from ...schedule import minutes_a_day
from ...screens.plan import STEPS, Use, alternatives, burden_of, reed_choices
from ...screens.questions import in_100
from ...screens.words import lines_of
from ...trial.instruments import INSTRUMENT_WORDS
from ...wording import all_of, tr
from ..shared.fields import Words, dressed, fold, note, show_if
from ..shared.form import NOT_FAIR, Form, NotYet, button, html, told_under
from ..shared.render import render
from .outlook_view import OutlookView
from .questions import QuestionList
from .wishes import Wishes
from .words import draft_html, reeds_to_offer, started_html

if TYPE_CHECKING:
    from ...plan import Draft
    from ...trial.outlook import Advice, Outlook
    from ...worlds import World

__all__ = ["PlanForm"]

#: Refusals of the wish itself, to which no other plan is an answer.
_NO_ADVICE = ("forbidden_habit", "confirm_habit", "same_habit", "instrument_mix", "unknown_question")
_TRIALS, _ADVICE_TRIALS = 1500, 3000  # about how many simulated trials each bar has to go through


class PlanForm(Form):
    """Ranks the questions, draws up a plan and shows what it could tell, then freezes it on Start."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.add_class("reedlab-day")
        self.draft: Draft | None = None
        self.seed = secrets.randbits(31)  # one shuffle for each page: drawing up again does not redeal at will
        self.wishes = Wishes(book.today())
        self.head = html("")
        self.questions = QuestionList(book, self.wishes.minutes, self._choose, self._chances)
        self.draw = self.button(tr("Show me the plan"), self._draw, main=True)
        self.back = self.button(tr("Back"), self._put_away)
        self.outlook = OutlookView()
        self.others = w.VBox([])
        self.seen: Outlook | None = None
        self.figure = html("")
        self.picture = fold(tr("See it as a picture"), self.figure)
        self.uses: list[tuple[Use, w.Button]] = []
        self.shown = html("")
        self.full = fold(tr("The plan in full"), self.shown)
        self.name = Words(tr("Name of the trial"))
        self.start = self.button(tr("Start this trial"), self._start, main=True, busy=tr("Starting…"))
        self.again = self.button(tr("Back"), lambda: self._go(2))
        self.frozen = w.VBox([w.HBox([self.picture, self.full]), self.figure, self.shown, self.name])
        self.picture.observe(self.guarded(self._draw_figure), "value")
        self.steps = (self.questions.view, w.VBox([self.wishes.view, w.HBox([self.draw, self.back])]),
                      w.VBox([self.outlook, self.others, self.frozen, w.HBox([self.start, self.again]), note(
                          tr("Starting freezes the plan. To change it later, you end it and start another."))]))
        self.show(self.head, *self.steps)
        self.wishes.question.observe(self.guarded(self._question_changed), "value")
        self._go(1)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again: its reeds and set-ups, and what can be settled with them."""
        frames = self.book.frames()
        self.wishes.offer_reeds(reed_choices(frames, self.book.today()), list(frames.setups["setup"]))
        self.wishes.offer_minutes(minutes_a_day(frames))
        self.questions.weigh()

    # --- the steps -------------------------------------------------------------------------------

    def _go(self, step: int) -> None:
        self.at = step
        for n, view in enumerate(self.steps, start=1):
            show_if(n == step, view)
        q = self.wishes.base if step > 1 else None
        own = self.draft.protocol.ask if self.draft is not None and step == 3 else None
        self.head.value = render("plan_steps", steps=STEPS, at=step, title=q.title if q else "",
                                 ask=(own or q.ask) if q else "")
        if step < 3:
            self.draft = None
            self.outlook.forecast.value = ""
            self.others.children = ()
        if step > 1:
            self.questions.put_in_order()  # out of sight
        self.quiet()

    def _choose(self, key: str) -> None:
        best = self.questions.best(key)
        if best is not None:
            reeds = tuple(self._best_first()[:best.offered]) if best.cap_hours is not None else None
            self.wishes.use(Use(key, best.design, best.outcome, best.days, best.cap_hours, reeds))
        else:
            self.wishes.question.put(key)
        self._chances()
        self._go(2)

    def _best_first(self) -> list[str]:
        free = {c.reed for c in self.wishes.choices if not c.why}
        frame = reeds_to_offer(self.book.frames(), self.book.today())
        frame = frame.sort_values("first_play", ascending=False, kind="stable")
        return [r for r in frame["reed"] if r in free]

    def _chances(self) -> None:
        if self.wishes.question.typed is not None:
            self.wishes.offer_chances(self.questions.of(self.wishes.question.typed))

    def _question_changed(self) -> None:
        self._go(1 if self.wishes.base is None else 2)

    def _put_away(self) -> None:
        self.wishes.question.put(None)
        self._go(1)

    # --- drawing up ------------------------------------------------------------------------------

    def _draw(self) -> None:
        try:
            wishes = self.wishes.values()
        except InputError as err:
            self._go(2)
            raise NotYet(lines_of(err), tr("No plan yet. Please put this right:")) from err
        frames = self.book.frames()
        reeds = reeds_to_offer(frames, self.book.today())
        chosen = reeds[reeds["reed"].isin(wishes.pop("reeds"))]
        kinds = sorted(set(frames.boxes.loc[frames.boxes["box"].isin(chosen["box"]), "instrument"]))
        if len(kinds) > 1:
            self._go(2)
            raise NotYet([tr("Reeds: they are for {kinds}. One trial is for one instrument.").format(
                              kinds=all_of(INSTRUMENT_WORDS[kind] for kind in kinds))],
                         tr("No plan yet. Please put this right:"))
        self._work_out(wishes, chosen, kinds[0], frames)

    def _work_out(self, wishes: dict[str, Any], reeds: Any, instrument: str, frames: Frames) -> None:
        from ...plan import draw_up
        from ...plan.advice import advise
        from ...plan.own_world import world_for

        question, minutes = wishes.pop("question"), wishes["minutes_a_day"]
        world = world_for(frames)[0]
        more: dict[str, Any] = {"boxes": frames.boxes, "played": played_beyond_first(frames)}
        limit = wishes["days"] or question.days[wishes["outcome"] or question.outcomes[0]]
        refused: PlanRefused | None = None
        seen: Outlook | None = None
        self._go(3)
        self.start.disabled = True
        show_if(False, self.frozen, self.start)
        try:
            self.draft = draw_up(question, reeds, seed=self.seed, instrument=instrument, world=world, past=frames,
                                 **more, **wishes)
        except PlanRefused as err:
            refused = err
        else:
            limit = self.draft.protocol.days
            seen = self._show_plan(self.draft, question.title, world, minutes, frames)
        if refused is None or refused.code not in _NO_ADVICE:
            kept = {k: wishes[k] for k in ("design", "outcome", "matters", "minutes_a_day", "start", "reeds_a_day",
                                           "confirmed")}
            with self.outlook.playing(tr("Looking for other plans …"), _ADVICE_TRIALS) as step:
                self._show_others(advise(
                    question, reeds, days_limit=min(limit, 1000), seed=self.seed, instrument=instrument, world=world,
                    asked=seen, step=step, level_of=partial(repeat_level, frames=frames), **kept, **more))
        if refused is not None:
            with told_under(NOT_FAIR, PlanRefused):
                raise refused

    def _show_plan(self, draft: Draft, title: str, world: World, minutes: float, frames: Frames) -> Outlook:
        """Show the forecast first: it is the most useful thing to say; then the plan itself, ready to start."""
        from ...plan.look_ahead import outlook
        from ...summary.words.forecast import forecast_sentences

        plan = draft.protocol
        with self.outlook.playing(tr("Playing the plan through …"), _TRIALS) as step:
            seen = outlook(dataclasses.replace(plan, level=repeat_level(plan, frames)), shown=draft.shown,
                           world=world.but(minutes_a_day=minutes), progress=step)
        break_in = 0 if plan.from_new else break_in_days(plan.reeds, ramp_left(frames), minutes)
        self.outlook.forecast.value = render(
            "plan_shown", said=forecast_sentences(seen), useful=in_100(seen.useful), repeat=_repeat(draft, frames),
            burden=burden_of(plan, minutes, break_in))
        self.seen, self.picture.value, self.full.value = seen, False, False
        self.shown.value = draft_html(draft)
        self.name.put(f"{title} {plan.start.isoformat()}")
        show_if(True, self.frozen, self.start)
        self.start.disabled = False
        return seen

    def _draw_figure(self) -> None:
        """Draw the picture when it is first wanted: wide, or for a phone."""
        from ...summary.figures import NARROW, WIDE, forecast_figure, svg_uri
        from ...summary.words.forecast import forecast_sentences

        if not self.picture.value or self.seen is None:
            return
        wide, narrow = (svg_uri(forecast_figure(self.seen, width=size, titled=False)) for size in (WIDE, NARROW))
        self.figure.value = render("plan_figure", wide=wide, narrow=narrow, trials=self.seen.odds[0].trials,
                                   said=forecast_sentences(self.seen))

    def _show_others(self, advice: Advice) -> None:
        from ...summary.words.forecast import life_sentence

        self.uses = []
        rows: list[w.Widget] = []
        for a in alternatives(advice):
            parts: list[w.Widget] = [html(render("plan_other", a=a))]
            if a.use is not None:
                made = button(tr("Use this plan"), tip=tr("Use this plan: {words}, {length}").format(
                                                           words=a.words, length=a.length), busy=tr("Working…"))
                made.on_click(self.guarded(partial(self._use, a.use)))
                self.uses.append((a.use, made))
                parts.append(made)
            rows.append(dressed(w.HBox(parts), "row"))
        if advice.life is not None:
            rows.append(note(life_sentence(advice.life)))
        self.others.children = (html(render("plan_others")), *rows) if rows else ()

    def _use(self, plan: Use) -> None:
        expected = self.wishes.expected.typed
        self.wishes.use(plan)
        self._chances()
        if self.wishes.expected.typed is None:  # another question: its ways have other names
            self.wishes.expected.put(expected if expected in ("same", "none") else None)
        self._draw()

    # --- start -----------------------------------------------------------------------------------

    def _start(self) -> None:
        if self.draft is None:
            raise NotYet([tr("Press \"Show me the plan\" first.")], tr("Not started yet."))
        if self.name.typed is None:
            raise NotYet([tr("Give the trial a name.")], tr("Not started yet."))
        head = tr("Not started yet. Please put this right:")
        with told_under(head, EntryRefused), self.book.writing() as logbook:  # another page may have started one
            logbook.start_trial(dataclasses.replace(self.draft.protocol, trial=self.name.typed))
        plan = self.book.protocols()[self.name.typed]
        self._put_away()
        self.done(tr("Started. This now stands in your logbook:"), started_html(plan))


def _repeat(draft: Draft, frames: Frames) -> str:
    """Return what earlier trials of the question mean for this one; nothing where there are none."""
    from ...summary.words.repeats import repeat_sentences

    earlier = len(earlier_names(draft.protocol, frames))
    return " ".join(repeat_sentences(earlier + 1, 1 - repeat_level(draft.protocol, frames))) if earlier else ""
