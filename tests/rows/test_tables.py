"""The tables, the records and the schema say the same."""

from __future__ import annotations

import dataclasses
import re
import typing
from datetime import date

import pytest

from reedlab.rows import records
from reedlab.rows.tables import TABLES, empty

RECORDS = {r.table: r for r in typing.get_args(records.Record)}
PYTHON = {"text": str, "choice": str, "date": date, "int": int, "float": float, "bool": bool}


def test_every_table_but_trials_has_a_record() -> None:
    assert set(RECORDS) == set(TABLES) - {"trials"}


@pytest.mark.parametrize("table", sorted(RECORDS))
def test_record_has_the_tables_columns_with_the_same_kinds(table: str) -> None:
    hints = typing.get_type_hints(RECORDS[table], localns={"date": date})
    fields = dataclasses.fields(RECORDS[table])
    assert [f.name for f in fields] == [*TABLES[table].columns]
    for f, spec in zip(fields, TABLES[table].fields, strict=True):
        written = f.type if isinstance(f.type, str) else str(f.type)
        assert written.startswith(PYTHON[spec.kind].__name__), f.name
        assert (f.default is dataclasses.MISSING) == spec.required, f.name
        assert ("None" in written) == (not spec.required and spec.kind != "bool"), f.name
    assert set(hints) >= {f.name for f in fields}


@pytest.mark.parametrize("table", sorted(TABLES))
def test_keys_references_limits_and_patterns_are_sound(table: str) -> None:
    spec = TABLES[table]
    assert set(spec.key) <= set(spec.columns)
    for f in spec.fields:
        if f.refers:
            other, column = f.refers.split(".")
            assert column in TABLES[other].columns
        if f.kind == "choice":
            assert f.choices
        if f.low is not None and f.high is not None:
            assert f.low < f.high
        if f.pattern:
            re.compile(f.pattern)


@pytest.mark.parametrize("table", sorted(TABLES))
def test_empty_frame_has_the_columns(table: str) -> None:
    assert list(empty(table).columns) == [*TABLES[table].columns]
    assert len(empty(table)) == 0
