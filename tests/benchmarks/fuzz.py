"""Spoilt input by the thousand: what is refused is refused in words, soon, and with nothing half-written.

``python -m tests.benchmarks.fuzz 100000`` shares the number out over seven kinds of input and prints one line for each;
``--seed`` sets the first case. A case at fault is printed with its kind and seed and can be run alone:
``--only csv --seed 4711`` with a count of 1.
"""

from __future__ import annotations

import argparse
import contextlib
import copy
import hashlib
import io
import json
import random
import shutil
import sys
import tempfile
import time
import traceback
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from reedlab.classes.class_plan import ClassPlan, _fingerprint, class_plan
from reedlab.classes.hand_in import _seal, read_shared, share
from reedlab.cli import main as command
from reedlab.errands.class_steps import put_together
from reedlab.errors import ReedlabError
from reedlab.folder.resources import demo_data_dir
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.logbook.workbook_out import export_workbook
from reedlab.rows.tables import TABLES
from reedlab.rows.values import read_row
from reedlab.trial.protocol import Protocol

from .fuzz_forms import play

SLOW_S = 1.0
SHARE_OF = {"csv": 0.2, "xlsx": 0.095, "plan": 0.25, "shared": 0.15, "line": 0.1, "value": 0.2, "form": 0.005}

ODD: tuple[Any, ...] = (
    None, True, 0, -1, 1.5, 10**400, -10**20, 1e308, float("nan"), float("inf"), "", " ", "x", "\ud800", "a\0b",
    "\u202e", "9" * 4000, "x" * 20_000, [], [[]], {}, {"key": 1}, [None] * 3, "2026-02-30", "9999-12-31", "0000-00-00",
    "1e999", "=1+1",
    "'=1", "-3", "−3", "٣", "７", "1,5", "true", "'", '"', '""', ",", ";", "\n", "\r\n", "\t", "../../x",
    "NaN")


@dataclass
class Told:
    """What came of one kind of input."""

    cases: int = 0
    refused: int = 0
    slow: list[tuple[int, float]] = field(default_factory=list)
    tracebacks: list[tuple[int, str]] = field(default_factory=list)
    half_written: list[int] = field(default_factory=list)


class Bench:
    """What all cases start from: an invented logbook, its exports, a class plan and a shared trial."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.book = folder / "reeds.logbook"
        small = folder / "small"
        shutil.copytree(demo_data_dir() / "logbook", small)
        with Logbook.create(self.book) as book:
            import_folder(small, book)
            name = "Water or mouth"
            self.protocol, frames = book.protocol(name), book.frames()
            last = max(frames.sittings["date"]).date()
            self.shared = share(self.protocol, frames, "P01", today=last)
        self.plan = json.loads(class_plan("wetting").to_json())
        self._small(small)
        self.small = small
        export = folder / "export.xlsx"
        with Logbook.create(folder / "few.logbook") as book:
            import_folder(small, book)
            export_workbook(book, export)
            export_folder(book, folder / "few")
        self.few = folder / "few.logbook"
        self.csv = {p.relative_to(folder / "few").as_posix(): p.read_text(encoding="utf-8")
                    for p in (folder / "few").rglob("*") if p.is_file()}
        with zipfile.ZipFile(export) as parts:
            self.xlsx = {n: parts.read(n) for n in parts.namelist()}

    @staticmethod
    def _small(folder: Path) -> None:
        """Keep a handful of rows, so that a case takes milliseconds."""
        for extra in ("history", "protocols"):
            shutil.rmtree(folder / extra, ignore_errors=True)
        (folder / "datapackage.json").unlink()
        for name in ("trials", "deals", "looks", "guesses"):
            (folder / f"{name}.csv").unlink(missing_ok=True)
        for file in folder.glob("*.csv"):
            lines = file.read_text(encoding="utf-8").splitlines()
            file.write_text("\n".join(lines if file.stem in ("boxes", "setups", "reeds") else lines[:6]) + "\n")

    def digest(self) -> str:
        """Return what the small logbook holds now, as a fingerprint of the file."""
        return hashlib.sha256(self.few.read_bytes()).hexdigest()


def odd(chance: random.Random) -> Any:
    """Return a value that belongs nowhere, or hardly."""
    return chance.choice(ODD)


def spoil(whole: Any, chance: random.Random) -> Any:
    """Return plain data with one to three places changed, lacking, doubled or moved."""
    out = copy.deepcopy(whole)
    for _ in range(chance.choice((1, 1, 1, 2, 3))):
        at = out
        while True:
            keys = list(at) if isinstance(at, dict) else list(range(len(at)))
            if not keys:
                break
            key = chance.choice(keys)
            if isinstance(at[key], dict | list) and at[key] and chance.random() < 0.75:
                at = at[key]
                continue
            what = chance.random()
            if what < 0.65:
                at[key] = odd(chance)
            elif what < 0.8:
                del at[key]
            elif isinstance(at, list):
                at.insert(chance.randrange(len(at) + 1), copy.deepcopy(at[key]))
            else:
                at[str(odd(chance))[:50]] = at[key]
            break
    return out


def case_plan(bench: Bench, chance: random.Random) -> None:
    """Read a class's plan, or a frozen one, that has a right seal and a wrong inside."""
    if chance.random() < 0.5:
        Protocol.from_json(json.dumps(spoil(json.loads(bench.protocol.to_json()), chance)))
        return
    raw = spoil(bench.plan, chance)
    held = {k: v for k, v in raw.items() if k not in ("format", "version", "sha256")}
    with contextlib.suppress(ValueError):
        raw["sha256"] = _fingerprint(held)
    ClassPlan.from_json(json.dumps(raw), "plan.json").to_json()


