"""The teacher's roster: who has the plan, how far each is, what came in, what is wrong and what to write to whom."""

from __future__ import annotations

from pathlib import PurePath

import ipywidgets as w
from markupsafe import Markup

from ...classes.roster import Pupil
from ...errands.book import Book
from ...errands.class_steps import give_out, take_in
from ...trial.practice import CAUTIONS
from ...wording import tr, trn
from ..shared.fields import Number, dressed, files_button, note
from ..shared.form import Form, NotYet, html, rows_table
from ..shared.render import render
from .shared import class_folder, shelf_of

__all__ = ["ClassFilesForm"]

_MOST_PUPILS = 60
_HEAD = (tr("Pupil"), tr("Plan handed out"), tr("Dealt"), tr("Days so far"), tr("Ratings in"), tr("Handed in"),
         tr("What is wrong"))


class ClassFilesForm(Form):
    """Shows the class at a glance; gives out codes; takes in whatever was sent, and judges it at once."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.seen = html("")
        self.files = files_button(tr("Add files you were sent"), several=True)
        self.again = self.button(tr("Look again"), self._look)
        self.pupils = Number(tr("New pupils"), hint=tr("for example 8"))
        self.give = dressed(self.button(tr("Give them codes"), self._give), "beside")
        self.show(note(" ".join(c.text for c in CAUTIONS.values() if "class" in c.shown_with)), self.seen,
                  w.HBox([self.files, self.again]), w.HBox([self.pupils, self.give]))
        self.files.observe(self.guarded(self._take), "value")
        self.follow(self.refresh)()

    def refresh(self) -> None:
        """Look through the folder again."""
        shelf = shelf_of(self.book)
        found = shelf.roster(self.book.today())
        tell = [(a.code or a.file, a.tell) for a in shelf.arrivals if a.tell]
        self.seen.value = render(
            "class_roster", folder=class_folder(self.book).resolve(), headline=found.headline, tell=tell,
            table=Markup(rows_table(_HEAD, [_row(p) for p in found.pupils], cards=True) if found.pupils else ""),
            strays=[f"{a.file}: {a.wrong}" for a in found.strays], plans=[(f.name, p.ask) for f, p in shelf.plans],
            troubles=shelf.troubles)

    def _look(self) -> None:
        self.quiet()
        self.book.tell_forms()

    def _give(self) -> None:
        faults: list[str] = []
        wanted = self.pupils.within(1, _MOST_PUPILS, faults, whole=True)
        if wanted is None:
            raise NotYet(faults)
        codes = give_out(class_folder(self.book), int(wanted), self.book.today())
        self.pupils.put(None)
        self.book.tell_forms()
        self.done(tr("New codes: {names}. Keep the list of names yourself, on paper; hand each pupil the plan and "
                     "a code.").format(names=', '.join(codes)))

    def _take(self) -> None:
        given = [(PurePath(str(f["name"])).name, bytes(f["content"])) for f in self.files.value]
        if not given:
            return
        self.files.value = ()
        found = take_in(class_folder(self.book), given)
        self.book.tell_forms()
        good = [a.code or a.file for a in found if a.counts]
        wrong = [f"{a.code or a.file}: {a.wrong}" for a in found if not a.counts]
        plans = len(given) - len(found)
        said = [*([tr("{names} can be compared").format(names=", ".join(good))] if good else []),
                *([trn("{n} plan", "{n} plans", plans).format(n=plans)] if plans else [])]
        if wrong:
            self.problem(wrong, head=tr("Taken in: {names}. Not all can be compared:").format(
                names="; ".join(said)) if said else tr("Taken in, but it cannot be compared:"))
        else:
            self.done(tr("Taken in: {names}.").format(names='; '.join(said)))


def _row(p: Pupil) -> list[str]:
    def so_many(n: int | None, of: int | None) -> str:
        return "" if n is None else f"{n}" if not of else f"{n} of {of}"

    came = "✓" if p.counts else "✗" if p.arrivals else ""
    return [p.code, "" if p.handed_out is None else p.handed_out.isoformat(),
            "" if p.dealt is None and p.day is None else "✓" if p.dealt is None else p.dealt.isoformat(),
            so_many(p.day, p.days), so_many(p.rated, p.planned), came, "; ".join(a.wrong for a in p.wrong)]
