"""A reed leaves service, with its reason; or comes back when that was a mistake."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...rows.records import Retirement
from ...rows.tables import CHOICE_WORDS, TABLES
from ...screens.due import reeds_in_use
from ...screens.stands_in import stands_in
from ...trial.practice import CAUTIONS
from ...wording import tr
from ..shared.fields import Choice, DayPicker, Pick, Words, choices, note
from ..shared.form import Form, checked, need
from ..shared.render import render

__all__ = ["RetireForm"]


class RetireForm(Form):
    """Saves why and when a reed left service. The reason starts empty: only "worn out" counts as that."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.reed = Pick(tr("Reed"), [], empty=tr("choose a reed"))
        self.reason = Choice(tr("Why"), choices(TABLES["retirements"].field("reason")))
        self.date = DayPicker(tr("Last day in service"), book.today())
        self.remark = Words(tr("Remark, in your own words"))
        self.save = self.button(tr("Save: it leaves service"), self._save, main=True)
        self.back_pick = Pick(tr("Left by mistake? Take it back into service"), [], empty=tr("choose a reed"))
        self.back = self.button(tr("Take it back"), self._take_back)
        self.undo = w.VBox([self.back_pick, self.back])
        self.show(self.reed, self.reason, w.HBox([self.date, self.remark]), note(CAUTIONS["mould"].text),
                  self.save, self.undo)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again and offer the reeds as they stand."""
        frames = self.book.frames_now()
        gone = frames.retirements
        for control, options in (
            (self.reed, [(r, r) for r in reeds_in_use(frames, self.book.today()) if r not in set(gone["reed"])]),
            (self.back_pick, [(f"{r['reed']} ({CHOICE_WORDS[r['reason']].lower()})", int(r["entry_id"]))
                              for r in gone.to_dict("records")]),
        ):
            control.offer(options)
        self.undo.layout.display = "" if len(gone) else "none"

    def _save(self) -> None:
        values = checked("retirements", {
            "reed": self.reed.typed, "date": self.date.value, "reason": self.reason.typed,
            "remark": self.remark.typed})
        with self.book.writing() as logbook:
            number = logbook.add(Retirement(**values))
        for control in (self.reed, self.reason, self.remark):
            control.put(None)
        told = stands_in(self.book.frames_now(values["date"]), self.book.plans_now(), values["reed"], self.book.today())
        self.stands(self.read_back("retirements", number, values["date"]), render("not_playing", moved=told, lost=()))

    def _take_back(self) -> None:
        need(tr("Nothing chosen."), (self.back_pick, tr("Choose a reed from the list first.")))
        with self.book.writing() as logbook:
            logbook.withdraw("retirements", self.back_pick.typed)
        self.done(tr("The reed is back in service."))
