"""The logbook as a tidy CSV folder, and back: nothing is lost on the way, and all or nothing is read in."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Final

from ..errors import ExchangeError, Fault, LogbookError
from ..folder.filing import write_file, write_folder
from ..rows.tables import TABLES
from ..wording import tr, trn
from . import layout
from ._beginning import is_empty_of_ours
from ._damage import AlreadyThere
from ._rows import Entries
from .csv_files import write_csv
from .datapackage import describe, read_package
from .incoming import Folder, read_folder
from .merging import merge
from .store import Logbook
from .workbook import Cells, cell_name, sheet_name

__all__ = ["Report", "export_folder", "files_of", "import_folder", "import_into", "plans_of", "take_in"]


#: What an earlier export left, to be replaced.
_OURS: Final = frozenset({layout.PACKAGE, layout.HISTORY, layout.PROTOCOLS, *(f"{t}.csv" for t in TABLES)})


@dataclass(frozen=True)
class Report:
    """What an import did: rows added and rows that were there already, by table; older entries brought along.

    `left_empty` counts planned rows of a spreadsheet that nobody filled in; `changed` names the files that say
    something else than when they were exported, their rows sound.
    """

    added: Mapping[str, int] = field(default_factory=dict)
    skipped: Mapping[str, int] = field(default_factory=dict)
    history: int = 0
    left_empty: int = 0
    changed: tuple[str, ...] = ()

    def __str__(self) -> str:
        told = [_ROWS[t](n).format(n=n) for t, n in self.added.items() if n]
        lines = [tr("Read in: {told}.").format(told=", ".join(told)) if told else tr("Nothing new to read in.")]
        if self.history:
            lines.append(tr("Older entries brought along: {history}.").format(history=self.history))
        there = sum(self.skipped.values())
        if there:
            lines.append(trn("{n} row was in the logbook already.", "{n} rows were in the logbook already.",
                             there).format(n=there))
        if self.left_empty:
            lines.append(trn("{n} planned row was not filled in, and left out.",
                             "{n} planned rows were not filled in, and left out.",
                             self.left_empty).format(n=self.left_empty))
        if self.changed:
            lines.append(tr("Changed since the export, by hand or on the way: {changed}. The rows are sound and were "
                            "taken as they stand. If you changed nothing, export again and compare.").format(
                             changed=", ".join(self.changed)))
        return "\n".join(lines)


_ROWS: Final[Mapping[str, Callable[[int], str]]] = {
    "boxes": lambda n: trn("{n} box", "{n} boxes", n), "setups": lambda n: trn("{n} set-up", "{n} set-ups", n),
    "reeds": lambda n: trn("{n} reed", "{n} reeds", n), "sittings": lambda n: trn("{n} sitting", "{n} sittings", n),
    "days": lambda n: trn("{n} day", "{n} days", n),
    "retirements": lambda n: trn("{n} retired reed", "{n} retired reeds", n),
    "trials": lambda n: trn("{n} trial", "{n} trials", n),
    "deals": lambda n: trn("{n} reed dealt", "{n} reeds dealt", n),
    "looks": lambda n: trn("{n} early look", "{n} early looks", n),
    "week": lambda n: trn("{n} usual weekday", "{n} usual weekdays", n),
    "concerts": lambda n: trn("{n} concert", "{n} concerts", n),
    "guesses": lambda n: trn("{n} guess", "{n} guesses", n),
}


def import_folder(path: str | Path, logbook: Logbook, *, decimal_comma: bool = False) -> Report:
    """Read a folder or spreadsheet into a logbook: all is checked first, then all is taken or nothing.

    Parameters
    ----------
    path : str or Path
        A folder as `export_folder` writes it, or made by hand with only the files and columns the player has;
        or an .xlsx spreadsheet with a sheet for each of those files, or one of the CSV files alone.
    logbook : Logbook
    decimal_comma : bool
        Read CSV files with semicolons as a spreadsheet writes them where the comma is the decimal mark: 7,5 for
        seven and a half, 05.03.2026 for 5 March. Files with commas between the columns are read as usual.

    Returns
    -------
    Report
        Rows that say the same as the logbook already are passed over and counted.

    Raises
    ------
    ExchangeError
        With every fault, by file, line and column. The logbook stays as it was.
    """
    return take_in(read_folder(Path(path), decimal_comma=decimal_comma), logbook)


def take_in(folder: Folder, logbook: Logbook) -> Report:
    """Take what was read into a logbook, all or nothing; ExchangeError with every fault."""
    with logbook.merging() as (current, every, write):
        found = merge(folder, current, every, logbook.today)
        if found.faults:
            sheets = folder.sheets
            faults = found.faults if sheets is None else _of_sheets(found.faults, sheets)
            raise ExchangeError(_sorted(faults))
        history = 0
        for table, entries in found.entries.items():
            write(table, entries)
            history += sum(e.history for e in entries)
    return Report({t: sum(not e.history for e in es) for t, es in found.entries.items()}, found.skipped, history,
                  folder.left_empty, tuple(folder.changed))


def import_into(path: str | Path, target: str | Path, *, decimal_comma: bool = False) -> Report:
    """Read a folder or spreadsheet into the logbook at `target`, which is made if there is none.

    A new one is there only once all of it was taken in. Came another to be there meanwhile, that one takes it in.
    For the parameters and errors see `import_folder`.
    """
    if not Path(target).exists() or is_empty_of_ours(Path(target)):
        try:
            with Logbook.drafted(target) as logbook:
                return import_folder(path, logbook, decimal_comma=decimal_comma)
        except AlreadyThere:
            pass
    with Logbook.open(target) as logbook:
        return import_folder(path, logbook, decimal_comma=decimal_comma)


def _of_sheets(faults: Iterable[Fault], sheets: Mapping[str, Cells]) -> list[Fault]:
    """Name sheets and cells; of one cell only the first fault, which tells most."""
    out: dict[object, Fault] = {}
    for n, fault in enumerate(faults):
        told = _of_sheet(fault, sheets)
        out.setdefault(n if told.cell is None else (told.file, told.cell), told)
    return list(out.values())


def _of_sheet(fault: Fault, sheets: Mapping[str, Cells]) -> Fault:
    """Name the sheet and cell of a spreadsheet instead of the file and line that would hold the same."""
    if not fault.file.endswith(".csv"):
        return fault
    cell = fault.cell or cell_name(fault.line, fault.column, sheets.get(fault.file, []))
    return replace(fault, file=tr("sheet {sheet_name}").format(sheet_name=sheet_name(fault.file)), cell=cell)


def _sorted(faults: Iterable[Fault]) -> list[Fault]:
    unique = dict.fromkeys(faults)
    return sorted(unique, key=lambda f: (f.line is not None, f.file, f.line or 0))


def export_folder(logbook: Logbook, path: str | Path) -> None:
    """Write a logbook as a tidy folder with its `datapackage.json`.

    Raises LogbookError if the folder holds other things, InputError if it cannot be written. An earlier export in it
    is replaced, whole or not at all.
    """
    target = Path(path)
    _be_ours(target)
    with logbook.entries() as entries:
        write_folder(target, lambda made: _write(entries, made), ours=_OURS.__contains__)


def _be_ours(target: Path) -> None:
    if not target.exists():
        return
    if not target.is_dir():
        raise LogbookError(tr("{target} is a file; name a folder to write to.").format(target=target))
    if any(target.iterdir()) and not read_package(target):
        raise LogbookError(tr("The folder {target} holds other things. Name a new or empty folder.").format(
                               target=target))


def _write(entries: Mapping[str, tuple[Entries, Entries]], folder: Path) -> None:
    plans, texts = plans_of(entries)
    described = []
    for table, history, rows in files_of(entries):
        name = layout.file_of(table, history=history)
        (folder / name).parent.mkdir(exist_ok=True)
        header = layout.columns(table, history=history)
        write_csv(folder / name, header, ([_cell(c, r, plans) for c in header] for r in rows))
        described.append((table, history))
    if plans:
        (folder / layout.PROTOCOLS).mkdir()
    for file, text in texts.items():
        write_file(folder / layout.PROTOCOLS / file, _pretty(json.loads(text)))
    write_file(folder / layout.PACKAGE, _pretty(describe(folder, described), sort=False))


def files_of(entries: Mapping[str, tuple[Entries, Entries]]) -> Iterator[tuple[str, bool, Entries]]:
    """Yield the files that a logbook is written to: the table, whether it is its history, and the rows."""
    for table, (now, past) in entries.items():
        yield table, False, now
        if past:
            yield table, True, past


def _pretty(value: Any, sort: bool = True) -> str:
    return json.dumps(value, indent=2, sort_keys=sort, ensure_ascii=False) + "\n"


def _cell(column: str, row: Mapping[str, Any], plans: Mapping[tuple[str, str], str]) -> str:
    if column == "protocol_file":
        return layout.guarded(plans[row["trial"], row["protocol_sha256"]])
    if column == "withdrawn":
        return layout.as_text(bool(row[column]))
    text = layout.as_text(row[column])
    return layout.guarded(text) if isinstance(row[column], str) else text


def plans_of(entries: Mapping[str, tuple[Entries, Entries]]) -> tuple[dict[tuple[str, str], str], dict[str, str]]:
    """Return a file name for each plan: the trial's name, with part of the fingerprint where needed; and its text."""
    plans = {(r["trial"], r["protocol_sha256"]): r["protocol"] for r in (*entries["trials"][1], *entries["trials"][0])}
    stems = {plan: "".join(c if c.isalnum() or c in "-_" else "-" for c in plan[0]) for plan in plans}
    folded = [s.casefold() for s in stems.values()]
    names = {plan: f"{s}.json" if folded.count(s.casefold()) == 1 else f"{s}-{plan[1][:8]}.json"
             for plan, s in stems.items()}
    return names, {names[plan]: text for plan, text in plans.items()}
