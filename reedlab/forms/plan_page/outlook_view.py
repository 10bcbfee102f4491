"""The part of the plan page that says what a plan can show: a bar while it is played through, then the answer."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

import ipywidgets as w

from ...trial.outlook import Advice, Outlook
from ..shared.form import html
from .outlook_words import advice_html, outlook_html

__all__ = ["OutlookView"]


class OutlookView(w.VBox):
    """Holds the forecast and the advice; both empty at first."""

    def __init__(self) -> None:
        self.bar = w.IntProgress(value=0, min=0, max=1, description="Playing the plan through on paper …")
        self.bar.layout.display = "none"
        self.forecast = html("")
        self.advice = html("")
        super().__init__([self.forecast, self.advice, self.bar])

    def clear(self) -> None:
        """Show nothing."""
        self.forecast.value = self.advice.value = ""

    @contextmanager
    def playing(self, words: str, trials: int) -> Iterator[Callable[[int], None]]:
        """Show a bar with these words; yields what to call with the number of trials just played."""
        self.bar.description, self.bar.max, self.bar.value = words, trials, 0
        self.bar.layout.display = ""
        try:
            yield self._more
        finally:
            self.bar.layout.display = "none"

    def _more(self, done: int) -> None:
        self.bar.max = max(self.bar.max, self.bar.value + done)
        self.bar.value += done

    def show_forecast(self, outlook: Outlook) -> None:
        """Show a forecast."""
        self.forecast.value = outlook_html(outlook)

    def show_advice(self, advice: Advice) -> None:
        """Show advice."""
        self.advice.value = advice_html(advice)
