"""The teacher's form: all that was handed in, put together into one answer."""

from __future__ import annotations

import ipywidgets as w

from ...errands.book import Book
from ...errands.class_steps import put_together
from ...errors import InputError
from ...folder.filing import write_file
from ...summary import TogetherAnswer
from ...wording import tr
from ..shared.fields import Pick, note, show_if, tick
from ..shared.form import Form, html, told_under
from ..shared.render import render
from .shared import class_folder, offer_plans, plan_called, shelf_of

__all__ = ["ClassTogetherForm"]


class ClassTogetherForm(Form):
    """Shows the combined answer of the ticked files, and writes it as a page to print."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.answer: TogetherAnswer | None = None
        self.plan = Pick(tr("The class's plan, to check them against"), [], empty=tr("no plan"))
        self.ticks: dict[str, w.Checkbox] = {}
        self.files = w.HBox([note(tr("Nothing was handed in yet."))])
        self.read = self.button(tr("Put them together"), self._read, main=True)
        self.page = html("")
        self.write = self.button(tr("Write this as a page to print"), self._write)
        self.once = note(tr("Wait until all are in, and put them together once. Leave nobody out for what came "
                            "out."))
        self.show(self.plan, self.files, self.once, self.read, self.page, self.write)
        self.follow(self.refresh)
        self._clear()
        self.guarded(self.refresh)()

    def refresh(self) -> None:
        """Look for files again; an answer that stands stays until its files change."""
        shelf = shelf_of(self.book)
        offer_plans(self.plan, shelf)
        show_if(shelf.arrivals or shelf.troubles, self.plan, self.once, self.read)
        here = {path.name: f"{s.code} ({path.name})" for path, s in shelf.handed_in}
        if set(here) != set(self.ticks):
            off = {name for name, t in self.ticks.items() if not t.value}
            self.ticks = {name: tick(told, name not in off) for name, told in here.items()}
            self.files.children = tuple(self.ticks.values()) or (note(tr("Nothing was handed in yet.")),)
            self._clear()

    def _clear(self) -> None:
        self.answer = None
        self.page.value = ""
        self.write.layout.display = "none"

    def _read(self) -> None:
        self._clear()
        shelf = shelf_of(self.book)
        plan = None if self.plan.typed is None else plan_called(shelf, self.plan.typed)
        shared = [s for path, s in shelf.handed_in if path.name in self.ticks and self.ticks[path.name].value]
        if shelf.troubles:
            raise InputError("\n".join([tr("In the class folder, these can't be read. Mend them or take them away:"),
                                        *(f"{name}: {why}" for name, why in shelf.troubles)]))
        if len(shared) < 2:
            raise InputError(tr("Putting together takes at least two trials that can be compared."))
        self.message.value = render("tell", kind="tell", text=tr("Reading the trials …"))
        with told_under(tr("Not put together. Please look at this:"), InputError):
            self.answer = put_together(shared, plan, pupils=len(shelf.roster(self.book.today()).pupils))
        self.quiet()
        self.page.value = self.answer._repr_html_()
        self.write.layout.display = ""

    def _write(self) -> None:
        if self.answer is None:
            raise InputError(tr("Put them together first."))
        path = class_folder(self.book) / "together.html"
        write_file(path, self.answer.to_html())
        self.done(tr("Written. Open it in a browser to print it on one page:"),
                  render("path", path=path.resolve()))
