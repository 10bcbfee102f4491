"""A form, opened so that whatever is wrong with the logbook is said on the page and not as a program's error."""

from __future__ import annotations

from importlib import import_module

import ipywidgets as w

from ...errands.book import Book
from ...errors import ReedlabError
from ...wording import tr
from .form import Form
from .restore_form import RestoreForm

__all__ = ["Unread", "opened"]


def opened(module: str, name: str, book: Book | None) -> Form:
    """Return a form of a book (default: the folder's); where it can't be shown, one that says why and tries again."""
    found = Book.here() if book is None else book
    try:
        form: Form = getattr(import_module(f"..{module}", __package__), name)(found)
    except Exception as err:
        return Unread(module, name, found, err)
    form.tell_of_damage()
    return form


class Unread(Form):
    """In the place of a form that can't be shown: why, a button that tries again, and the way back to a copy."""

    def __init__(self, module: str, name: str, book: Book, err: Exception) -> None:
        super().__init__(book)
        self._what = module, name
        self.restore = RestoreForm(book)
        self.again = self.button(tr("Try again"), self._try, main=True)
        self.show(self.again, self.restore)
        if isinstance(err, ReedlabError):
            self.problem(str(err).replace(" " + tr("Nothing was saved."), "").splitlines(),
                         head=tr("This part of the page can't be shown:"))
        else:
            self.accident(err)

    def _try(self) -> None:
        form = opened(*self._what, self.book)
        if isinstance(form, Unread):
            self.message.value = form.message.value
        else:
            self.children = (w.VBox([form]),)
