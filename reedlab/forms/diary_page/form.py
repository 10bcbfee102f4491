"""A diary as it is: its first rows, what stands where, what is understood, odd rows to tick; one button takes it."""

from __future__ import annotations

import ipywidgets as w

from ...diaries.grid import Grid, text_of_cell
from ...diaries.guess import headers_of, titles
from ...diaries.matching import Matching
from ...errands.book import Book
from ...errands.take_diary import Diary, keep_matching, look_at, matching_for, read, take_diary
from ...errors import InputError
from ...logbook.diary_files import ENDINGS
from ...wording import tr
from ..shared.fields import Pick, files_button, heading, note, tick
from ..shared.form import Form, html, rows_table
from ..shared.render import render
from .answers import Answer, answer_to, sound
from .hint_form import HintForm

__all__ = ["DiaryForm"]

_FIRST = 6  # rows shown


class DiaryForm(Form):
    """Shows a guess at what the file says, asks what only the player knows, and takes all of it in or nothing."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.diary: Diary | None = None
        self._sheet: str | None = None
        self.answers: list[Answer] = []
        self.ticks: dict[str, w.Checkbox] = {}
        self.files = files_button(tr("Choose the file"), ENDINGS)
        self.first, self.heard = html(""), html("")
        self.sheet = Pick(tr("Which sheet of the file?"), [], empty=tr("choose"))
        words = {"date": tr("The day"), "reed": tr("The reed"), "box": tr("Its box, if apart"),
                 "overall": tr("The rating"), "play_min": tr("The minutes"), "habit": tr("What you did"),
                 "remark": tr("Remarks")}
        self.columns = {what: Pick(name, [], empty=tr("no column")) for what, name in words.items()}
        self.asked, self.odd = w.VBox(), w.VBox()
        self.again = self.button(tr("Look at it so"), self._again, tr("Not understood yet. Please put this right:"),
                                 main=True)
        self.take = self.button(tr("Take it into my logbook"), self._take,
                                tr("Not taken in yet. Please put this right:"), main=True)
        self.anew = self.button(tr("Ask me everything again"), self._ask_anew)
        fields = list(self.columns.values())
        self.hints = HintForm(book)
        self.inside = w.VBox([
            heading(tr("The first rows"), 3), self.first, heading(tr("Which column is what?"), 3),
            w.HBox(fields[:4]), w.HBox(fields[4:]),
            self.asked, self.heard, self.odd, self.again, self.take, self.anew])
        self.show(heading(tr("What you wrote down elsewhere"), 2),
                  note(tr("Any table of what you played: CSV, Excel or OpenDocument. Nothing is taken in before you "
                          "have seen how it was understood.")), self.files, self.sheet, self.inside, self.hints)
        self.inside.layout.display = self.sheet.layout.display = "none"
        self.files.observe(self.guarded(self._chosen, tr("Not read. Please put this right:")), "value")
        self.sheet.observe(self.guarded(self._turned, tr("Not read. Please put this right:")), "value")

    def _chosen(self) -> None:
        if not self.files.value:
            return
        self._sheet = None
        self.sheet.layout.display = "none"
        grid = self._begin(None)
        self.sheet.offer([(name, name) for name in (grid.name, *grid.beside)])
        self.sheet.put(grid.name)
        self.sheet.layout.display = "" if grid.beside else "none"

    def _turned(self) -> None:
        """Show another sheet of the same file."""
        if self._sheet is not None and self.sheet.typed not in (None, self._sheet):
            self._begin(self.sheet.typed)

    def _ask_anew(self) -> None:
        self._shown()
        self._begin(self._sheet, anew=True)

    def _begin(self, sheet: str | None, *, anew: bool = False) -> Grid:
        """Show a sheet of the chosen file, by default the longest, as it was understood before, else with a guess."""
        self.quiet()
        self.inside.layout.display = "none"
        self.diary = None
        (chosen,) = self.files.value
        file = str(chosen["name"])
        grid = read(bytes(chosen["content"]), file, sheet)
        self._sheet = grid.name
        matching = matching_for(grid, self.book.today(), self.book.path, file, anew=anew)
        names = titles(grid, matching.header)
        for what, pick in self.columns.items():
            pick.offer([(name, name) for name in names])
            pick.put(matching.columns.get(what))
        self.first.value = _preview(grid, matching)
        self._look(grid, file, matching)
        self.inside.layout.display = ""
        return grid

    def _look(self, grid: Grid, file: str, matching: Matching) -> None:
        self.diary = look_at(grid, file, matching, self.book.path, today=self.book.today())
        found = self.diary.understood
        trials = self.book.protocols()
        self.answers = [answer_to(ask, matching, self.diary.known, trials) for ask in found.asks]
        head = [heading(tr("What only you can say"), 4)] if self.answers else []
        self.asked.children = [*head, *(a.view for a in self.answers)]
        new = [tr("New reeds: {reeds}.").format(reeds=", ".join(r["reed"] for r in found.reeds))] if found.reeds else []
        self.heard.value = render("heard", head=tr("This is what I understood"), told=[*found.told, *new])
        self.heard.layout.display = "" if found.told else "none"
        odd = () if found.asks else found.odd  # until all is said, rows look odd that are not
        self.ticks = {o.mark: tick(tr("Skip row {n}: {why}").format(n=o.line, why=o.why)) for o in odd}
        told = [note(tr("These rows are odd. Mend them in the file and choose it again, or tick those to skip."))]
        self.odd.children = [*told, *self.ticks.values()] if self.ticks else []
        self.take.layout.display = "" if found.ready else "none"
        self.again.layout.display = "none" if found.ready else ""

    def _again(self) -> None:
        diary = self._shown()
        columns = {what: p.typed for what, p in self.columns.items() if p.typed is not None}
        if len(set(columns.values())) < len(columns):
            raise InputError(tr("One column stands for two things. Choose each column once."))
        matching = diary.matching
        if columns != dict(matching.columns):
            wide = {} if "reed" in columns else matching.reed_columns
            matching = matching.and_(columns=columns, reed_columns=wide,
                                     headers=headers_of(diary.grid, matching.header, wide))
        for answer in self.answers:
            matching = answer.put(matching)
        matching = sound(matching)
        ticked = tuple(mark for mark, control in self.ticks.items() if control.value)
        self._look(diary.grid, diary.file, matching.and_(skipped=(*matching.skipped, *ticked)))
        self.quiet()

    def _take(self) -> None:
        diary = self._shown()
        said = str(take_diary(diary, self.book.path, now=self.book.now))
        kept = keep_matching(diary.matching, self.book.path.parent, diary.file)
        self.inside.layout.display = self.sheet.layout.display = "none"
        self.files.value, self.diary, self._sheet = (), None, None
        self.book.tell_forms()
        told = tr("How it was understood is kept in {file}: next month's copy of this file needs no questions.")
        self.done(said, render("lines", lines=[told.format(file=f"{kept.parent.name}/{kept.name}")]))

    def _shown(self) -> Diary:
        if self.diary is None:
            raise InputError(tr("Choose the file first."))
        return self.diary


def _preview(grid: Grid, matching: Matching) -> str:
    rows = [[text_of_cell(c) for c in cells] for n, cells in grid.lines if n > matching.header][:_FIRST]
    return rows_table(titles(grid, matching.header), rows, cards=True)
