"""What a player reads, in the player's language: English unless there is a catalogue of another.

Every text that a player may see goes through `tr`, or through `trn` where a number decides between one and many.
A text is a whole pattern with named fields, filled in after it was looked up, so that a translator may move them:
``tr("Day {day} of {days}").format(day=3, days=14)``. Names of columns, codes and verdicts are never looked up.

The language is that of the process: `REEDLAB_LANG`, such as "de", read at the first text, for some texts are made
while modules load. Catalogues stand where gettext looks for them, ``locale/de/LC_MESSAGES/reedlab.mo``, in this
package or in the folder that `REEDLAB_LOCALE` names.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from datetime import date
    from gettext import NullTranslations

__all__ = ["all_of", "date_month", "day_of_week", "language", "one_of", "page_text", "short_date", "short_day",
           "short_month", "speak_in", "speak_in_commands", "spoken_date", "spoken_day", "tr", "trn"]


@cache
def _catalogue() -> NullTranslations | None:
    wanted = os.environ.get("REEDLAB_LANG", "")
    if not wanted:
        return None
    from gettext import translation  # English needs none

    try:
        return translation("reedlab", os.environ.get("REEDLAB_LOCALE") or Path(__file__).parent / "locale", [wanted])
    except OSError:
        return None


def language() -> str:
    """Return the code of the language that is spoken, such as "en"."""
    return "en" if _catalogue() is None else os.environ["REEDLAB_LANG"].replace("_", "-")


def tr(text: str) -> str:
    """Return a text in the player's language."""
    return page_text(text)


def page_text(text: str) -> str:
    """Return what a cell of one of the pages says, in the player's language; the catalogue holds each cell whole."""
    catalogue = _catalogue()
    return text if catalogue is None else catalogue.gettext(text)


def trn(one: str, many: str, n: float) -> str:
    """Return the one of two texts that goes with `n`, in the player's language, which may have more of them."""
    catalogue = _catalogue()
    if catalogue is None:
        return one if n == 1 else many
    return catalogue.ngettext(one, many, int(n) if float(n).is_integer() else 2)  # half a point goes with the many


def all_of(names: Iterable[str]) -> str:
    """Return names as a sentence lists them: "a, b and c"."""
    *some, last = names
    return tr("{some} and {last}").format(some=", ".join(some), last=last) if some else last


def one_of(names: Iterable[str]) -> str:
    """Return names as a sentence gives a choice: "a, b or c"."""
    *some, last = names
    return tr("{some} or {last}").format(some=", ".join(some), last=last) if some else last


@cache
def _names() -> tuple[tuple[str, ...], tuple[str, ...]]:
    return ((tr("Monday"), tr("Tuesday"), tr("Wednesday"), tr("Thursday"), tr("Friday"), tr("Saturday"), tr("Sunday")),
            (tr("January"), tr("February"), tr("March"), tr("April"), tr("May"), tr("June"), tr("July"), tr("August"),
             tr("September"), tr("October"), tr("November"), tr("December")))


@cache
def _short_names() -> tuple[tuple[str, ...], tuple[str, ...]]:
    return ((tr("Mon"), tr("Tue"), tr("Wed"), tr("Thu"), tr("Fri"), tr("Sat"), tr("Sun")),
            (tr("Jan"), tr("Feb"), tr("Mar"), tr("Apr"), tr("May"), tr("Jun"), tr("Jul"), tr("Aug"), tr("Sep"),
             tr("Oct"), tr("Nov"), tr("Dec")))


def short_day(weekday: int) -> str:
    """Return the short name of a day of the week, Monday being 0: "Mon"."""
    return _short_names()[0][weekday]


def short_date(on: date) -> str:
    """Return a date where there is little room: "Mon 10 Mar"."""
    return tr("{weekday} {date}").format(weekday=short_day(on.weekday()), date=short_month(on))


def short_month(on: date) -> str:
    """Return a day and month where there is little room: "10 Mar"."""
    return tr("{day} {month}").format(day=on.day, month=_short_names()[1][on.month - 1])


def day_of_week(on: date) -> str:
    """Return the name of a date's day: "Sunday"."""
    return _names()[0][on.weekday()]


def date_month(on: date) -> str:
    """Return a date as day and month: "1 March"."""
    return tr("{day} {month}").format(day=on.day, month=_names()[1][on.month - 1])


def spoken_day(on: date) -> str:
    """Return a date of this year as it is said: "Sunday 1 March"."""
    return tr("{weekday} {date}").format(weekday=day_of_week(on), date=date_month(on))


def spoken_date(on: date) -> str:
    """Return a date as it is said: "Sunday 1 March 2026"."""
    return tr("{day} {year}").format(day=spoken_day(on), year=on.year)


def speak_in(environment: Any) -> None:
    """Let the templates of a Jinja environment look up their texts: ``{{ _("...") }}``, ``{% trans %}``."""
    environment.add_extension("jinja2.ext.i18n")
    environment.install_gettext_callables(tr, trn, newstyle=True)
    environment.globals["language"] = language()


def speak_in_commands(reader: Any) -> None:
    """Let Python's own reader of commands, argparse, look up its words: it finds them under these two names."""
    reader._, reader.ngettext = tr, trn
