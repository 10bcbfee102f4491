"""However a folder is mangled, the answer is a report or a plain refusal, never a traceback."""

from __future__ import annotations

import shutil
from pathlib import Path

import numpy as np
import pytest

from reedlab.errors import ExchangeError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder

from .conftest import Clock

SPLINTERS = [b",", b'"', b"\n", b";", b"\x00", b"\xff", b"9" * 400, b"-", b".", b"NaN", b"=1+1", b"{", b"[]",
             b"null", b"\xe2\x80\xae", b"2026-13-45", b"1e308", b"\r", b"true"]


@pytest.mark.parametrize("seed", range(8))
def test_mangled_export_is_read_or_refused_whole(seed: int, full_file: Path, tmp_path: Path, clock: Clock) -> None:
    rng = np.random.default_rng(seed)
    with Logbook.open(full_file, read_only=True) as book:
        export_folder(book, tmp_path / "sound")
    files = [p.relative_to(tmp_path / "sound") for p in sorted((tmp_path / "sound").rglob("*")) if p.is_file()
             and p.name != "datapackage.json"]
    Logbook.create(tmp_path / "fresh.sqlite").close()
    empty = (tmp_path / "fresh.sqlite").read_bytes()
    refused = 0
    for n in range(25):
        folder = tmp_path / f"mangled{n}"
        shutil.copytree(tmp_path / "sound", folder)
        for _ in range(rng.integers(1, 4)):
            place = folder / files[rng.integers(len(files))]
            raw = place.read_bytes()
            at, size = int(rng.integers(len(raw))), int(rng.integers(0, 12))
            place.write_bytes(raw[:at] + SPLINTERS[rng.integers(len(SPLINTERS))] + raw[at + size:])
        target = tmp_path / "target.sqlite"
        target.write_bytes(empty)
        with Logbook.open(target, now=clock) as book:
            try:
                import_folder(folder, book)
            except ExchangeError:
                refused += 1
                assert target.read_bytes() == empty
            else:
                assert book.check() == []
    assert refused > 10
