"""Hidden repeats: a helper hands over one reed twice, or two reeds, and the player says which go was better."""

from __future__ import annotations

import secrets

import ipywidgets as w
import numpy as np

from ...analysis.beside.preferences import paired_preference, two_ac
from ...analysis.player.pair_spread import hidden_repeats
from ...errands.book import Book
from ...summary.words.hidden_repeats import hidden_sentences
from ...trial.pairs import HOW
from ...wording import tr
from ..shared.fields import Preference, note
from ..shared.form import Form, NotYet, html, need
from ..shared.render import render

__all__ = ["RepeatForm", "repeat_turns"]

SAME, DIFFERENT = 8, 4  # pairs: enough of one reed to tell a habit of naming differences, some of two to keep it honest


def repeat_turns(reeds: list[str], seed: int) -> list[tuple[str, str]]:
    """Return which reeds to hand over, pair by pair, in a shuffled order: eight times one reed twice, four times two.

    Every reed of `reeds` (two or more) comes up about as often as any other.
    """
    rng = np.random.default_rng(seed)
    turn = [str(r) for _ in range(SAME) for r in rng.permutation(reeds)]
    pairs = [(r, r) for r in turn[:SAME]]
    pairs += [(str(a), str(b)) for a, b in (rng.permutation(reeds)[:2] for _ in range(DIFFERENT))]
    return [pairs[i] for i in rng.permutation(len(pairs))]


class RepeatForm(Form):
    """The helper works it, out of the player's sight; the player says each answer aloud. Nothing of it is kept."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.reeds: list[str] = []
        self.turns: list[tuple[str, str]] = []
        self.points: list[float] = []
        self.begin = self.button(tr("Begin with a helper"), self._begin, main=True)
        self.choose = w.VBox([
            html(render("lines", lines=[
                tr("How often do you name a difference where there is none? A helper sits at this page; you must not "
                   "see it."),
                tr("Each time the helper hands you a reed, then one more: now and then another, often the same one "
                   "again. It is taken off and put on in between, every time."),
                tr("Play the same few bars on both, about a minute each, then say which go was better."),
                tr("{n} pairs, about half an hour. Wet the reeds before you start.").format(n=SAME + DIFFERENT)])),
            self.begin])
        self.turn = html("")
        self.answer = Preference()
        self.next = self.button(tr("Next pair"), self._next, main=True)
        self.play = w.VBox([self.turn, note(HOW), self.answer, self.next])
        self.found = html("")
        self.again = self.button(tr("Start over"), self._over)
        self.end = w.VBox([self.found, note(tr("Nothing of it is kept. Write down what you want to know later.")),
                           self.again])
        self.show(self.choose, self.play, self.end)
        self._over()

    def offer(self, reeds: list[str]) -> None:
        """Take these reeds from now on; a sitting under way keeps its own."""
        self.reeds = list(reeds)

    def _stage(self, seen: w.Widget) -> None:
        for part in (self.choose, self.play, self.end):
            part.layout.display = "" if part is seen else "none"

    def _begin(self) -> None:
        if len(self.reeds) < 2:
            raise NotYet([tr("Reeds: tick two or more, above.")], tr("Not begun yet."))
        self.turns, self.points = repeat_turns(self.reeds, secrets.randbits(31)), []
        self._show_turn()
        self._stage(self.play)

    def _show_turn(self) -> None:
        first, second = self.turns[len(self.points)]
        self.answer.put(None)
        self.turn.value = render("repeat_turn", n=len(self.points) + 1, of=len(self.turns), first=first, second=second)

    def _next(self) -> None:
        need(tr("Not taken yet."), (self.answer, tr("Better go: choose which go was better. No difference will do.")))
        self.quiet()
        self.points.append(float(self.answer.typed))
        if len(self.points) < len(self.turns):
            self._show_turn()
            return
        found = hidden_repeats(self.points, [a == b for a, b in self.turns])
        one = [x for x, (a, b) in zip(self.points, self.turns, strict=True) if a == b]
        first, second = sum(x > 0 for x in one), sum(x < 0 for x in one)
        model = two_ac(first, len(one) - first - second, second)
        p = f"{paired_preference(first, second).p_value:.2f}" if first or second else tr("not defined")
        self.found.value = render("ear", said=hidden_sentences(found), rows=[
            (tr("One reed twice, first or second go preferred: p (ISO 5495)"), p),
            (tr("d′ and τ of one reed twice (2-AC)"), tr("{d:.2f}, {tau:.2f}").format(
                d=model.d_prime, tau=model.tau))])
        self._stage(self.end)

    def _over(self) -> None:
        self.turns, self.points = [], []
        self.quiet()
        self._stage(self.choose)
