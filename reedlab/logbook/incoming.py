"""A tidy folder as entries, each with the place it came from. Reads files; changes nothing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, Final

from ..errors import ExchangeError, Fault, ProtocolError
from ..rows.prefilled import PLANNED, left_empty
from ..rows.tables import TABLES
from ..rows.values import nearest, part_of_a_day, read_fields, read_row, read_value, shown
from ..trial.protocol import Protocol
from ..wording import tr
from . import by_hand, layout
from ._rows import sitting_name
from .csv_files import Sheet, fill, read_csv
from .datapackage import changed_since
from .decimal_comma import plain_row
from .workbook import PLANS_SHEET, Cells, read_spreadsheet

__all__ = ["Entry", "Folder", "read_folder"]

#: Required columns that are made on reading in where the file does not have them.
_MADE: Final = {"sittings": {"sitting"}, "trials": {"protocol_sha256", "protocol_file"}}
_LARGEST_PLAN: Final = 20_000_000  # bytes; a plan of a year takes a few hundred thousand
_ALWAYS: Final = ("protocol", "protocol_sha256")


@dataclass
class Entry:
    """One line of a file. `row` holds the table's columns, None for a value at fault."""

    file: str
    line: int
    row: dict[str, Any]
    history: bool = False
    entry_id: int | None = None
    entered_at: str | None = None
    supersedes: int | None = None
    withdrawn: bool = False
    #: the table's columns that the file has, whether this line is without fault by itself, and whether it is a
    #: trial dealt by hand
    given: frozenset[str] = frozenset()
    sound: bool = True
    by_hand: bool = False


@dataclass
class Folder:
    """All entries of a folder by table; the names of the table files it has; every fault found so far."""

    entries: dict[str, list[Entry]]
    files: set[str]
    faults: list[Fault]
    #: reeds dealt by hand, with the first line of dealt.csv that names them
    dealt: dict[str, int] = field(default_factory=dict)
    #: tables with lines that could not be read: what refers to them cannot be judged
    broken: set[str] = field(default_factory=set)
    #: the sheets by file name, where it is a spreadsheet
    sheets: dict[str, Cells] | None = None
    #: the one file to read, where a single file was named
    only: str | None = None
    #: the CSV files there, by the name they go under
    there: dict[str, Path] = field(default_factory=dict)
    decimal_comma: bool = False
    #: planned rows that nobody filled in
    left_empty: int = 0
    #: files that say something else than when they were exported
    changed: list[str] = field(default_factory=list)


def read_folder(path: Path, *, decimal_comma: bool = False) -> Folder:
    """Read every table of a folder, or of a spreadsheet, and check each row by itself.

    In a spreadsheet the sheet `sittings` stands for the file sittings.csv, and so on. One CSV file alone will do.
    """
    folder = Folder({t: [] for t in TABLES}, set(), [], decimal_comma=decimal_comma)
    if path.is_file() and path.suffix.lower() in (".xlsx", ".xlsm", ".ods"):
        sheets, bad = read_spreadsheet(path)
        folder.faults += bad
        folder.sheets = sheets
        if bad and not sheets:
            return folder
    elif path.is_file() and path.suffix.lower() == ".csv":
        folder.only, path = path.name.casefold(), path.parent
    elif not path.is_dir():
        what = tr("a file") if path.exists() else tr("no such folder")
        folder.faults.append(Fault(str(path), None, None, what,
                                   tr("a folder with sittings.csv, reeds.csv, boxes.csv, one of these files, or an "
                                      ".xlsx or .ods spreadsheet")))
        return folder
    if folder.sheets is None:
        _list(path, folder)
        if folder.only is None:
            folder.changed = changed_since(path, folder.there)
    _look_for_strangers(folder)
    dealt = _read_dealt(folder)
    for table in TABLES:
        for history in (False, True):
            name = layout.file_of(table, history=history)
            if _has(name, folder):
                folder.files.add(name)
                _read_table(path, name, table, history, folder, dealt)
    if not folder.files and not folder.faults:
        folder.faults.append(Fault(str(path), None, None, tr("no table files"),
                                   tr("at least one of {t}").format(t=", ".join(f"{t}.csv" for t in TABLES))))
    _name_sittings(folder.entries["sittings"])
    return folder


def _list(path: Path, folder: Folder) -> None:
    """Note the CSV files that are there, however their names are written: SITTINGS.CSV is sittings.csv."""
    for place, before in ((path, ""), (path / layout.HISTORY, f"{layout.HISTORY}/")):
        for file in sorted(place.iterdir()) if place.is_dir() else ():
            name = before + file.name.casefold()
            if not name.endswith(".csv") or file.name.startswith(".") or folder.only not in (None, name):
                continue
            if name in folder.there:
                folder.faults.append(Fault(before + file.name, None, None, tr("a second file {name}").format(name=name),
                                           tr("one file of this name")))
            folder.there.setdefault(name, file)


