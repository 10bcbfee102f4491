"""Spreadsheets to hand out: one to fill in anywhere, and the whole logbook as it stands."""

from __future__ import annotations

import io
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Any, Final

from openpyxl import Workbook
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet

from ..errors import InputError
from ..folder.filing import could_not, make_folder, write_file
from ..rows.prefilled import PLANNED
from ..rows.tables import TABLES, Field, Frames
from ..rows.values import YEARS, wanted
from ..trial.protocol import Habit
from ..wording import tr
from . import layout
from .exchange import files_of, plans_of
from .store import Logbook
from .workbook import APART, PLANS_SHEET, sheet_name

__all__ = ["export_workbook", "to_fill_in"]

_SITTINGS: Final = ("date", "order", "reed", "habit", "plan_min", "play_min", "overall", "response", "tone",
                    "stiffness", "preference", "where", "setup", "waterlogged", "from_memory", "unsure_reed", "remark",
                    "sitting")
_WIDE: Final = {"date": 12, "reed": 10, "habit": 14, "remark": 40, "reason": 14, "setup": 12, "where": 12}
_LAST: Final = 2000  # row down to which a spreadsheet checks what is typed
_PART: Final = 30_000  # characters of a plan in one cell; a spreadsheet holds 32,767
_HEAD: Final = PatternFill("solid", fgColor="FFE6E6E6")
_GIVEN: Final = PatternFill("solid", fgColor="FFF4F4F4")
_BOLD: Final = Font(name="Calibri", size=11, bold=True)
_LINE: Final = Side(style="thin", color="FF999999")
_FORMAT: Final = {"date": "yyyy-mm-dd", "text": "@", "choice": "@"}
_HELP: Final = (
    tr("How to fill this in"),
    tr("One row is one reed played once. The rows of the plan are there already: fill in minutes and ratings."),
    tr("A planned row without minutes and ratings is left out when the file is read in. Do not delete it."),
    tr("Anything else you played goes below, in rows of your own."),
    tr("Dates stand as 2026-03-01. Minutes are plain numbers: 45, not 0:45. Half points are fine."),
    tr("Do not rename the sheets or the first row of a sheet."),
    tr("To read it in: reedlab import THIS-FILE --into YOUR-LOGBOOK. You can do so again after filling in more rows."),
)


def to_fill_in(frames: Frames, planned: Iterable[Mapping[str, Any]], *, habits: Sequence[Habit] = (),
               days: Sequence[date] = (), today: date, pairs: bool = False) -> bytes:
    """Return a spreadsheet with the player's sheets: sittings, days, retirements.

    Parameters
    ----------
    frames : Frames
        The logbook; its reeds and set-ups become drop-down lists.
    planned : iterable of mapping
        Rows of sittings to fill in, by column; `plan_min` holds the minutes planned.
    habits : sequence of Habit
        What the column `habit` takes; empty leaves the column out (a helper knows).
    days : sequence of date
        Dates to fill in beforehand in the sheet of days.
    today : date
        Reeds that left service before are not offered.
    pairs : bool
        With the column for which of two goes was better.
    """
    book = Workbook()
    left = frames.retirements
    gone = set(left.loc[left["date"].dt.date < today, "reed"])
    offers = {"reed": [r for r in sorted(frames.reeds["reed"]) if r not in gone],
              "setup": sorted(frames.setups["setup"]), "habit": [h.key for h in habits]}
    names = [c for c in _SITTINGS if (c != "habit" or habits) and (c != "preference" or pairs)]
    fields = [PLANNED if c == "plan_min" else TABLES["sittings"].field(c) for c in names]
    first = book.active
    assert isinstance(first, Worksheet)
    rows = list(planned)
    _fill(first, "sittings", fields, rows, offers, freeze="D2")
    if not any(row.get(PLANNED.name) for row in rows):  # a standing trial plans no minutes; the column marks its rows
        first.column_dimensions[get_column_letter(names.index(PLANNED.name) + 1)].hidden = True
    _fill(book.create_sheet(), "days", TABLES["days"].fields, ({"date": d} for d in days), offers, freeze="B2")
    _fill(book.create_sheet(), "retirements", TABLES["retirements"].fields, (), offers, freeze="B2")
    told = [*_HELP, *(tr("habit {key}: {name}. {steps}").format(
                          key=h.key, name=h.name, steps=h.steps).strip() for h in habits)]
    _apart(book, offers, told)
    return _bytes(book)


def export_workbook(logbook: Logbook, path: str | Path) -> None:
    """Write a whole logbook to a new .xlsx file: a sheet for each table, its history and the frozen plans.

    `import_folder` reads it back without loss. Raises InputError if the file is there already or cannot be
    written.
    """
    target = Path(path)
    if target.exists():
        raise InputError(tr("{target} is there already. Name a new file.").format(target=target))
    book = Workbook()
    book.remove(book.worksheets[0])
    with logbook.entries() as entries:
        plans, texts = plans_of(entries)
        for table, history, rows in files_of(entries):
            made = ({**r, "protocol_file": plans[r["trial"], r["protocol_sha256"]]} if table == "trials" else r
                    for r in rows)
            _fill(book.create_sheet(), sheet_name(layout.file_of(table, history=history)),
                  layout.fields_of(table, history=history), made, {})
        if texts:
            _write_plans(book.create_sheet(PLANS_SHEET), texts)
    make_folder(target.parent)
    write_file(target, _bytes(book), new=True, private=True)


