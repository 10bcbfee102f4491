"""The first play of a box: one new reed at a time, in a shuffled order; then which to set aside."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from ...errands.book import Book
from ...plan.first_play import FIRST_PLAY_STEPS
from ...rows.prefilled import free_place
from ...rows.records import Reed, Sitting
from ...rows.tables import Frames
from ...rows.values import as_it_stands, read_row
from ...screens.slips import take_back_first_play
from ...screens.words import faults_in_words, title
from ...trial.practice import ANCHORS, CAUTIONS, value
from ...wording import tr
from ..shared.fields import Number, Pick, Rating, Stiffness, Words, show_if, tick
from ..shared.form import Form, NotYet, button, html
from ..shared.render import render
from .first_play import BoxStage, box_stage, boxes_to_play

__all__ = ["FirstPlayForm"]


class FirstPlayForm(Form):
    """Takes the first-play rating and stiffness of the reed whose turn it is."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.stage: BoxStage | None = None
        self.steps = html(render("first_play_steps", steps=FIRST_PLAY_STEPS, caution=CAUTIONS["sharing"].text))
        self.box = Pick(tr("Box"), [], empty=tr("choose a box"))
        self.turn = html("")
        self.overall = Rating(tr("Overall"), ANCHORS)
        self.stiffness = Stiffness()
        self.minutes = Number(tr("Minutes played"), value("first_play_min"))
        self.aside = tick(tr("Set it aside (I would not play on it, or I want it for a concert)"))
        self.remark = Words(tr("Remark, in your own words"))
        self.save = self.button(tr("Save this reed"), self._save, main=True)
        self.skip = self.button(tr("Not today: play it later"), self._skip)
        self.undo = self.button(tr("Take the last one back"), self._take_back)
        self.undo.layout.display = "none"
        self._last: tuple[dict[str, Any], int] | None = None  # the reed before, and the sitting
        self.entry = w.VBox([self.overall, w.HBox([self.stiffness, self.minutes, self.remark]), self.aside,
                             w.HBox([self.save, self.skip])])
        self.sort = w.VBox([])
        self.show(self.steps, self.box, self.turn, self.entry, self.undo)
        self.children = (*self.children, self.sort)
        self._skipped: list[str] = []
        self.box.observe(self.guarded(self._show_turn), "value")
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again: whose turn is it?"""
        frames = self.book.frames()
        boxes = boxes_to_play(frames)
        self.box.offer([(tr("box {b}").format(b=b), b) for b in boxes], boxes[0] if boxes else None)
        show_if(len(boxes) > 1, self.box)
        self._show_turn()

    def _show_turn(self) -> None:
        frames = self.book.frames()
        self.stage = None if self.box.typed is None else box_stage(frames, self.box.typed, self.book.today())
        reed = self._reed()
        show_if(self.stage, self.steps)
        show_if(reed, self.entry)
        self.turn.value = turn_html(self.stage, reed, bool(len(frames.reeds)))
        self.sort.children = (self._sort_view(frames),)

    def _reed(self) -> str | None:
        if self.stage is None or not self.stage.now:
            return None
        fresh = [r for r in (*self.stage.now, *self.stage.later) if r not in self._skipped]
        return fresh[0] if fresh else None

    def _skip(self) -> None:
        reed = self._reed()
        if reed is not None:
            self._skipped.append(reed)
        self._show_turn()

    def _save(self) -> None:
        reed = self._reed()
        if reed is None:
            return
        frames, today = self.book.frames(), self.book.today()
        old = as_it_stands("reeds", frames.reeds, reed=reed)
        values, faults = read_row("reeds", {
            **old, "first_play": self.overall.typed, "first_stiffness": self.stiffness.typed,
            "first_played": today, "set_aside": self.aside.value, "remark": self.remark.typed or old["remark"]})
        sitting, more = read_row("sittings", {
            "date": today, "reed": reed, "play_min": self.minutes.typed, "where": "practice",
            "order": free_place(frames.sittings, today)})
        lines = faults_in_words([*faults, *more])
        if values["first_play"] is None and not any(f.column == "first_play" for f in faults):
            lines.append(tr("Overall: it is empty. How did the reed play, from 0 to 10?"))
        if values["first_stiffness"] is None:
            lines.append(tr("Stiffness: it is empty. Choose from −3 too soft to +3 too hard."))
        if lines:
            raise NotYet(lines)
        with self.book.writing() as logbook, logbook.together():
            played = logbook.add(Sitting(**sitting))  # its minutes; the rating stands with the reed
            number = logbook.put(Reed(**values))
        self._last, self.undo.layout.display = (old, played), ""
        for control in (self.overall, self.stiffness, self.remark):
            control.put(None)
        self.minutes.put(value("first_play_min"))
        self.aside.value = False
        row = self.read_back("reeds", number)
        row[title("play_min")] = self.read_back("sittings", played)[title("play_min")]
        self.stands(row)

    def _take_back(self) -> None:
        if self._last is None:
            return  # taken back by an earlier press
        (before, sitting), self._last = self._last, None
        with self.book.writing() as logbook:
            done = take_back_first_play(logbook, before, sitting)
        self.undo.layout.display = "none"
        self.done(tr("Taken back: the first play of {reed}.").format(reed=before["reed"]) if done else
                  tr("That first play was changed or taken back before."))

    # --- set aside -------------------------------------------------------------------------------

    def _sort_view(self, frames: Frames) -> w.Widget:
        """Return the list of played reeds to set aside or take back; nothing until a box is through."""
        reeds = frames.reeds[frames.reeds["first_play"].notna()
                             & ~frames.reeds["reed"].isin(frames.retirements["reed"])]
        waiting = set(boxes_to_play(frames))
        reeds = reeds[~reeds["box"].isin(waiting)].sort_values(["box", "first_play"], ascending=[True, False])
        if not len(reeds):
            return html("")
        ticks = {str(r["reed"]): tick(f"{r['reed']}: {r['first_play']:g}", bool(r["set_aside"]))
                 for r in reeds.to_dict("records")}
        save = button(tr("Save what is set aside"))
        save.on_click(self.guarded(lambda: self._save_aside({k: t.value for k, t in ticks.items()})))
        view = w.VBox([
            html(render("first_play_aside")),
            w.HBox(list(ticks.values())), save])
        return view

    def _save_aside(self, wanted: dict[str, bool]) -> None:
        frames = self.book.frames()
        old = {reed: as_it_stands("reeds", frames.reeds, reed=reed) for reed in wanted}
        changed = [Reed(**{**old[reed], "set_aside": aside}) for reed, aside in wanted.items()
                   if bool(old[reed]["set_aside"]) != aside]
        with self.book.writing() as logbook:
            for record in changed:
                logbook.put(record)
        now = sorted(r for r, aside in wanted.items() if aside)
        self.done(tr("Saved. Set aside: {now}.").format(now=", ".join(now) or "none"))


def turn_html(stage: BoxStage | None, reed: str | None, any_reeds: bool) -> str:
    """Return whose turn it is, in words."""
    most = 0 if stage is None else min(int(value("first_play_reeds_a_day")), stage.done_today + len(stage.now))
    return str(render("first_play_turn", stage=stage, reed=reed, any_reeds=any_reeds, most=most,
                      nth=0 if stage is None else min(stage.done_today + 1, most), minutes=value("first_play_min")))
