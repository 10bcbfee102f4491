"""Today: one line a reed, a rating is one press; what is rarer stands behind one word."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import ipywidgets as w

from ...errands.book import Book
from ...screens import Line, Saved, Today, today
from ...trial.pairs import HOW
from ...trial.practice import CAUTIONS
from ...wording import tr
from ..shared.fields import note
from ..shared.form import html
from ..shared.render import render
from .reed_line import ReedLine
from .sending import SendingForm
from .something_else import SomethingElse
from .week_words import day_notes

__all__ = ["TodayForm"]


class TodayForm(SendingForm):
    """The day's lines over `screens.today`, each saved by itself or all at once."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.add_class("reedlab-day")
        self.head, self.below, self.foot = html(""), html(""), html("")
        self.lines: list[ReedLine] = []
        self._all: dict[object, ReedLine] = {}
        self._on = book.today()
        self.view = w.VBox([])
        self.save_all = self.button(tr("Save all"), lambda: self._save([x for x in self.lines if x.waits]), main=True)
        self.rarer = SomethingElse(book)
        self.show(self.head, self.view, self.below, self.save_all, self.rarer.view, self.foot,
                  note(f"{CAUTIONS['pain'].text} {CAUTIONS['sharing'].text}"))
        moved = [self.message, self._confirm]  # the answer stands right below the lines
        rest = [c for c in self.children if c not in moved]
        self.children = (*rest[:rest.index(self.rarer.view)], *moved, *rest[rest.index(self.rarer.view):])
        self.follow(self.refresh, now=True)
        if not self.lines and len(book.frames_now().reeds):
            self.rarer.begin("entry")

    # --- showing ---------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Read the logbook again and show the day as it stands; a day with something typed stays until it is saved."""
        if not any(x.touched for x in self.lines):
            self._on = self.book.today()
        frames, days = self.book.frames_now(self._on), self.book.trial_days(self._on)
        day = today(frames, self.book.plans_now(), self._on, days=days)
        self.head.value = render("today_head", heading=day.heading, trials=day.trials)
        self.lines = [*(self._due(x) for x in day.lines),
                      *(self._beside(s) for x in day.lines for s in x.saved if s is not x.stands),
                      *(self._beside(s) for s in day.others)]
        self.view.children = [x.view for x in self.lines]
        self.below.value = _below(day)
        notes = day_notes([d.protocol for d in days], frames, self._on)
        counted = [tr("{rated} of {planned} ratings are in the book.").format(
                       rated=d.rated, planned=d.planned) for d in days if d.fixed and d.state == "on"]
        some = bool(len(frames.reeds))
        self.foot.value = render("today_foot", no_reeds=not some,
                                 messages=[*(day.messages if some else ()), *notes, *counted])
        self._count()

    def _due(self, line: Line) -> ReedLine:
        shown = self._kept((line.trial, line.reed, self._on), line.reed, line)
        shown.show(line, line.stands)
        return shown

    def _beside(self, saved: Saved) -> ReedLine:
        shown = self._kept(saved.entry_id, saved.reed, None)
        shown.show(None, saved)
        return shown

    def _kept(self, key: object, reed: str, line: Line | None) -> ReedLine:
        """Return the line that is on the page already, so that nothing typed is lost, or a new one."""
        if key not in self._all:
            made = self._all[key] = ReedLine(reed, self._on, line)
            made.rated = self._count
            made.save.on_click(self.guarded(lambda: self._save([made])))
            made.change.on_click(self.guarded(self._quietly(made.begin_change)))
            made.leave.on_click(self.guarded(self._quietly(made.blank)))
            made.back.on_click(self.guarded(lambda: self._take_back(made)))
            made.more.on_click(self.guarded(self._quietly(lambda: self._change_more(made))))
        return self._all[key]

    def _quietly(self, action: Callable[[], None]) -> Callable[[], None]:
        def do() -> None:
            self.quiet()
            action()

        return do

    def _count(self) -> None:
        """Offer one Save for all where several ratings wait."""
        waiting = sum(x.waits for x in self.lines)
        self.save_all.layout.display = "" if waiting > 1 else "none"
        self.save_all.description = tr("Save all {waiting}").format(waiting=waiting)

    # --- doing -----------------------------------------------------------------------------------

    def _save(self, lines: Sequence[ReedLine]) -> None:
        lines = [x for x in lines if x.ready]
        if not lines:
            return  # saved by an earlier press

        def settle() -> None:
            for x in lines:
                x.blank()

        self.send(lambda: {x.reed: x.entry() for x in lines}, settle)

    def _take_back(self, line: ReedLine) -> None:
        if line.saved is not None:
            self.take_back(tr("{reed} of today").format(reed=line.reed), line.saved.entry_id, line.blank)

    def _change_more(self, line: ReedLine) -> None:
        if line.saved is not None:
            number = line.saved.entry_id
            line.blank()
            self.rarer.change(number)


def _below(day: Today) -> str:
    """Return the words of the scale and the steps of each way, each said once."""
    scales: dict[tuple[tuple[int, str], ...], list[str]] = {}
    for x in day.lines:
        if x.rate and x.rating != "preference":
            scales.setdefault(x.anchors, []).append(x.reed)
    ways = dict.fromkeys((x.planned.mark if x.planned else None, x.way, x.steps) for x in day.lines if x.steps)
    return render("today_below", scales=[(reeds, anchors) for anchors, reeds in scales.items()], ways=list(ways),
                  how=HOW if any(x.rating == "preference" for x in day.lines) else "")
