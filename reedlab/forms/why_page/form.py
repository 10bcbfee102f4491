"""Why not just try it? Imagined players try two ways, casually and fairly; a class can change the numbers."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...wording import tr
from ..shared.fields import Number
from ..shared.form import Form, NotYet, html
from .words import why_html

__all__ = ["WhyForm"]

_PLAYERS, _SEED = 300, 1


class WhyForm(Form):
    """Two numbers, a button, a bar while it runs, then figures and sentences."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.players = Number(tr("Imagined players"), _PLAYERS)
        self.seed = Number(tr("Number of the draw"), _SEED)
        self.run = self.button(tr("Let them try it"), self.play, main=True)
        self.bar = w.IntProgress(value=0, min=0, max=1, description=tr("They are playing …"))
        self.bar.layout.display = "none"
        self.found = html("")
        self.show(w.HBox([self.players, self.seed]), self.run, self.bar, self.found)
        self.guarded(self.play)()

    def play(self) -> None:
        """Play it through with the numbers on the form."""
        from ...errands.why import METHODS, why

        typed = [_whole(x.typed) for x in (self.players, self.seed)]
        faults = [tr("{description}: wanted a whole number.").format(
                      description=x.description) for x, n in zip((self.players, self.seed), typed,
                                                              strict=True) if n is None]
        if faults:
            raise NotYet(faults, tr("Not run yet. Please put this right:"))
        players, seed = (int(n or 0) for n in typed)
        self.quiet()
        self.bar.value, self.bar.max = 0, max(1, 2 * len(METHODS) * players)
        self.bar.layout.display = ""
        try:
            self.found.value = why_html(why(players, seed, step=self._more))
        finally:
            self.bar.layout.display = "none"

    def _more(self, done: int) -> None:
        self.bar.value += done


def _whole(typed: str | None) -> int | None:
    try:
        return int(typed or "")
    except ValueError:
        return None
