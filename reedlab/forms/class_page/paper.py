"""The teacher's form for pupils without a logbook: the deal, page and sheets, then what comes back of them."""

from __future__ import annotations

import secrets
from datetime import timedelta
from pathlib import Path

import ipywidgets as w

from ...errands.away import read_for_pupil
from ...errands.book import Book
from ...errands.class_steps import Shelf, hand_in, next_code, paper_pupil
from ...errors import InputError
from ...rows.tables import TABLES
from ...wording import tr
from ..paper_page.away_form import HandedBackForm
from ..paper_page.sheet_form import SheetForm
from ..shared.fields import DayPicker, Pick, Words, choices, dressed, heading, note, show_if
from ..shared.form import Form, NotYet, unsaid
from ..shared.render import render
from .shared import FOLDER, class_folder, handed_in_path, offer_plans, plan_called, shelf_of

__all__ = ["ClassPaperForm"]

_UNRATED = ("-", "–", "—")


class ClassPaperForm(Form):
    """Makes a logbook for a pupil who has only paper or the page of one file, and takes in what they hand back."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.seeds: dict[str, int] = {}
        self.sheets: dict[Path, SheetForm] = {}  # kept, so that nothing typed is lost
        self.plan = Pick(tr("The class's plan"), [], empty=tr("choose the plan's file"))
        self.code = Words(tr("The pupil's code"), hint=tr("such as P07; never a name"))
        self.instrument = Pick(tr("Instrument"), choices(TABLES["boxes"].field("instrument")), empty=tr("choose"))
        self.first = dressed(Words(tr("First play of each reed, in order"), hint=tr("such as 6 5.5 7 4 - 6.5")), "wide")
        self.start = DayPicker(tr("First day"), book.today() + timedelta(days=1))
        self.make = self.button(tr("Deal, and write the sheets"), self._make, main=True)
        self.pupil = Pick(tr("Pupil"), [], empty=tr("choose a pupil"))
        self.sheet = w.VBox([])
        self.write = self.button(tr("Write this pupil's file"), self._write)
        self.back = HandedBackForm(book, self._handed_back)
        self.typing = w.VBox([self.back, heading(tr("A pupil's filled sheets")), self.pupil, self.sheet, self.write])
        self._suggested: str | None = None
        self.none = note(tr("Make the class's plan first, or add its file, above."))
        self.new = w.VBox([
            heading(tr("A new pupil")), w.HBox([self.plan, self.code]), w.HBox([self.instrument, self.start]),
            w.HBox([self.first]),
            note(tr("One number for each reed, 0 to 10 by halves; a dash where it was not tried. The pupil "
                    "pencils these codes on the reeds: 1-01, 1-02 and so on.")), self.make])
        self.show(self.none, self.new, self.typing)
        self.pupil.observe(self.guarded(self._chosen), "value")
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Look for plans and pupils again."""
        shelf = shelf_of(self.book)
        offer_plans(self.plan, shelf)
        show_if(not shelf.plans, self.none)
        show_if(shelf.plans, self.new)
        if self.code.typed in (None, self._suggested):
            self._suggested = _next_free(shelf)
            self.code.put(self._suggested)
        self.pupil.offer([(code, code) for code, _ in shelf.on_paper])
        show_if(shelf.on_paper, self.typing)

    def _make(self) -> None:
        faults = unsaid((self.plan, tr("The class's plan: choose its file.")),
                        (self.code, tr("The pupil's code: one to three capital letters and a number, such as P07.")),
                        (self.instrument, tr("Instrument: choose one.")), (self.start, tr("First day: choose a date.")))
        rated = _ratings(self.first.typed or "", faults)
        if faults:
            raise NotYet(faults, tr("Not dealt yet. Please put this right:"))
        code = str(self.code.typed)
        seed = self.seeds.setdefault(code, secrets.randbits(31))
        made = paper_pupil(
            class_folder(self.book), code, plan_called(shelf_of(self.book), self.plan.typed),
            instrument=self.instrument.typed, first_plays=rated, start=self.start.value, today=self.book.today(),
            seed=seed)
        self.first.put(None)
        self.code.put(None)  # the next free one stands there then
        self.book.tell_forms()
        self.done(tr("Dealt for {code}. In the folder {folder}: a page to send to the pupil, which takes ratings "
                     "on any phone or computer, and the sheets to print.").format(code=code, folder=FOLDER),
                  render("lines", lines=[p.name for p in made[1:]]))

    def _handed_back(self, text: str, name: str, sure: str | None) -> str:
        code, found = read_for_pupil(dict(shelf_of(self.book).on_paper), text, name, sure=sure, now=self.book.now)
        self.book.tell_forms()
        return f"{code}. {found}"

    def _chosen(self) -> None:
        path = self._path()
        if path is not None and path not in self.sheets:
            self.sheets[path] = SheetForm(Book(path, self.book.today), opened=True)
        self.sheet.children = () if path is None else (self.sheets[path],)
        self.write.layout.display = "none" if path is None else ""

    def _path(self) -> Path | None:
        return dict(shelf_of(self.book).on_paper).get(str(self.pupil.typed))

    def _write(self) -> None:
        path = self._path()
        if path is None:
            raise InputError(tr("Pupil: choose one."))
        code = str(self.pupil.typed)
        target = handed_in_path(self.book, code)
        with Book(path, self.book.today).reading() as logbook:
            hand_in(logbook, code, target, today=self.book.today())
        self.book.tell_forms()
        self.done(tr("Written: {name}.").format(name=target.name))


def _next_free(shelf: Shelf) -> str:
    """Return the first code that was given out and has no logbook yet, or a new one."""
    taken = {*(code for code, _ in shelf.on_paper), *(a.code for a in shelf.arrivals)}
    return next((c for c in shelf.kept.handed_out if c not in taken), next_code(shelf.codes))


def _ratings(text: str, faults: list[str]) -> list[float | None]:
    """Return first-play ratings from "6 5.5 - 7"; what is none of them goes to `faults`."""
    out: list[float | None] = []
    bad = []
    for word in text.replace(";", " ").split():
        if word in _UNRATED:
            out.append(None)
            continue
        try:
            out.append(float(word.rstrip(",").replace(",", ".")))
        except ValueError:
            bad.append(word)
    if bad:
        faults.append(tr("First play: {names}; wanted numbers from 0 to 10, or a dash.").format(
                          names=', '.join(bad[:5])))
    elif not out:
        faults.append(tr("First play: one number for each reed, or a dash."))
    return out