def _fill(sheet: Worksheet, title: str, fields: Sequence[Field], rows: Iterable[Mapping[str, Any]],
          offers: Mapping[str, Sequence[str]], freeze: str = "A2") -> None:
    sheet.title = title
    sheet.freeze_panes = freeze
    sheet.page_setup.orientation = "landscape"
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_setup.fitToHeight = 0
    sheet.print_title_rows = "1:1"
    last = 1
    for last, row in enumerate(rows, start=2):
        for n, field in enumerate(fields, start=1):
            value = row.get(field.name)
            if value is not None:
                _put(sheet, last, n, value)
                if offers:
                    sheet.cell(last, n).fill = _GIVEN
    bottom = max(_LAST, last)
    for n, field in enumerate(fields, start=1):
        words = layout.HEADS.get(field.name, field.name) if offers else field.name
        head = sheet.cell(1, n, words)
        head.font, head.fill, head.border = _BOLD, _HEAD, Border(bottom=_LINE)
        head.alignment = Alignment(vertical="top", wrap_text=bool(offers))
        letter = get_column_letter(n)
        sheet.column_dimensions[letter].width = _WIDE.get(field.name, max(10, len(field.name) + 2))
        if field.kind in _FORMAT:  # so that what is typed as 2-07 stays text
            sheet.column_dimensions[letter].number_format = _FORMAT[field.kind]
            for row_number in range(2, last + 1):
                sheet.cell(row_number, n).number_format = _FORMAT[field.kind]
        if offers:
            rule = _rule(field, offers)
            sheet.add_data_validation(rule)
            rule.add(f"{letter}2:{letter}{bottom}")


def _put(sheet: Worksheet, row: int, column: int, value: Any) -> None:
    if isinstance(value, float):
        # Some spreadsheet programs keep 15 digits of a number; more are kept as text.
        value = int(value) if value == int(value) and abs(value) < 1e15 else value
        if isinstance(value, float) and float(f"{value:.15g}") != value:
            value = repr(value)
    cell = sheet.cell(row, column, value)
    if isinstance(value, str):
        cell.data_type = "s"  # a remark such as "=1" is text, not a formula


def _rule(field: Field, offers: Mapping[str, Sequence[str]]) -> DataValidation:
    """Return the check a spreadsheet makes while typing: a list to choose from, or a range."""
    want = wanted(field)
    if offers.get(field.name):
        letter = get_column_letter(list(offers).index(field.name) + 1)
        rule = DataValidation("list", formula1=f"{APART[1]}!${letter}$2:${letter}${len(offers[field.name]) + 1}")
    elif field.kind in ("choice", "bool"):
        words = ("yes", "no") if field.kind == "bool" else field.choices
        want = tr("yes or no") if field.kind == "bool" else want
        rule = DataValidation("list", formula1='"' + ",".join(words) + '"')
    elif field.kind == "date":
        rule = DataValidation("date", operator="between", formula1=f"DATE({YEARS[0]},1,1)",
                              formula2=f"DATE({YEARS[1]},12,31)")
    elif field.kind in ("int", "float") and field.low is not None:
        rule = DataValidation("whole" if field.kind == "int" else "decimal", operator="between",
                              formula1=f"{field.low:g}", formula2=f"{field.high:g}")
    else:
        rule = DataValidation(None)
    rule.allow_blank = True
    rule.promptTitle, rule.prompt = layout.HEADS.get(field.name, field.name)[:32], field.title[:255]
    rule.showInputMessage = True
    rule.errorTitle, rule.error = tr("Please look again"), tr("Wanted: {want}.").format(want=want)[:255]
    rule.showErrorMessage = True
    return rule


def _apart(book: Workbook, offers: Mapping[str, Sequence[str]], told: Sequence[str]) -> None:
    words = book.create_sheet(APART[0])
    words.column_dimensions["A"].width = 110
    for n, line in enumerate(told, start=1):
        _put(words, n, 1, line)
        words.cell(n, 1).alignment = Alignment(wrap_text=True, vertical="top")
    words["A1"].font = _BOLD
    lists = book.create_sheet(APART[1])
    lists.sheet_state = "hidden"
    for n, (name, values) in enumerate(offers.items(), start=1):
        for row, value in enumerate([name, *values], start=1):
            _put(lists, row, n, value)


def _write_plans(sheet: Worksheet, texts: Mapping[str, str]) -> None:
    rows = [(file, str(k // _PART + 1), text[k:k + _PART]) for file, text in texts.items()
            for k in range(0, len(text), _PART)]
    for n, row in enumerate([("protocol_file", "part", "text"), *rows], start=1):
        for column, value in enumerate(row, start=1):
            _put(sheet, n, column, value)
    sheet.freeze_panes = "A2"


def _bytes(book: Workbook) -> bytes:
    out = io.BytesIO()
    try:
        book.save(out)
    except OSError as err:  # it is put together in the system's folder for scratch files
        raise could_not("spreadsheet", tempfile.gettempdir(), err) from err
    return out.getvalue()