def _has(name: str, folder: Folder) -> bool:
    return name in (folder.there if folder.sheets is None else folder.sheets)


def _sheet(name: str, known: Sequence[str], needed: Sequence[str], folder: Folder) -> Sheet:
    if folder.sheets is None:
        return read_csv(folder.there[name], name, known, needed, decimal_comma=folder.decimal_comma)
    return fill(Sheet(name), folder.sheets[name], known, needed)


def _look_for_strangers(folder: Folder) -> None:
    known = {f"{t}.csv" for t in TABLES} | {layout.DEALT_FILE}
    if folder.sheets is not None:
        known |= {f"{PLANS_SHEET}.csv", *(f"{layout.HISTORY}/{t}.csv" for t in TABLES)}
    for name in folder.there if folder.sheets is None else sorted(folder.sheets):
        past, _, own = name.rpartition("/") if folder.sheets is None else ("", "", name)
        fits = known - {layout.DEALT_FILE} if past else known
        if own not in fits:
            told = name if folder.sheets is not None else f"{past}/{folder.there[name].name}".lstrip("/")
            folder.faults.append(Fault(told, None, None, tr("an unknown name"),
                                       tr("one of {fits}{nearest}").format(
                                           fits=", ".join(sorted(fits)), nearest=nearest(own, fits))))


def _read_dealt(folder: Folder) -> Sheet | None:
    if not _has(layout.DEALT_FILE, folder):
        return None
    known = by_hand.DEALT
    sheet = _sheet(layout.DEALT_FILE, known, [c for c in known if c != "day"], folder)
    folder.faults += sheet.faults
    folder.files.add(layout.DEALT_FILE)
    for line, cells in sheet.rows:
        if cells.get("reed", "").strip():
            folder.dealt.setdefault(cells["reed"].strip(), line)
    return sheet


def _read_table(path: Path, name: str, table: str, history: bool, folder: Folder, dealt: Sheet | None) -> None:
    fields = layout.fields_of(table, history=history)
    known = [f.name for f in fields]
    needed = {f.name for f in fields if f.required} - _MADE.get(table, set())
    if history:
        needed |= {f.name for f in layout.META_FIELDS} | {"withdrawn"}
    if table == "trials":
        known += [c for c in (*by_hand.NEEDED, *by_hand.MORE) if c not in known]
    if table == "sittings" and not history:
        known.append(PLANNED.name)
    sheet = _sheet(name, known, sorted(needed), folder)
    folder.faults += sheet.faults
    if not needed <= set(sheet.header):
        folder.broken.add(table)
        return  # the rows would only repeat what the header lacks
    if sheet.lost:
        folder.broken.add(table)
    for line, cells in sheet.rows:
        faults_before = len(folder.faults)
        cells = {k: v for k, v in cells.items() if k in known}
        if not history and left_empty(table, cells, spreadsheet=folder.sheets is not None):
            folder.left_empty += table == "sittings"
            continue
        folder.faults += [Fault(name, line, *f) for f in read_fields([PLANNED], cells)[1]]
        if sheet.comma:
            cells, bad_cells = plain_row((*fields, PLANNED), cells)
            folder.faults += [Fault(name, line, *f) for f in bad_cells]
        entry = Entry(name, line, {}, history)
        own = {c: cells.get(c, "") for c in TABLES[table].columns}
        if table == "trials":
            own["protocol"], own["protocol_sha256"] = _plan(path, entry, cells, dealt, folder)
        entry.row, bad = read_row(table, own)
        told = {f.column for f in folder.faults if f.file == name and f.line == line}
        for f in bad:
            if f.column in told:
                continue  # the cell itself is at fault
            if table == "trials" and f.column in ("protocol", "protocol_sha256") and not own["protocol"]:
                continue  # reported already, where the plan was looked for
            folder.faults.append(Fault(name, line, f.column, f.found, f.wanted))
        if table == "sittings" and "entry_id" not in sheet.header and (
                meant := part_of_a_day(entry.row["play_min"])) is not None:
            what = tr("{n}, a part of a day as spreadsheets keep a time").format(n=shown(entry.row["play_min"]))
            folder.faults.append(Fault(name, line, "play_min", what, tr(
                "the minutes as a plain number. Is it {min}?").format(min=f"{meant:g}")))
        _read_meta(entry, cells, folder)
        entry.given = frozenset(TABLES[table].columns) & {*cells, *_MADE.get(table, ()), *_ALWAYS}
        entry.sound = len(folder.faults) == faults_before
        folder.entries[table].append(entry)
    if table == "trials" and dealt is not None and not history:
        known_trials = {e.row["trial"] for e in folder.entries["trials"]}
        folder.faults += [Fault(layout.DEALT_FILE, line, "trial", shown(cells.get("trial", "")),
                                tr("a trial in trials.csv{nearest}").format(
                                    nearest=nearest(cells.get("trial", ""), known_trials - {None})))
                          for line, cells in dealt.rows
                          if cells.get("trial", "").strip() not in known_trials]


