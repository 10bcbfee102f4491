"""A bar while plans are played through, and what they were found to show."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import ipywidgets as w

from ...wording import tr
from ..shared.form import html

__all__ = ["OutlookView"]


class OutlookView(w.VBox):
    """Holds what a plan can show; empty at first."""

    def __init__(self) -> None:
        self.bar = w.IntProgress(value=0, min=0, max=1, description=tr("Playing the plan through on paper …"))
        self.bar.layout.display = "none"
        self.forecast = html("")
        super().__init__([self.forecast, self.bar])

    @contextmanager
    def playing(self, words: str, steps: int) -> Iterator[Callable[[int], None]]:
        """Show a bar with these words; yields what to call with the number of steps just done."""
        self.begin(words, steps)
        try:
            yield self.more
        finally:
            self.end()

    def begin(self, words: str, steps: int) -> None:
        """Show a bar with these words."""
        self.bar.description, self.bar.max, self.bar.value = words, steps, 0
        self.bar.layout.display = ""

    def more(self, done: int) -> None:
        """So many more steps are done."""
        self.bar.max = max(self.bar.max, self.bar.value + done)
        self.bar.value += done

    def end(self) -> None:
        """Take the bar away."""
        self.bar.layout.display = "none"
