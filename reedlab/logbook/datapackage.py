"""The `datapackage.json` of a tidy folder: Frictionless Data Package 2.0, Table Schemas made from `TABLES`."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, Final

from ..rows.tables import TABLES, Field
from ..wording import tr
from . import layout

__all__ = ["NAME", "changed_since", "describe", "read_package"]

NAME: Final = "reedlab-logbook"

_TYPES: Final = {"text": "string", "choice": "string", "date": "date", "int": "integer", "float": "number",
                 "bool": "boolean"}
_LARGEST: Final = 5_000_000  # bytes of a description; ours takes about 30,000
_HASH: Final = "sha256:"


def describe(folder: Path, files: Iterable[tuple[str, bool]]) -> dict[str, Any]:
    """Describe the files of a folder, with the size and SHA-256 of each.

    Parameters
    ----------
    folder : Path
    files : iterable of (table name, whether it is the history file)
    """
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": NAME,
        "title": tr("A logbook of reeds"),
        "description": tr("Rows that hold now stand in one file per table. Entries that were corrected or withdrawn "
                          "stand in `{history}`. The frozen plans of trials stand in `{protocols}`. A text that a "
                          "spreadsheet program would take for a formula has an apostrophe before it.").format(
                           history=layout.HISTORY, protocols=layout.PROTOCOLS),
        "resources": [_resource(folder, table, history) for table, history in files],
    }


def read_package(folder: Path) -> dict[str, Any]:
    """Return the description of a folder of ours; empty where there is none, or it cannot be read."""
    place = folder / layout.PACKAGE
    try:
        package = json.loads(place.read_bytes()) if place.stat().st_size <= _LARGEST else {}
    except (OSError, ValueError, RecursionError):
        return {}
    return package if isinstance(package, dict) and package.get("name") == NAME else {}


def changed_since(folder: Path, there: Mapping[str, Path]) -> list[str]:
    """Return, of the files that an export described with their SHA-256, those that say something else now, or are gone.

    Nothing is said of a folder without such a description, as one made by hand. Other line ends are no change.

    Parameters
    ----------
    folder : Path
    there : mapping of name to Path
        The files that are there, by the name they go under.
    """
    out = []
    for name, told in _told(read_package(folder)):
        if name not in there:
            out.append(tr("{name} (it is not there any more)").format(name=name))
        elif told not in _hashes(there[name]):
            out.append(name)
    return out


def _told(package: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    resources = package.get("resources")
    ours = [layout.file_of(table, history=history) for table in TABLES for history in (False, True)]
    for resource in resources if isinstance(resources, list) else ():
        if isinstance(resource, dict) and resource.get("path") in ours and isinstance(resource.get("hash"), str):
            yield resource["path"], resource["hash"]


def _hashes(path: Path) -> list[str]:
    try:
        raw = path.read_bytes()
    except OSError:
        return []  # said where it is read
    return [_HASH + hashlib.sha256(text).hexdigest() for text in (raw, raw.replace(b"\r\n", b"\n"))]


def _resource(folder: Path, table: str, history: bool) -> dict[str, Any]:
    spec = TABLES[table]
    schema: dict[str, Any] = {
        "fields": [_field(f) for f in layout.fields_of(table, history=history)],
        "missingValues": [{"value": "", "label": tr("not written down")}],
        "primaryKey": ["entry_id"] if history else list(spec.key),
    }
    refers = [(f.name, *f.refers.split(".")) for f in spec.fields if f.refers] if not history else []
    if refers:
        schema["foreignKeys"] = [{"fields": [name], "reference": {"resource": other, "fields": [column]}}
                                 for name, other, column in refers]
    place = folder / layout.file_of(table, history=history)
    with place.open("rb") as file:
        own = hashlib.file_digest(file, "sha256").hexdigest()
    return {
        "name": f"{layout.HISTORY}-{table}" if history else table,
        "type": "table",
        "path": layout.file_of(table, history=history),
        "title": spec.title + (tr(", corrected or withdrawn") if history else ""),
        "scheme": "file",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "bytes": place.stat().st_size,
        "hash": _HASH + own,
        "dialect": {"delimiter": ",", "lineTerminator": "\n", "quoteChar": '"', "doubleQuote": True,
                    "header": True},
        "schema": schema,
    }


def _field(field: Field) -> dict[str, Any]:
    out: dict[str, Any] = {"name": field.name, "type": _TYPES[field.kind], "title": field.title}
    if field.kind == "bool":
        out |= {"trueValues": ["true"], "falseValues": ["false"]}
    limits: dict[str, Any] = {}
    if field.required or field.kind == "bool" or field.name in ("entry_id", "entered_at", "sitting"):
        limits["required"] = True
    if field.low is not None:
        limits["minimum"] = field.low
    if field.high is not None:
        limits["maximum"] = field.high
    if field.choices:
        limits["enum"] = list(field.choices)
    if field.kind == "text" and field.name != "protocol":
        limits["maxLength"] = field.longest
    if field.pattern is not None:
        limits["pattern"] = field.pattern
    return out | ({"constraints": limits} if limits else {})
