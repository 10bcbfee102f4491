"""The `datapackage.json` of a tidy folder: Frictionless Data Package 2.0, Table Schemas made from `TABLES`."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from ..rows.tables import TABLES, Field
from . import layout

__all__ = ["NAME", "describe"]

NAME: Final = "reedlab-logbook"

_TYPES: Final = {"text": "string", "choice": "string", "date": "date", "int": "integer", "float": "number",
                 "bool": "boolean"}


def describe(files: Iterable[tuple[str, bool]]) -> dict[str, Any]:
    """Describe the files of a folder.

    Parameters
    ----------
    files : iterable of (table name, whether it is the history file)
    """
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": NAME,
        "title": "A logbook of reeds",
        "description": "Rows that hold now stand in one file per table. Entries that were corrected or withdrawn "
                       f"stand in `{layout.HISTORY}`. The frozen plans of trials stand in `{layout.PROTOCOLS}`. "
                       "A text that a spreadsheet program would take for a formula has an apostrophe before it.",
        "resources": [_resource(table, history) for table, history in files],
    }


def _resource(table: str, history: bool) -> dict[str, Any]:
    spec = TABLES[table]
    schema: dict[str, Any] = {
        "fields": [_field(f) for f in layout.fields_of(table, history=history)],
        "missingValues": [{"value": "", "label": "not written down"}],
        "primaryKey": ["entry_id"] if history else list(spec.key),
    }
    refers = [(f.name, *f.refers.split(".")) for f in spec.fields if f.refers] if not history else []
    if refers:
        schema["foreignKeys"] = [{"fields": [name], "reference": {"resource": other, "fields": [column]}}
                                 for name, other, column in refers]
    return {
        "name": f"{layout.HISTORY}-{table}" if history else table,
        "type": "table",
        "path": f"{layout.HISTORY}/{table}.csv" if history else f"{table}.csv",
        "title": spec.title + (", corrected or withdrawn" if history else ""),
        "scheme": "file",
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
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
