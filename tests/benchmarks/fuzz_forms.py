"""Hands that fill in a form at random, as a browser may send it, and press whatever button there is."""

from __future__ import annotations

import random
import shutil
import tempfile
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import ipywidgets as w
from traitlets import TraitError

from reedlab import forms

__all__ = ["play"]

TODAY = date(2025, 3, 14)
_PAGES = ("boxes", "setup", "first_play", "end", "today", "day", "week", "outing", "retire", "worked_on", "case")
_TEXTS = ("", " ", "x", "a\0b", "\u202e", "\ud800", "9" * 400, "x" * 5000, "=1+1", "−3", "٣", "7,5", "1e999", "nan",
          "-0", "<b>x</b>", "'", '"', "\n", "2026-02-30", "1-01", "2-07", "3", "7.5", "25", "300")
_DAYS = (None, date(1, 1, 1), date(9999, 12, 31), TODAY, TODAY + timedelta(days=1), TODAY - timedelta(days=1),
         TODAY - timedelta(days=4000))
_NUMBERS = (0, -1, 1, 2, 3, 7.5, 10, 25, 1e9, -1e300, float("inf"), float("nan"))


def play(logbook: Path, chance: random.Random) -> str:
    """Fill in one form on a copy of a logbook, press three buttons, and return what it says to put right.

    Raises RuntimeError where the form says that something went wrong by no fault of the player.
    """
    with tempfile.TemporaryDirectory(dir=logbook.parent) as made:
        path = Path(made) / logbook.name
        shutil.copyfile(logbook, path)
        name = chance.choice(_PAGES)
        form: Any = getattr(forms, name)(forms.here(path, lambda: TODAY))
        told = ""
        for _ in range(3):
            parts = list(_parts(form))
            for part in parts:
                if chance.random() < 0.7:
                    _fill(part, chance)
            buttons = [p for p in parts if isinstance(p, w.Button)]
            if buttons:
                chance.choice(buttons).click()
            if "not your fault" in form.message.value:
                raise RuntimeError(f"{name}: {form.message.value}")
            told = form.message.value if "✗" in form.message.value else told
        return told


def _parts(part: Any) -> Iterator[Any]:
    yield part
    for child in getattr(part, "children", ()):
        yield from _parts(child)


def _fill(part: Any, chance: random.Random) -> None:
    try:
        if isinstance(part, w.Text | w.Textarea | w.Combobox):
            part.value = chance.choice(_TEXTS)
        elif isinstance(part, w.Checkbox | w.ToggleButton):
            part.value = chance.random() < 0.5
        elif isinstance(part, w.DatePicker):
            part.value = chance.choice(_DAYS)
        elif hasattr(part, "options") and getattr(part, "options", None):
            part.index = chance.randrange(len(part.options))
        elif isinstance(getattr(part, "value", None), int | float):
            part.value = chance.choice(_NUMBERS)
    except TraitError:  # the widget itself takes no such value
        pass