def case_shared(bench: Bench, chance: random.Random) -> None:
    """Read a shared trial that has a right seal and a wrong inside; now and then work its answer out."""
    raw = {k: v for k, v in spoil(bench.shared, chance).items() if k != "sha256"}
    with contextlib.suppress(ValueError):
        raw["sha256"] = _seal(raw)
    found = read_shared(raw, "p01.json")
    if chance.random() < 0.02:
        put_together([found])


def case_csv(bench: Bench, chance: random.Random) -> None:
    """Read a folder in which letters, cells, lines or whole files are spoilt."""
    with tempfile.TemporaryDirectory(dir=bench.folder) as made:
        files = {k: v.encode() for k, v in bench.csv.items()}
        for _ in range(chance.choice((1, 1, 2, 5))):
            name = chance.choice(sorted(files))
            files[name] = _spoilt_text(files[name], chance)
        if chance.random() < 0.1:
            name = chance.choice(sorted(files))
            files[chance.choice((name.upper(), f"{name}.csv", "history/" + name, "x.csv"))] = files.pop(name)
        for name, content in files.items():
            path = Path(made) / name
            path.parent.mkdir(exist_ok=True, parents=True)
            path.write_bytes(content)
        _import(bench, Path(made), decimal_comma=chance.random() < 0.2)


def _spoilt_text(raw: bytes, chance: random.Random) -> bytes:
    lines = raw.split(b"\n")
    at = chance.randrange(len(lines))
    what = chance.randrange(7)
    strange = str(odd(chance)).encode("utf-8", "surrogatepass")[:3000]
    if what == 0:
        cells = lines[at].split(b",")
        cells[chance.randrange(len(cells))] = strange
        lines[at] = b",".join(cells)
    elif what == 1:
        lines[at] = strange
    elif what == 2:
        del lines[at]
    elif what == 3:
        lines.insert(at, lines[chance.randrange(len(lines))])
    elif what == 4:
        place = chance.randrange(len(raw) + 1)
        return raw[:place] + bytes([chance.randrange(256)]) + raw[place + chance.randrange(3):]
    elif what == 5:
        return raw[:chance.randrange(len(raw) + 1)]
    else:
        return raw.replace(chance.choice((b",", b"-", b"\n", b"1")), chance.choice((b";", b"\t", b"", b'"', b"\r\n")))
    return b"\n".join(lines)


def case_xlsx(bench: Bench, chance: random.Random) -> None:
    """Read a spreadsheet whose inner texts are spoilt."""
    parts = dict(bench.xlsx)
    for _ in range(chance.choice((1, 1, 2))):
        name = chance.choice([n for n in sorted(parts) if "sheet" in n or chance.random() < 0.2] or sorted(parts))
        raw = parts[name]
        if chance.random() < 0.5:
            parts[name] = _spoilt_text(raw, chance)
        else:
            bits = raw.split(b">")
            k = chance.randrange(len(bits))
            bits[k] = chance.choice((b"<c r=\"XFD9\"", b"<v", b"</row", b"1e999</v", b"45</v", b"2026-99-99</v", b"",
                                     bits[chance.randrange(len(bits))], b'<c r="A1" t="e"', b'<row r="999999999"'))
            parts[name] = b">".join(bits)
    path = bench.folder / "spoilt.xlsx"
    with zipfile.ZipFile(path, "w") as out:
        for name, content in parts.items():
            out.writestr(name, content)
    _import(bench, path)


