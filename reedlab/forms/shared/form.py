"""What every form shares: a place for messages, and callbacks whose faults never vanish."""

from __future__ import annotations

import traceback
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import date
from html import unescape
from typing import Any, Final

import ipywidgets as w
from markupsafe import Markup

from ...errands.book import Book
from ...errors import ExchangeError, PlanRefused, ReedlabError
from ...rows.values import read_row
from ...screens.words import faults_in_words, lines_of, spoken_row
from ...wording import tr
from .pressed import Pressed, at_work
from .render import STYLE, render

__all__ = ["NOT_FAIR", "NOT_SAVED", "NO_REEDS", "Form", "NotYet", "button", "checked", "html", "need", "rows_table",
           "told_under", "unsaid"]

NOT_SAVED: Final = tr("Not saved yet. Please put this right:")
_NOT_SHOWN = tr("This page can't show the logbook just now:")
_SAVED_ALL_THE_SAME = tr("Saved: it stands in your logbook; don't type it in again. The page can't show it just now:")
_SAVED_IN_PART = tr("The first part is saved and stands in your logbook. The rest is not yet. Please put this right:")

NO_REEDS: Final = render("no_reeds")
NOT_FAIR: Final = tr("This would not give a fair answer.")


class NotYet(ReedlabError):
    """What was asked of a form can't be done yet: the lines say what is to be put right first."""

    def __init__(self, lines: Iterable[str], head: str = NOT_SAVED) -> None:
        self.lines, self.head = tuple(lines), head
        super().__init__("\n".join(self.lines))


@contextmanager
def told_under(head: str, kind: type[ReedlabError] = ReedlabError) -> Iterator[None]:
    """Have what goes wrong inside told under a heading of its own, if it is of this kind."""
    try:
        yield
    except NotYet:
        raise
    except kind as err:
        if isinstance(err, PlanRefused) and kind is PlanRefused:
            lines = [err.reason, tr("Instead: {instead}").format(instead=err.instead)]
        elif isinstance(err, ExchangeError) and kind is ExchangeError:
            lines = [str(f) for f in err.faults]
        else:
            lines = lines_of(err)
        raise NotYet(lines, head) from err


def unsaid(*answers: tuple[Any, str]) -> list[str]:
    """Return what to say of each control on which nothing was said yet."""
    return [told for control, told in answers if control.typed is None]


def need(head: str, *answers: tuple[Any, str]) -> None:
    """Raise NotYet where anything is `unsaid`."""
    lines = unsaid(*answers)
    if lines:
        raise NotYet(lines, head)


def checked(table: str, row: Mapping[str, Any]) -> dict[str, Any]:
    """Return a row as typed, read by column of a table; NotYet with what can't be saved."""
    values, faults = read_row(table, row)
    if faults:
        raise NotYet(faults_in_words(faults))
    return values


def html(text: str) -> w.HTML:
    """Return a piece of text; the caller has escaped whatever a player typed."""
    return w.HTML(text)


def button(text: str, *, main: bool = False, tip: str = "", busy: str = "") -> Pressed:
    """Return a button; `main` marks the one that saves, `busy` is what it says while it works (else "Saving…")."""
    return Pressed(description=text, tooltip=tip or text, button_style="primary" if main else "", busy=busy)


def rows_table(head: Sequence[str], rows: Iterable[Sequence[Any]], *, cards: bool = False) -> str:
    """Return an HTML table of plain values, escaped; with `cards` a narrow page shows each row as a card."""
    return str(render("table", head=list(head), rows=[list(map(str, row)) for row in rows], cards=cards))


