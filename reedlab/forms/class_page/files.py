"""The class's folder: what is in it, and files that were sent put into it."""

from __future__ import annotations

from html import escape
from pathlib import PurePath

import ipywidgets as w

from ...classes.class_plan import PLAN_FORMAT, ClassPlan
from ...classes.hand_in import read_shared
from ...errands.book import Book
from ...errors import ExchangeError, Fault
from ...folder.filing import make_folder, write_file
from ...rows.structure import read_json
from ...trial.practice import CAUTIONS
from ..shared.fields import note
from ..shared.form import Form, button, html
from .shared import class_folder, shelf_html, shelf_of

__all__ = ["ClassFilesForm"]


class ClassFilesForm(Form):
    """Shows the folder; takes in plans and trials that were handed in, all or none."""

    def __init__(self, book: Book) -> None:
        super().__init__()
        self.book = book
        self.seen = html("")
        self.files = w.FileUpload(accept=".json", multiple=True, description="Add files you were sent")
        self.again = button("Look again")
        cautions = " ".join(c.text for c in CAUTIONS.values() if "class" in c.shown_with)
        self.show(html(f'<p class="reedlab-quiet">{escape(cautions)}</p>'), self.seen,
                  w.HBox([self.files, self.again]))
        self.files.observe(self.guarded(self._take), "value")
        self.again.on_click(self.guarded(self._look))
        self.follow(book, self.refresh)()

    def refresh(self) -> None:
        """Look through the folder again."""
        folder = class_folder(self.book)
        told = shelf_html(shelf_of(self.book))
        where = f"<p>The files of your class are in <code>{escape(str(folder.resolve()))}</code>.</p>"
        self.seen.value = where + (told or note("There are none yet.").value)

    def _look(self) -> None:
        self.quiet()
        self.book.tell_forms()

    def _take(self) -> None:
        given = [(PurePath(str(f["name"])).name, bytes(f["content"])) for f in self.files.value]
        if not given:
            return
        faults: list[str] = []
        texts: dict[str, str] = {}
        for name, content in given:
            try:
                texts[name] = _checked(name, content)
            except ExchangeError as err:
                faults += [str(f) for f in err.faults]
            here = class_folder(self.book) / name
            if here.exists() and here.read_bytes() != content:
                faults.append(f"{name}: another file of this name is in the folder. Rename one of them.")
        self.files.value = ()
        if faults:
            self.problem(faults, head="Not taken in yet. Please put this right:")
            return
        make_folder(class_folder(self.book))
        for name, text in texts.items():
            write_file(class_folder(self.book) / name, text)
        self.book.tell_forms()
        self.done(f"In the folder: {', '.join(texts)}.")


def _checked(name: str, content: bytes) -> str:
    """Return a file's text; ExchangeError if it is neither a class's plan nor a trial that was handed in."""
    def refused(found: str) -> ExchangeError:
        return ExchangeError([Fault(name, None, None, found, "a class's plan, or a trial that was handed in (.json)")])

    if not name.lower().endswith(".json") or name.startswith("."):
        raise refused("a file of another kind")
    try:
        text = content.decode("utf-8-sig")
        raw = read_json(text)
    except ValueError as err:
        raise refused("a file of another kind") from err
    if isinstance(raw, dict) and raw.get("format") == PLAN_FORMAT:
        ClassPlan.from_json(text, name)
    else:
        read_shared(raw, name)
    return text
