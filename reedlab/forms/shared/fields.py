"""Controls for single values. Nothing is clamped or filled in silently: what is typed is what is read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, TypeVar

import ipywidgets as w

from ...rows.tables import CHOICE_WORDS, Field
from ...screens.words import number_within
from ...trial.pairs import choices as pair_choices
from ...trial.pairs import said
from ...wording import tr
from .pressed import Pressed
from .render import render

__all__ = ["Choice", "DayPicker", "Number", "Rating", "Stiffness", "Words", "dressed", "tick"]

AnyWidget = TypeVar("AnyWidget", bound=w.Widget)
_NOTHING = ""  # not None: the list would then stand blank instead of saying so


class Words(w.Text):
    """One line of text."""

    def __init__(self, label: str, text: str = "", hint: str = "") -> None:
        super().__init__(description=label, value=text, placeholder=hint)

    @property
    def typed(self) -> str | None:
        """What was typed; None where nothing was."""
        return self.value.strip() or None

    def put(self, value: Any) -> None:
        """Show a value."""
        self.value = "" if value is None or value != value else str(value)


class Number(w.Text):
    """A number, typed. A decimal comma is taken as a point; the checks say what else is wrong."""

    def __init__(self, label: str, value: float | None = None, hint: str = "") -> None:
        super().__init__(description=label, placeholder=hint)
        self.put(value)

    @property
    def typed(self) -> str | None:
        """The text of the number with a decimal point; None where nothing was typed."""
        return self.value.strip().replace(",", ".") or None

    def put(self, value: Any) -> None:
        """Show a number."""
        self.value = "" if value is None or value != value else f"{float(value):g}"

    def within(self, low: float, high: float, faults: list[str], *, whole: bool = False,
               needed: bool = True) -> float | None:
        """Return the number; None where none was typed or it is not within these, and then `faults` say so."""
        return number_within(self.typed or ("" if needed else None), self.description, low, high, faults, whole=whole)


class Choice(w.ToggleButtons):
    """A few choices, all in sight. Starts on `value`, or on nothing."""

    def __init__(self, label: str, options: Iterable[tuple[str, Any]], value: Any = None) -> None:
        super().__init__(options=list(options), value=value, description=label)

    @property
    def typed(self) -> Any:
        """The choice made; None where none was."""
        return self.value

    def put(self, value: Any) -> None:
        """Show a choice; one that is not offered shows as none."""
        self.value = value if any(v == value for _, v in self.options) else None

    def offer(self, options: Iterable[tuple[str, Any]]) -> None:
        """Offer other things, keeping what is chosen where it is still offered."""
        chosen = self.typed
        self.options = list(options)
        self.put(chosen)


class Rating(w.VBox):
    """0 to 10 by halves, with the scale's words beside it. Starts empty and can be emptied again.

    With `short` it is one row of narrow buttons.
    """

    def __init__(self, label: str, anchors: Mapping[int, str], *, short: bool = False) -> None:
        self.whole = w.ToggleButtons(options=_points(anchors), value=None, description=label)
        self.half = (w.ToggleButton(description="½", tooltip=tr(
            "{label}: and a half").format(label=label)) if short else
                     w.Checkbox(value=False, description=tr("and a half"), indent=False))
        self.empty = Pressed(description="×" if short else tr("Leave empty"), tooltip=tr(
                "{label}: leave empty").format(label=label))
        self.empty.on_click(lambda _: self.put(None))
        self.foot = w.HBox([self.half, self.empty])
        self._short = short
        self._show_foot(False)
        self.whole.observe(lambda change: self._show_foot(change["new"] is not None), "value")
        super().__init__([self.whole, self.foot])
        self.add_class("reedlab-rating")

    def reword(self, anchors: Mapping[int, str]) -> None:
        """Put other words beside the points, keeping what is chosen."""
        options = _points(anchors)
        if options != list(self.whole.options):
            kept = self.typed
            self.whole.options = options
            self.put(kept)  # new options choose the first one

    def _show_foot(self, seen: bool) -> None:
        if self._short:  # the row keeps its place
            self.foot.layout.visibility = "visible" if seen else "hidden"
        else:
            self.foot.layout.display = "" if seen else "none"

    @property
    def typed(self) -> float | None:
        """The rating; None while it is empty."""
        if self.whole.value is None:
            return None
        return float(self.whole.value) + (0.5 if self.half.value else 0.0)

    def put(self, value: Any) -> None:
        """Show a rating, or none."""
        if value is None or value != value:
            self.whole.value, self.half.value = None, False
        else:
            points = float(value)  # a NumPy number too
            self.whole.value, self.half.value = int(points), points % 1 >= 0.5


def _points(anchors: Mapping[int, str]) -> list[tuple[str, int]]:
    return [(f"{n}\n{anchors[n]}" if n in anchors else str(n), n) for n in range(11)]


class Pick(w.Dropdown):
    """A list to pick from that starts on nothing, and says so with the words `empty`."""

    def __init__(self, label: str, options: Iterable[tuple[str, Any]], value: Any = None,
                 empty: str = "—") -> None:
        super().__init__(options=[(empty, _NOTHING), *options], value=_NOTHING if value is None else value,
                         description=label)

    @property
    def typed(self) -> Any:
        """What was picked; None where nothing was."""
        return None if self.value == _NOTHING else self.value

    def put(self, value: Any) -> None:
        """Show a value; one that is not offered shows as none."""
        self.value = value if any(v == value for _, v in self._offered()) else _NOTHING

    def _offered(self) -> list[tuple[str, Any]]:
        return list(self.options)

    def offer(self, options: Iterable[tuple[str, Any]], usual: Any = None) -> None:
        """Offer other things, keeping what is picked where it is still offered; else `usual` is picked."""
        chosen = self.typed
        self.options = [self._offered()[0], *options]
        self.put(chosen)
        if self.typed is None and usual is not None:
            self.put(usual)


class Stiffness(Pick):
    """-3 too soft, 0 just right, +3 too hard, by halves; starts empty."""

    def __init__(self) -> None:
        words = {-3.0: tr("too soft"), 0.0: tr("just right"), 3.0: tr("too hard")}
        steps = [n / 2 for n in range(-6, 7)]
        said = {s: f"{s:+g}".replace("+0", "0").replace("-", "−") for s in steps}
        super().__init__(tr("Stiffness"), [(f"{said[s]} {words[s]}" if s in words else said[s], s) for s in steps])


class Preference(Pick):
    """Which of two goes was better and by how much; starts on nothing."""

    def __init__(self, label: str | None = None) -> None:
        super().__init__(label or tr("Better go"), pair_choices(), empty=tr("which was better?"))

    def put(self, value: Any) -> None:
        """Show an answer; one between those on offer, such as a difference of two ratings, is offered too."""
        if value is not None and all(v != value for _, v in self._offered()):
            more = sorted([*self._offered()[1:], (said(value), value)], key=lambda x: -x[1])
            self.options = [self._offered()[0], *more]
        super().put(value)


def half_steps(label: str) -> Pick:
    """Return a list of 0 to 10 by halves that starts empty."""
    return Pick(label, [(f"{n / 2:g}", n / 2) for n in range(21)])


class DayPicker(w.DatePicker):
    """A date."""

    def __init__(self, label: str, value: date | None = None) -> None:
        super().__init__(description=label, value=value)

    @property
    def typed(self) -> date | None:
        """The date; None while there is none."""
        found: date | None = self.value
        return found

    def put(self, value: Any) -> None:
        """Show a date; anything else shows as none."""
        self.set_trait("value", value if isinstance(value, date) else None)


def files_button(label: str, endings: Iterable[str] = (), *, several: bool = False) -> w.FileUpload:
    """Return the button that takes in files; its name is said as it stands."""
    return w.FileUpload(accept=",".join(endings), multiple=several, description=label, tooltip=label)


class Tick(w.Checkbox):
    """A box to tick."""

    @property
    def typed(self) -> bool:
        """Whether it is ticked."""
        return bool(self.value)

    def put(self, value: Any) -> None:
        """Tick it, or not."""
        self.value = bool(value)


def tick(label: str, value: bool = False) -> Tick:
    """Return a box to tick."""
    return Tick(value=value, description=label, indent=False)


def show_if(seen: object, *parts: w.Widget) -> None:
    """Show parts of a form, or hide them."""
    for part in parts:
        part.layout.display = "" if seen else "none"


def fold(words: str, inside: w.Widget) -> w.ToggleButton:
    """Return a button that shows and hides a part of a form; hidden at first."""
    control = w.ToggleButton(value=False, description=words)
    show_if(False, inside)
    control.add_class("reedlab-fold")
    control.observe(lambda change: show_if(change["new"], inside), "value")
    return control


class Fold(w.VBox):
    """A word, and what stands behind it."""

    def __init__(self, word: str, *inside: w.Widget) -> None:
        view = w.VBox(list(inside))
        self.word = fold(word, view)
        super().__init__([self.word, view])


def dressed(control: AnyWidget, *css: str) -> AnyWidget:
    """Return a control with these classes of the style sheet."""
    for name in css:
        control.add_class(f"reedlab-{name}")
    return control


def choices(field: Field) -> list[tuple[str, str]]:
    """Return the choices of a table column, in words."""
    return [(CHOICE_WORDS[c], c) for c in field.choices]


def heading(text: str, level: int = 3) -> w.HTML:
    """Return the heading of a part of a form."""
    return w.HTML(render("heading", text=text, level=level))


def note(text: str) -> w.HTML:
    """Return a quiet line of help."""
    return w.HTML(render("note", text=text))
