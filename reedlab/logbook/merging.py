"""What of a folder is new to a logbook, and what contradicts it. Pure: entries in, entries and faults out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from ..errors import Fault
from ..rows.tables import TABLES
from ..rows.values import nearest, shown
from ..wording import all_of, tr
from .between import cross_check, key_of
from .incoming import Entry, Folder
from .layout import DEALT_FILE

__all__ = ["Merge", "merge"]

Stored = Mapping[str, Sequence[Mapping[str, Any]]]
_GOOD_TO_HAVE = {"reeds": tr("reeds.csv with at least reed and box"), "boxes": tr("boxes.csv with box and instrument"),
                 "setups": tr("setups.csv with setup"), "trials": tr("trials.csv with the trials")}


@dataclass
class Merge:
    """Entries to write by table, oldest first; how many current rows were there already; every fault."""

    entries: dict[str, list[Entry]]
    skipped: dict[str, int]
    faults: list[Fault]


def merge(folder: Folder, current: Stored, every: Stored, today: date) -> Merge:
    """Compare a folder with a logbook.

    Parameters
    ----------
    folder : Folder
    current, every : mapping of table name to rows
        The logbook's current rows, and all its entries.
    today : date

    Returns
    -------
    Merge
        An entry is left out as known where the logbook has the same row now (in the columns the file has), or
        had it at the same moment. A row whose key the logbook has with other values is a fault.
    """
    out = Merge({}, {}, list(folder.faults))
    rows: dict[str, list[Mapping[str, Any]]] = {t: list(current[t]) for t in TABLES}
    places: dict[tuple[str, int], Entry] = {}
    for table in TABLES:
        chains = _chains(folder.entries[table], out.faults)
        now = {key_of(table, r): r for r in current[table]}
        past = {_moment(table, r, r["entered_at"], bool(r["withdrawn"])) for r in every[table]}
        out.entries[table], out.skipped[table] = [], 0
        for chain in chains:
            last = chain[-1]
            old = now.get(key_of(table, last.row)) if not last.withdrawn else None
            if old is not None and all(old[c] == last.row[c] for c in last.given):
                out.skipped[table] += 1
            elif last.entered_at and _moment(table, last.row, last.entered_at, last.withdrawn) in past:
                out.skipped[table] += not last.withdrawn
            elif old is not None:
                if last.sound:
                    out.faults.append(_differs(table, last, old))
            else:
                out.entries[table] += chain
                if not last.withdrawn:
                    places[table, len(rows[table])] = last
                    rows[table].append(last.row)
        out.entries[table].sort(key=lambda e: (e.entry_id is None, e.entry_id or 0))
    out.faults += _between(rows, places, folder, today)
    if "reeds.csv" in folder.files and "reeds" not in folder.broken:
        out.faults += _unknown_dealt(rows, folder.dealt)
    return out


def _moment(table: str, row: Mapping[str, Any], entered_at: str, withdrawn: bool) -> tuple[Any, ...]:
    return (*(row[c] for c in TABLES[table].columns), entered_at, withdrawn)


def _differs(table: str, entry: Entry, old: Mapping[str, Any]) -> Fault:
    names = [c for c in TABLES[table].columns if c in entry.given and old[c] != entry.row[c] and c != "protocol"]
    told = ", ".join(tr("{c} {row} (the logbook has {old})").format(
                         c=c, row=shown(entry.row[c]), old=shown(old[c])) for c in names)
    told = told or tr("another plan")
    key = " ".join(shown(k) for k in key_of(table, entry.row) or ())
    return Fault(entry.file, entry.line, names[0] if len(names) == 1 else None, told,
                 tr("the same as in the logbook for {key}; correct it there, or give a new entry a name of "
                    "its own").format(key=key))


def _chains(entries: Sequence[Entry], faults: list[Fault]) -> list[list[Entry]]:
    """Put entries into chains of correction, oldest first; each chain ends with what holds now."""
    by_id: dict[int, Entry] = {}
    for e in entries:
        if e.entry_id is None:
            continue
        if e.entry_id in by_id:
            faults.append(Fault(e.file, e.line, "entry_id", tr("{entry_id} a second time").format(
                                                                entry_id=e.entry_id), tr("each entry once")))
        by_id.setdefault(e.entry_id, e)
    followed: dict[int, Entry] = {}
    for e in entries:
        if e.supersedes is None:
            if e.withdrawn:
                faults.append(Fault(e.file, e.line, "supersedes", tr("nothing"),
                                    tr("the number of the entry taken back")))
            continue
        if e.supersedes not in by_id or e.entry_id is None or e.entry_id <= e.supersedes:
            faults.append(Fault(e.file, e.line, "supersedes", str(e.supersedes),
                                tr("the `entry_id` of an earlier entry of this table, here or in its history file")))
        elif e.supersedes in followed:
            faults.append(Fault(e.file, e.line, "supersedes",
                                tr("{supersedes} a second time").format(supersedes=e.supersedes),
                                tr("an entry corrected or withdrawn once")))
        else:
            followed[e.supersedes] = e
    chains = []
    for e in entries:
        past = e.withdrawn or (e.entry_id is not None and e.entry_id in followed)
        if past != e.history:
            faults.append(Fault(e.file, e.line, None, tr("an entry that holds now") if e.history else
                                tr("an entry that was corrected or withdrawn"),
                                tr("entries that hold now in the table's own file, the others in `history`")))
        if e.entry_id is not None and e.entry_id in followed and by_id[e.entry_id] is e:
            continue
        chain = [e]
        while (before := chain[0].supersedes) in by_id and followed.get(before or 0) is chain[0]:
            chain.insert(0, by_id[before or 0])
        chains.append(chain)
    return chains


def _unknown_dealt(rows: Stored, dealt: Mapping[str, int]) -> list[Fault]:
    known = {r["reed"] for r in rows["reeds"] if r["reed"] is not None}
    return [Fault(DEALT_FILE, line, "reed", tr("reed {reed} in the plan").format(reed=shown(reed)),
                  tr("a reed in the list of reeds{nearest}").format(nearest=nearest(reed, known)))
            for reed, line in dealt.items() if reed not in known]


def _between(rows: Stored, places: Mapping[tuple[str, int], Entry], folder: Folder, today: date) -> list[Fault]:
    """Return the faults between rows that a new row has a part in."""
    faults: list[Fault] = []
    lacking: dict[str, list[tuple[str, str]]] = defaultdict(list)
    had = cross_check({t: [r for r in rs if r.get("entry_id") is not None] for t, rs in rows.items()}, today)
    known = {(f.table, f.column, f.found, f.wanted) for f in had}
    for f in cross_check(rows, today):
        entry = places.get((f.table, f.row))
        if entry is None:
            if (f.table, f.column, f.found, f.wanted) not in known:
                key = " ".join(str(k) for k in key_of(f.table, rows[f.table][f.row]) or ())
                faults.append(Fault(tr("the logbook's {table} {key}").format(
                                        table=f.table, key=key), None, f.column, f.found, f.wanted))
            continue
        if f.lacks is not None:
            if f.lacks in folder.broken:
                continue
            held = any(r.get("entry_id") is not None for r in rows[f.lacks])
            if f"{f.lacks}.csv" not in folder.files and not (held and folder.sheets is not None):
                lacking[f.lacks].append((entry.file, f.about or str(entry.row[f.column])))
                continue
        if entry.by_hand and f.about in folder.dealt:
            faults.append(Fault(DEALT_FILE, folder.dealt[f.about], "reed", f.found, f.wanted))
            continue
        column = "protocol_file" if (f.table, f.column) == ("trials", "protocol") else f.column
        faults.append(Fault(entry.file, entry.line, column, f.found, f.wanted))
    for target, names in lacking.items():
        some = list(dict.fromkeys(name for _, name in names))
        where = all_of(dict.fromkeys(file for file, _ in names))
        told = ", ".join(some[:5]) + (" " + tr("and {n} more").format(n=len(some) - 5) if len(some) > 5 else "")
        want = tr("{good_to_have}, for the {target} in {where} that the logbook does not have ({told})").format(
                   good_to_have=_GOOD_TO_HAVE[target], target=target, where=where, told=told)
        faults.append(Fault(f"{target}.csv", None, None, tr("no such file"), want))
    return faults