class Form(w.VBox):
    """A form that says what went wrong, in place, and loses nothing that was typed.

    Subclasses put their controls into `children` with `show(...)`; the message area stays last.
    """

    def __init__(self, book: Book) -> None:
        self.book = book
        self.message, self.notice = w.HTML(), w.HTML()
        self.message.add_class("reedlab-said")
        self._yes = self.button(tr("Yes, keep it"), self._confirmed, main=True)
        self._no = self.button(tr("No, let me change it"), self.quiet)
        self._confirm = w.HBox([self._yes, self._no])
        self._confirm.layout.display = "none"
        self._then: Callable[[], None] | None = None
        super().__init__([])
        self.add_class("reedlab")

    def show(self, *children: w.Widget) -> None:
        """Put these controls on the form, in this order."""
        sheet = html(STYLE)
        sheet.layout.display = "none"
        self.children = (w.VBox([sheet, self.notice]), *children, self.message, self._confirm)

    def button(self, text: str, action: Callable[[], None], head: str = NOT_SAVED, *, main: bool = False,
               tip: str = "", busy: str = "") -> Pressed:
        """Return a button as `button` does, that does this; what it raises is shown as by `guarded`."""
        made = button(text, main=main, tip=tip, busy=busy)
        made.on_click(self.guarded(action, head))
        return made

    def guarded(self, action: Callable[[], None], head: str = NOT_SAVED) -> Callable[..., None]:
        """Return a callback for a widget: whatever `action` raises is shown on the form.

        The button that was pressed is shut while `action` works, and a second press has no effect. What was saved
        before the fault is never called unsaved: then the form says that it is safe.
        """

        def run(*pressed: object) -> None:
            tried = len(self.book.saves)
            try:
                with at_work(*pressed):
                    action()
            except NotYet as err:
                self.problem(err.lines, err.head)
            except Exception as err:
                saves = self.book.saves[tried:]
                self.wrong(err, head, "" if not any(saves) else _SAVED_ALL_THE_SAME if saves[-1] else _SAVED_IN_PART)
            self.tell_of_damage()

        return run

    def follow(self, reread: Callable[[], None], *, now: bool = False) -> Callable[[], None]:
        """Have `reread` called after each Save on the page, and return it guarded: a fault leaves what was typed.

        With `now` it is called at once too, unguarded: a form that can't be shown is told by whoever opens it.
        """
        run = self.guarded(reread, _NOT_SHOWN)

        def once_more() -> None:
            if _NOT_SHOWN in unescape(self.message.value):
                self.quiet()
            run()

        self.book.on_change(once_more)
        if now:
            reread()
        return once_more

    def tell_of_damage(self) -> None:
        """Say at the top of the form what of the logbook is lost, if anything is."""
        self.notice.value = render("notices", notices=self.book.lost)

    def quiet(self) -> None:
        """Take the last message away."""
        self._then = None
        self.message.value = ""
        self._confirm.layout.display = "none"

    def _tell(self, kind: str, head: str, lines: Iterable[str] = (), *, comfort: str = "", details: str = "",
              table: str = "", more: Iterable[str] = ()) -> None:
        self.quiet()
        self.message.value = render("message", kind=kind, head=head, lines=[x.strip() for x in lines if x.strip()],
                                    comfort=comfort, details=details, table=Markup(table), more=list(more))

    def problem(self, lines: Iterable[str], head: str = NOT_SAVED) -> None:
        """Say what has to be put right."""
        self._tell("bad", head, lines)

    def wrong(self, err: Exception, head: str, saved: str = "") -> None:
        """Say what went wrong; `saved` heads it where it was after a Save, which is never called unsaved."""
        if isinstance(err, ReedlabError):
            told = str(err).replace(" " + tr("Nothing was saved."), "") if saved else str(err)
            self.problem(told.splitlines(), saved or head)
        else:
            self.accident(err, saved)

    def accident(self, err: Exception, saved: str = "") -> None:
        """Say that something broke which is not the player's fault; `saved` where it was after a Save."""
        comfort = saved or tr("What you typed is still here, and nothing already saved is lost. Please try once more.")
        self._tell("bad", tr("Something went wrong that is not your fault."), comfort=comfort,
                  details="".join(traceback.format_exception(err)))

    def done(self, text: str, table: str = "") -> None:
        """Say what was saved; `table` is ready HTML, such as the row as read back."""
        self._tell("good", text, table=table, more=self.book.warned)

    def read_back(self, table: str, number: int, *days: date | None) -> dict[str, str]:
        """Return an entry of one of these days, or of now, as it stands in the logbook: in words, by title."""
        frame = getattr(self.book.frames_now(*days), table)
        return spoken_row(table, frame[frame["entry_id"] == number].iloc[0].to_dict())

    def stands(self, row: Mapping[str, str], more: str = "") -> None:
        """Say that a row is saved, and how it reads."""
        self.done(tr("Saved. This now stands in your logbook:"), rows_table(list(row), [list(row.values())]) + more)

    def ask(self, lines: Iterable[str], then: Callable[[], None], *, yes: str = tr("Yes, keep it")) -> None:
        """Say what looks odd and do `then` only if the player confirms."""
        self._tell("ask", tr("Is this right?"), lines)
        self._yes.description = yes
        self._then = then
        self._confirm.layout.display = ""

    def _confirmed(self) -> None:
        then = self._then
        if then is not None:  # a second press finds the answer to the first and leaves it
            self.quiet()
            then()