class HalfWritten(Exception):
    """A refused import changed the logbook."""


def _import(bench: Bench, source: Path, **more: Any) -> None:
    before = bench.few.read_bytes()
    try:
        with Logbook.open(bench.few) as book:
            import_folder(source, book, **more)
    except ReedlabError:
        if bench.few.read_bytes() != before:
            raise HalfWritten from None
        raise
    finally:
        bench.few.write_bytes(before)
        shutil.rmtree(bench.folder / "backups", ignore_errors=True)


VERBS = ("today", "check", "result", "export", "paper labels", "paper sheet", "paper calendar", "paper spreadsheet",
         "page", "diary", "class share", "class plan", "class deal", "class together", "import", "nonsense")
OPTIONS = ("--today", "--trial", "--week", "--weeks", "--minutes", "--day-off", "--concert", "--reeds-at-most", "-o",
           "--json", "--paper", "--at", "--zone", "--days", "--matters", "--code", "--into", "--question", "--report")


def case_line(bench: Bench, chance: random.Random) -> None:
    """Run a command line put together at random."""
    here = bench.folder / "lines"
    here.mkdir(exist_ok=True)
    words: list[str] = [*chance.choice(VERBS).split(), chance.choice((str(bench.few), "wetting", str(here / "none")))]
    for _ in range(chance.choice((0, 0, 1, 2, 3))):
        words += [chance.choice(OPTIONS)] if chance.random() < 0.8 else []
        words.append(chance.choice((str(odd(chance)), "2026-03-01", "3", str(here / "out.html"), str(bench.few))))
    quiet = io.StringIO()
    with contextlib.redirect_stdout(quiet), contextlib.redirect_stderr(quiet):
        try:
            code = command(words)
        except SystemExit as stop:  # argparse's own
            code = stop.code if isinstance(stop.code, int) else 2
    if code not in (0, 2):
        raise RuntimeError(f"{words!r}: {quiet.getvalue()[-500:]}")
    if code == 2:
        raise ReedlabError(quiet.getvalue())


def case_value(bench: Bench, chance: random.Random) -> None:
    """Check a row as a form hands it over, every field at random."""
    table = chance.choice(sorted(TABLES))
    row = {f.name: odd(chance) if chance.random() < 0.6 else chance.choice(("2026-03-01", "1-01", "5", "1", "lick"))
           for f in TABLES[table].fields}
    if read_row(table, row)[1]:
        raise ReedlabError("refused")


def case_form(bench: Bench, chance: random.Random) -> None:
    """Fill in a page's form at random and press its buttons."""
    told = play(bench.few, chance)
    if told:
        raise ReedlabError(told)


CASES: dict[str, Callable[[Bench, random.Random], None]] = {
    "csv": case_csv, "xlsx": case_xlsx, "plan": case_plan, "shared": case_shared, "line": case_line,
    "value": case_value, "form": case_form}


def run(bench: Bench, kind: str, seeds: range) -> Told:
    """Run one kind of case for each seed."""
    told = Told()
    for seed in seeds:
        told.cases += 1
        start = time.perf_counter()
        try:
            CASES[kind](bench, random.Random(f"{kind} {seed}"))
        except ReedlabError:
            told.refused += 1
        except HalfWritten:
            told.half_written.append(seed)
        except Exception:
            told.tracebacks.append((seed, traceback.format_exc(limit=-3)))
        took = time.perf_counter() - start
        if took > SLOW_S:
            told.slow.append((seed, took))
    return told


def main() -> int:
    """Run all kinds and print what came of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("cases", type=int, nargs="?", default=100_000)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", choices=sorted(CASES))
    args = parser.parse_args()
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(Path(folder))
        print(f"{'kind':8}{'cases':>8}{'refused':>9}{'tracebacks':>12}{'half-written':>14}{'over 1 s':>10}")
        for kind in [args.only] if args.only else list(CASES):
            n = args.cases if args.only else round(args.cases * SHARE_OF[kind])
            told = run(bench, kind, range(args.seed, args.seed + n))
            print(f"{kind:8}{told.cases:8}{told.refused:9}{len(told.tracebacks):12}{len(told.half_written):14}"
                  f"{len(told.slow):10}", flush=True)
            for seed, text in told.tracebacks[:3]:
                print(f"--only {kind} --seed {seed}\n{text}", flush=True)
            for seed, took in told.slow[:3]:
                print(f"--only {kind} --seed {seed}: {took:.1f} s", flush=True)
            bad += len(told.tracebacks) + len(told.half_written)
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