def _read_meta(entry: Entry, cells: dict[str, str], folder: Folder) -> None:
    for f in (*layout.META_FIELDS, layout.WITHDRAWN):
        value, want = read_value(f, cells.get(f.name, ""))
        if want is None and f.name == "entered_at" and value is not None and not _is_moment(value):
            want = tr("a moment")
        if want is not None:
            want = tr("a moment as 2026-03-01T18:05:00Z") if f.name == "entered_at" else want
            folder.faults.append(Fault(entry.file, entry.line, f.name, shown(cells[f.name]), want))
        elif f.name != "withdrawn" or entry.history:
            setattr(entry, f.name, value)


def _is_moment(text: str) -> bool:
    try:
        datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ")
    except ValueError:
        return False
    return True


def _plan(path: Path, entry: Entry, cells: dict[str, str], dealt: Sheet | None, folder: Folder) -> tuple[str, str]:
    """Return the plan's text and fingerprint for one line of trials.csv; empty where it cannot be had."""
    file = cells.get("protocol_file", "").strip()
    if file:
        return _plan_file(path, entry, file, cells.get("protocol_sha256", "").strip(), folder)
    lacking = [c for c in by_hand.NEEDED if c not in cells]
    if lacking:
        folder.faults.append(Fault(entry.file, entry.line, "protocol_file", tr("no plan"),
                                   tr("a file in `{protocols}`, or the columns {lacking}").format(
                                       protocols=layout.PROTOCOLS, lacking=", ".join(lacking))))
        return "", ""
    trial = cells["trial"].strip()
    rows = [] if dealt is None else [(n, c) for n, c in dealt.rows if c.get("trial", "").strip() == trial]
    try:
        plan = by_hand.protocol_from_tables(cells, rows, entry.line)
    except ExchangeError as err:
        folder.faults += err.faults
        return "", ""
    entry.by_hand = True
    return plan.to_json(), plan.sha256


def _plan_file(path: Path, entry: Entry, file: str, sha256: str, folder: Folder) -> tuple[str, str]:
    name = f"{layout.PROTOCOLS}/{file.removeprefix(layout.PROTOCOLS + '/')}"
    place = path / name

    def fault(found: str, want: str) -> tuple[str, str]:
        folder.faults.append(Fault(entry.file, entry.line, "protocol_file", f"{shown(file)}: {found}", want))
        return "", ""

    if folder.sheets is not None:
        text = _plan_in_sheet(file, folder.sheets.get(f"{PLANS_SHEET}.csv", []))
        if text is None:
            return fault(tr("no such plan"), tr("a plan in the sheet {plans_sheet}").format(plans_sheet=PLANS_SHEET))
        try:
            return Protocol.from_json(text).to_json(), sha256
        except ProtocolError as err:
            return fault(tr("a plan that cannot be read"), tr("the text as it was written. {err}").format(err=err))
    if "/" in file.removeprefix(layout.PROTOCOLS + "/") or "\\" in file or ".." in file:
        return fault(tr("a path"), tr("the name of a file in `{protocols}`").format(protocols=layout.PROTOCOLS))
    try:
        stands = place.is_file()
    except OSError:  # a name that no file can have
        stands = False
    if not stands:
        there = [p.name for p in (path / layout.PROTOCOLS).glob("*.json")]
        return fault(tr("no such file"), tr("a file in `{protocols}`{nearest}").format(
                                             protocols=layout.PROTOCOLS, nearest=nearest(file, there)))
    try:
        if place.stat().st_size > _LARGEST_PLAN:
            return fault(tr("a very large file"), tr("the file as it was written"))
        plan = Protocol.from_json(place.read_text(encoding="utf-8-sig"))
    except OSError as err:
        return fault(tr("a file that cannot be read"), tr("a file that can ({strerror})").format(strerror=err.strerror))
    except (ProtocolError, UnicodeDecodeError) as err:
        return fault(tr("a plan that cannot be read"), tr("the file as it was written. {err}").format(err=err))
    return plan.to_json(), sha256


def _plan_in_sheet(file: str, cells: Cells) -> str | None:
    """Join the parts of a plan's text; a cell holds only so much."""
    parts = {int(row[1]): row[2] for _, row in cells[1:] if len(row) == 3 and row[0] == file and row[1].isdigit()}
    return "".join(parts[k] for k in sorted(parts)) if parts else None


def _name_sittings(entries: list[Entry]) -> None:
    """Name sittings without a name by date, reed and place in the file, so that the same file gives the same."""
    taken = {e.row["sitting"] for e in entries if e.row.get("sitting") is not None}
    for e in entries:
        if e.row.get("sitting") is None and e.row.get("date") is not None and e.row.get("reed") is not None:
            e.row["sitting"] = sitting_name(e.row["date"], e.row["reed"], taken)
