"""What stands beside the plan, each thing behind one word: new reeds above it, what is rarer below it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import ipywidgets as w

from ...errands.book import Book
from ...wording import tr
from ..shared.fields import fold
from ..shared.form import Form
from ..shared.opened import opened
from .first_play import boxes_to_play

__all__ = ["Beside", "MoreForm", "NewReedsForm"]

_BOX, _FIRST_PLAY = tr("A new box"), tr("First play")
_NEW: Final = ((_BOX, "plan_page.box_form", "BoxForm"), (_FIRST_PLAY, "plan_page.first_play_form", "FirstPlayForm"),
               (tr("Mouthpiece and ligature"), "today_page.setup_form", "SetupForm"))
_MORE: Final = ((tr("A standing trial"), "plan_page.standing_form", "StandingForm"),
                (tr("What you wrote down elsewhere"), "diary_page.form", "DiaryForm"),
                (tr("End a trial early"), "plan_page.end_form", "EndForm"))


class Beside(Form):
    """A line of words; behind each stands a form, made when it is first wanted."""

    def __init__(self, book: Book, forms: Sequence[tuple[str, str, str]]) -> None:
        super().__init__(book)
        self.add_class("reedlab-day")
        self.words: dict[str, w.ToggleButton] = {}
        self.forms: dict[str, Form] = {}
        places = []
        for words, module, name in forms:
            place = w.VBox([])
            self.words[words] = fold(words, place)
            self.words[words].observe(lambda change, at=(words, module, name, place): self._made(*at), "value")
            places.append(place)
        self.show(w.HBox(list(self.words.values())), *places)

    def _made(self, words: str, module: str, name: str, place: w.VBox) -> None:
        if words not in self.forms:
            self.forms[words] = opened(module, name, self.book)
            place.children = (self.forms[words],)


class NewReedsForm(Beside):
    """A box, its first play and the set-up. What is next is open by itself."""

    def __init__(self, book: Book) -> None:
        super().__init__(book, _NEW)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Open what is next: a box where there is none, first play where reeds wait for it."""
        frames = self.book.frames()
        if not len(frames.boxes):
            self.words[_BOX].value = True
        if boxes_to_play(frames):
            self.words[_FIRST_PLAY].value = True


class MoreForm(Beside):
    """A trial that goes on until it is settled, an old diary and its hint, and an early end."""

    def __init__(self, book: Book) -> None:
        super().__init__(book, _MORE)
