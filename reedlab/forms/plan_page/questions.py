"""Step one: the questions ranked by what the player's reeds, minutes and weeks can settle."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable, Generator
from typing import Final

import ipywidgets as w

from ...errands.book import Book
from ...errands.what_can_be_settled import past_answers
from ...plan.first_guess import first_guess
from ...plan.means import Means, means_of
from ...plan.ranking import LENGTHS, Ranked, Ranking, how_many_plans, ranking_steps
from ...questions import CATALOGUE
from ...screens.questions import QuestionLine, question_lines, weeks_words
from ...wording import tr, trn
from ..shared.fields import Number, Pick, dressed, fold, show_if
from ..shared.form import button, html
from ..shared.pressed import kernel
from ..shared.render import render
from .outlook_view import OutlookView

__all__ = ["QuestionList"]

_WEEKS: Final = 8  # what a player is taken to give, unless they say otherwise


class QuestionList:
    """A button a question with its chance beside it.

    A first guess stands there at once; the player's own numbers are weighed beside the page, which stays usable, and
    come into its lines. No line moves in sight but by the player's own act: other minutes or weeks, or "Put in order".
    """

    def __init__(self, book: Book, minutes: Number, choose: Callable[[str], None],
                 told: Callable[[], None]) -> None:
        self.book, self.minutes = book, minutes
        self._told = told
        self.weeks = Pick(tr("Weeks at most"), [(weeks_words(n), n) for n in LENGTHS], _WEEKS)
        self.means_said, self.cannot, self.rest = html(""), html(""), w.VBox([])
        self.more = fold("", self.rest)
        self.outlook, self.order_said = OutlookView(), html("")
        self.put = button(tr("Put in order"))
        self.put.on_click(lambda _: self.put_in_order())
        self.buttons: dict[str, w.Button] = {}
        self._lines: dict[str, w.HBox] = {}
        for q in CATALOGUE.values():
            made = dressed(button(q.title, tip=q.ask), "question")
            made.on_click(lambda _, key=q.key: choose(key))
            self.buttons[q.key] = made
            self._lines[q.key] = dressed(w.HBox([made, html("")]), "row")
        self.ranking: Ranking | None = None
        self.rows: list[Ranked] = []
        self._work: Generator[Ranked, None, Ranking] | None = None
        self._weighed: object = None
        self._known: tuple[QuestionLine, ...] = ()  # from the player's own numbers, once all are weighed
        self._placed: tuple[QuestionLine, ...] = ()  # whose order stands on the page
        self.list = w.VBox([])
        both = dressed(w.HBox([minutes, self.weeks, self.means_said]), "pair")
        order = dressed(w.HBox([self.outlook, self.order_said, self.put]), "order")
        self.view = w.VBox([both, order, self.list])
        self.weeks.observe(lambda _: self.weigh(asked=True), "value")
        minutes.observe(lambda _: self.weigh(asked=True), "value")
        self._place(tuple(QuestionLine(q.key, q.title, q.ask, None, True, "", "", "", "", None)
                          for q in CATALOGUE.values()), guessed=True)
        self._say("")

    # --- weighing --------------------------------------------------------------------------------

    def weigh(self, *, now: bool = False, asked: bool = False) -> None:
        """Weigh all plans anew, if anything they hang on has changed: bit by bit on a page, else only where `now`.

        `asked` is whether the player has changed what they hang on, so that a first guess takes the lines' place.
        """
        means = self._means()
        if means is None:
            return
        same = (means.minutes_a_day, means.weeks, means.world, tuple(means.reeds["reed"]), len(means.frames.trials),
                self.book.today())
        if same == self._weighed and (self.ranking is not None or self._work is not None) and not now:
            return
        loop = _loop()
        if loop is None and not now:
            return
        self._weighed, self.ranking, self.rows = same, None, []
        work = self._work = ranking_steps(means)
        self.outlook.begin(tr("Weighing what your own reeds can settle …"), how_many_plans(means))
        self.means_said.value = render("plan_means", reeds=len(means.reeds), imagined=means.imagined)
        if now or loop is None:
            self._go_on(work, lambda do, *what: do(*what))
            return
        self._say("")
        if asked or not self._known:
            self._known = ()
            self._place(question_lines(first_guess(means), self._answers(read=False)), guessed=True)
        threading.Thread(target=self._go_on, args=(work, loop.call_soon_threadsafe), daemon=True).start()

    def _go_on(self, work: Generator[Ranked, None, Ranking], tell: Callable[..., object]) -> None:
        """Weigh one plan after the other; what is found is told to the page in its own time."""
        try:
            while work is self._work:  # else begun anew meanwhile
                tell(self._weighed_one, work, next(work))
        except StopIteration as end:
            tell(self._finish, work, end.value)
        except RuntimeError:  # the page is gone, and its loop with it
            return

    def _weighed_one(self, work: Generator[Ranked, None, Ranking], row: Ranked) -> None:
        if work is self._work:
            self.rows.append(row)
            self.outlook.more(1)

    def _finish(self, work: Generator[Ranked, None, Ranking], ranking: Ranking) -> None:
        if work is not self._work:
            return
        self._work, self.ranking = None, ranking
        self.outlook.end()
        guessed, self._known = not self._known, question_lines(ranking, self._answers(read=True))
        moves = _order(self._placed) != _order(self._known) or (guessed and self.more.value)
        if moves and _loop() is not None and self.view.layout.display != "none":
            self._tell(self._known, "kept")
            self._say(tr("Your own numbers, still in the order of a first guess."), offer=True)
        else:
            self.put_in_order()
        self._told()

    def put_in_order(self) -> None:
        """Put the line that can best be settled first, if all are weighed."""
        if self._known and self._work is None:
            self._place(self._known)
            self._say(tr("What your reeds can best settle comes first."))

    def _answers(self, *, read: bool) -> dict[str, str]:
        if not self.book.exists:
            return {}
        with self.book.reading() as logbook:
            return past_answers(logbook, self.book.today(), read=read)

    def _means(self) -> Means | None:
        try:
            minutes = float(self.minutes.typed or "")
        except ValueError:
            return None
        if not 10 <= minutes <= 720 or self.weeks.typed is None:
            return None
        return means_of(self.book.frames(), self.book.today(), minutes_a_day=minutes, weeks=self.weeks.typed)

    # --- showing ---------------------------------------------------------------------------------

    def best(self, question: str) -> Ranked | None:
        """Return the plan that a question's line means."""
        rows = [] if self.ranking is None else [r for r in self.ranking.best() if r.question == question]
        return rows[0] if rows and not rows[0].refused else None

    def of(self, question: str) -> list[Ranked]:
        """Return what is weighed of a question so far, the most useful first."""
        found = [r for r in self.rows if r.question == question]
        return sorted(found, key=lambda r: (bool(r.refused), -r.useful))

    def _say(self, words: str, *, offer: bool = False) -> None:
        """Say what the order is, in the place of the bar; `offer` to put the lines in another."""
        self.order_said.value = render("note", text=words) if words else ""
        show_if(words, self.order_said)
        show_if(offer, self.put)

    def _tell(self, lines: tuple[QuestionLine, ...], how: str, once: str = "") -> None:
        """Write each question's line where it stands; `how` is "guessed", "kept" (it grows no taller) or "placed"."""
        for line in lines:
            self._lines[line.key].children[1].value = render("plan_line", line=line, how=how,
                                                             later="" if once or how != "placed" else line.later)

    def _place(self, lines: tuple[QuestionLine, ...], *, guessed: bool = False) -> None:
        can, cannot = ([x for x in lines if x.settles is settles] for settles in (True, False))
        later = {x.later for x in cannot if x.later}
        once = later.pop() if len(later) == 1 else ""  # what is true of all of them is said once
        self._tell(lines, "guessed" if guessed else "placed", once)
        self._placed = lines
        self.cannot.value = "" if guessed else render("plan_cannot", later=once)
        weeks = weeks_words(self.weeks.typed or _WEEKS)
        self.more.description = tr("What {weeks} will hardly settle").format(weeks=weeks) if guessed else trn(
            "{n} question can't be settled in {weeks}", "{n} questions can't be settled in {weeks}",
            len(cannot)).format(n=len(cannot), weeks=weeks)
        if not guessed and all(x.key == "own" for x in can):
            self.more.value = True  # what there is to see stands there
        self.rest.children = (self.cannot, *(self._lines[x.key] for x in cannot))
        self.list.children = (*(self._lines[x.key] for x in can), *([self.more, self.rest] if cannot else []))


def _order(lines: tuple[QuestionLine, ...]) -> list[tuple[str, bool]]:
    return [(x.key, x.settles) for x in lines]


def _loop() -> asyncio.AbstractEventLoop | None:
    """Return the loop of the page's kernel; None where the form is used by a program."""
    try:
        return None if kernel() is None else asyncio.get_running_loop()
    except RuntimeError:
        return None
