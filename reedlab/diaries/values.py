"""What single cells of a diary can mean: a day, minutes, a mark, a reed. Each reads one cell and says what is wrong."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

from ..wording import tr
from .grid import Cell, text_of_cell

__all__ = ["ORDERS", "day_in", "has_order", "minutes_in", "number_in", "orders_that_fit", "reed_in", "year_missing"]

#: The orders of day, month and year in a date of figures.
ORDERS: Final = ("dmy", "mdy", "ymd")
_NEARLY: Final = 0.9
_WEEKDAY: Final = (r"(?:(?:mon|tues?|wed(?:nes)?|thurs?|fri|sat(?:ur)?|sun|mo|di|mi|do|fr|sa|so|montag|dienstag|"
                   r"mittwoch|donnerstag|freitag|samstag|sonnabend|sonntag)(?:day)?\.?,? )?")
_FIGURES: Final = re.compile(_WEEKDAY + r"(\d{1,4})[./\- ]+(\d{1,2})(?:[./\- ]+(\d{2,4}))?\.?"
                             r"(?:[ T]\d{1,2}:\d{2}.*)?", re.IGNORECASE)
_MONTHS: Final = {name: n for n, names in enumerate((
    "jan january januar jän jänner", "feb february februar feber", "mar march märz mär mrz maerz", "apr april",
    "may mai", "jun june juni", "jul july juli", "aug august", "sep sept september", "oct october okt oktober",
    "nov november", "dec december dez dezember"), start=1) for name in names.split()}
_NAMED: Final = re.compile(_WEEKDAY + r"(\d{1,2})(?:st|nd|rd|th)?[. \-]+([^\W\d]{3,9})[.,]?"
                           r"(?:[ \-]+(\d{2,4}))?", re.IGNORECASE)
_NAMED_FIRST: Final = re.compile(_WEEKDAY + r"([^\W\d]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?(?:,? (\d{2,4}))?",
                                 re.IGNORECASE)
_NUMBER: Final = re.compile(r"[+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+")
_HALVES: Final = str.maketrans({"½": ",5", "−": "-"})
_SPAN: Final = re.compile(r"(?:(\d+(?:[.,]\d+)?) ?(?:h|hrs?|hours?|std\.?|stunden?) ?)?(?:(\d+(?:[.,]\d+)?) ?"
                          r"(?:m|min\.?|mins|minutes?|minuten|')?)?", re.IGNORECASE)
_CLOCK: Final = re.compile(r"(\d{1,2}):(\d{2})(?::\d{2})?(?: ?h)?")
_CODE: Final = re.compile(r"([^\W_]{1,12})-(\d{1,3})")
_TWO: Final = re.compile(r"(?:box|bx|b|schachtel|packung|pack|p)?\.? ?#?(\d{1,4})[ ,;/._]+"
                         r"(?:reed|r|blatt|bl|nr|no|#)?\.? ?#?(\d{1,3})", re.IGNORECASE)
_TWO_LETTERED: Final = re.compile(r"([^\W\d_]{1,3})\.? ?#?(\d{1,3})")
_ONE: Final = re.compile(r"(?:reed|r|blatt|bl|nr|no|#|rohr)?\.? ?#?(\d{1,3})\.?", re.IGNORECASE)


def has_order(cell: Cell) -> bool:
    """Say whether a cell is a date of figures that does not begin with a whole year: the order of its parts matters."""
    found = _FIGURES.fullmatch(cell) if isinstance(cell, str) else None
    return found is not None and len(found[1]) <= 2


def orders_that_fit(cells: Sequence[Cell], today: date, year: int) -> list[str]:
    """Return the orders in which nearly all dates of figures are days up to today; a slip or two may be odd rows."""
    def good(order: str) -> int:
        return sum(isinstance(day := day_in(c, order, year), date) and day <= today for c in cells)

    return [order for order in ORDERS if good(order) >= max(1.0, _NEARLY * len(cells))]


def year_missing(cell: Cell) -> bool:
    """Say whether a date lacks its year."""
    if not isinstance(cell, str):
        return False
    if found := _FIGURES.fullmatch(cell):
        return found[3] is None
    if found := _NAMED.fullmatch(cell):
        return found[3] is None and found[2].casefold() in _MONTHS
    found = _NAMED_FIRST.fullmatch(cell)
    return found is not None and found[3] is None and found[1].casefold() in _MONTHS


def day_in(cell: Cell, order: str | None, year: int | None) -> date | str:
    """Return the day in a cell, or in words what is wrong with it. `year` is for dates without one."""
    if isinstance(cell, date):
        return cell
    if cell is None:
        return tr("no date")
    bad = tr("'{cell}' is no date").format(cell=text_of_cell(cell))
    if not isinstance(cell, str):
        return bad
    if found := _FIGURES.fullmatch(cell):
        a, b, c = found.groups()
        if len(a) > 2:
            order = "ymd"
        if order is None:
            return tr("'{cell}': day or month first?").format(cell=cell)
        parts = dict(zip(order, (a, b, c), strict=True))
        if c is None:
            parts = dict(zip(order.replace("y", ""), (a, b), strict=True)) | {"y": None}
        return _day(parts["d"], parts["m"], parts["y"], year, bad)
    if found := _NAMED.fullmatch(cell):
        return _day(found[1], _MONTHS.get(found[2].casefold()), found[3], year, bad)
    if found := _NAMED_FIRST.fullmatch(cell):
        return _day(found[2], _MONTHS.get(found[1].casefold()), found[3], year, bad)
    return bad


def _day(day: str | None, month: str | int | None, year: str | None, usual: int | None, bad: str) -> date | str:
    if year is None and usual is None:
        return tr("a date without a year")
    if day is None or month is None or (year is not None and len(year) == 3):
        return bad
    full = int(usual or 0) if year is None else int(year) + (2000 if len(year) == 2 else 0)
    try:
        return date(full, int(month), int(day))
    except ValueError:
        return bad


def number_in(cell: Cell) -> float | None:
    """Return the number in a cell: 7.5 and 7,5 are one, 7½ too; None where there is none."""
    if isinstance(cell, float):
        return cell
    if not isinstance(cell, str):
        return None
    text = cell.translate(_HALVES).replace(" ", "")
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else None


def minutes_in(cell: Cell, unit: str | None) -> float | str | None:
    """Return the minutes in a cell; a text says what is wrong, None that it is empty.

    `unit` says what a bare number is: "min", "h", or "day" (a part of a day, as spreadsheets keep a time).
    """
    if cell is None:
        return None
    if isinstance(cell, timedelta):
        return cell.total_seconds() / 60
    value = number_in(cell)
    if value is None and isinstance(cell, str):
        if clock := _CLOCK.fullmatch(cell):
            return 60.0 * int(clock[1]) + int(clock[2])
        if (span := _SPAN.fullmatch(cell)) and any(span.groups()):
            hours, rest = (float((g or "0").replace(",", ".")) for g in span.groups())
            return 60 * hours + rest
    if value is None:
        return tr("'{cell}' is no number of minutes").format(cell=text_of_cell(cell))
    if unit is None:
        return tr("{cell}: minutes, hours or part of a day?").format(cell=text_of_cell(cell))
    return round(value * {"min": 1, "h": 60, "day": 1440}[unit], 2)


def reed_in(word: str, box: str | None) -> tuple[str, str] | None:
    """Return box and number of a reed as the diary names it, or None for a name. `box` is for a bare number."""
    if found := _CODE.fullmatch(word):
        return found[1], found[2]
    if found := _TWO.fullmatch(word):
        return found[1].lstrip("0") or "0", found[2]
    if found := _ONE.fullmatch(word):
        return (box, found[1]) if box is not None else None
    if found := _TWO_LETTERED.fullmatch(word):
        return found[1].upper(), found[2]
    return None
