"""Values as a spreadsheet writes them where the comma is the decimal mark."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Final

from ..rows.tables import Field
from ..rows.values import ValueFault, shown
from ..wording import tr

__all__ = ["plain", "plain_row"]

_NUMBER: Final = re.compile(r"[+-]?[0-9]+(,[0-9]+)?")
_DATE: Final = re.compile(r"([0-9]{1,2})\.([0-9]{1,2})\.([0-9]{4})")
_ISO: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def plain(field: Field, text: str) -> tuple[str, str | None]:
    """Return a value in the usual form: decimal point, date as 2026-03-05.

    Only what can mean one thing is taken: 7,5 but not 7.5 or 1.000,5; 05.03.2026 but not 5/3/2026 or 05.03.26.

    Returns
    -------
    text : str
        The value, as it was where it is not clear.
    wanted : str or None
        What is wanted instead; None if all is well.
    """
    given = text.strip().replace("−", "-")
    if field.kind in ("int", "float"):
        if "." in given and re.fullmatch(r"[+-]?[0-9.,]+", given):
            return text, tr("a number with a decimal comma and no point, as 7,5; if the file has decimal points, save "
                            "it with commas between the columns")
        return (given.replace(",", ".") if _NUMBER.fullmatch(given) else text), None
    if field.kind == "date" and not _ISO.fullmatch(given):
        found = _DATE.fullmatch(given)
        if found is None:
            return text, tr("a date as 05.03.2026 (day, month, year in four digits) or 2026-03-05")
        day, month, year = (int(g) for g in found.groups())
        try:
            return date(year, month, day).isoformat(), None
        except ValueError:
            return text, tr("a day that is in the calendar, as 05.03.2026 (day, month, year)")
    return text, None


def plain_row(fields: Iterable[Field], cells: Mapping[str, str]) -> tuple[dict[str, str], list[ValueFault]]:
    """Return a row's cells in the usual form, and what is not clear."""
    known = {f.name: f for f in fields}
    out, faults = dict(cells), []
    for column, text in cells.items():
        if column in known and text.strip():
            out[column], want = plain(known[column], text)
            if want is not None:
                faults.append(ValueFault(column, shown(text.strip()), want))
    return out, faults
