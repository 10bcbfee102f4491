"""The description fits the files: names, order, types and limits (Frictionless Data Package 2.0)."""

from __future__ import annotations

import csv
import hashlib
import json
import re
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder

#: A second reading of the cells, written from the standard and not from our own checks.
PARSE: dict[str, Callable[[str], Any]] = {
    "string": str, "integer": int, "number": float, "date": date.fromisoformat,
    "boolean": lambda s: {"true": True, "false": False}[s],
}


@pytest.fixture
def folder(book: Logbook, tmp_path: Path) -> Path:
    export_folder(book, tmp_path / "out")
    return tmp_path / "out"


def described(folder: Path) -> list[dict[str, Any]]:
    package = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    assert package["name"] == "reedlab-logbook"
    return list(package["resources"])


def rows_of(folder: Path, resource: dict[str, Any]) -> list[dict[str, str]]:
    with (folder / resource["path"]).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_csv_file_is_described_and_the_reverse(folder: Path) -> None:
    assert {r["path"] for r in described(folder)} == {
        p.relative_to(folder).as_posix() for p in folder.rglob("*.csv")}


def test_header_is_the_described_fields_in_order(folder: Path) -> None:
    for resource in described(folder):
        header = (folder / resource["path"]).read_text(encoding="utf-8").splitlines()[0].split(",")
        assert header == [f["name"] for f in resource["schema"]["fields"]]


def test_every_cell_has_its_type_and_keeps_its_limits(folder: Path) -> None:
    seen = 0
    for resource in described(folder):
        for row in rows_of(folder, resource):
            for field in resource["schema"]["fields"]:
                text, limits = row[field["name"]], field.get("constraints", {})
                if text == "":
                    assert not limits.get("required"), (resource["name"], field["name"])
                    continue
                value = PARSE[field["type"]](text)
                assert limits.get("minimum", value) <= value <= limits.get("maximum", value)
                assert value in limits.get("enum", [value])
                assert re.fullmatch(limits.get("pattern", ".*"), text, re.DOTALL)
                seen += 1
    assert seen > 150


def test_primary_keys_are_unique_and_foreign_keys_lead_somewhere(folder: Path) -> None:
    resources = {r["name"]: r for r in described(folder)}
    for resource in resources.values():
        rows = rows_of(folder, resource)
        keys = [tuple(r[c] for c in resource["schema"]["primaryKey"]) for r in rows]
        assert len(set(keys)) == len(keys)
        for link in resource["schema"].get("foreignKeys", []):
            (here,), (there,) = link["fields"], link["reference"]["fields"]
            known = {r[there] for r in rows_of(folder, resources[link["reference"]["resource"]])}
            assert {r[here] for r in rows} - {""} <= known


def test_missing_values_have_a_label_and_units_stand_in_the_names(folder: Path) -> None:
    names = set()
    for resource in described(folder):
        assert resource["schema"]["missingValues"] == [{"value": "", "label": "not written down"}]
        names |= {f["name"] for f in resource["schema"]["fields"]}
        assert all(f["title"] for f in resource["schema"]["fields"])
    assert {"play_min", "humidity_pct", "temp_c"} <= names


def test_sizes_and_hashes_are_those_of_the_files(folder: Path) -> None:
    for resource in described(folder):
        raw = (folder / resource["path"]).read_bytes()
        assert resource["bytes"] == len(raw)
        assert resource["hash"] == "sha256:" + hashlib.sha256(raw).hexdigest()
