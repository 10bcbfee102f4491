"""From a diary's file, whatever its shape, to rows in a logbook: looked at, asked about, taken in whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import Any, Final

from ..diaries.asks import Ask
from ..diaries.grid import Grid
from ..diaries.guess import Known, guess, headers_of
from ..diaries.matching import Matching
from ..diaries.understand import Odd, Row, Understood, understand
from ..errors import ExchangeError, Fault, InputError, ReedlabError
from ..folder.filing import make_folder, named_after, write_file
from ..logbook import Logbook
from ..logbook.diary_files import Rows, faults_in, read_diary_file, take_rows
from ..questions import CATALOGUE
from ..rows.values import read_row, shown
from ..screens.words import fault_in_words, title
from ..trial.protocol import Protocol
from ..wording import all_of, tr, trn

__all__ = ["FOLDER", "Diary", "TakenIn", "keep_matching", "known_of", "look_at", "matching_for", "read", "still_open",
           "take_diary"]

#: The folder beside the logbook in which matchings are kept.
FOLDER: Final = "diaries"


@dataclass(frozen=True)
class Diary:
    """A diary's sheet, and what is understood of it with a matching."""

    file: str
    grid: Grid
    known: Known
    understood: Understood

    @property
    def matching(self) -> Matching:
        """What was said of it so far."""
        return self.understood.matching


@dataclass(frozen=True)
class TakenIn:
    """What became of a diary: entries that are new, and that were there already; reeds and boxes added."""

    added: int
    there: int
    reeds: int

    def __str__(self) -> str:
        said = trn("Taken in: {n} entry.", "Taken in: {n} entries.", self.added).format(n=self.added)
        said = said if self.added else tr("Nothing new to take in.")
        more = [trn("{n} was in the logbook already.", "{n} were in the logbook already.", self.there).format(
            n=self.there)] if self.there else []
        new = [trn("{n} reed is new.", "{n} reeds are new.", self.reeds).format(n=self.reeds)] if self.reeds else []
        return " ".join([said, *more, *new])


def read(content: bytes, file: str, sheet: str | None = None) -> Grid:
    """Read a diary's file: the sheet of this name, else the one with most lines.

    ExchangeError if it cannot be read, InputError if it has no such sheet.
    """
    grids = read_diary_file(content, file)
    if sheet is None:
        return max(grids, key=lambda g: len(g.lines))
    named = [g for g in grids if g.name == sheet]
    if not named:
        raise InputError(tr("{file} has no sheet called “{sheet}” with something in it. There is: {sheets}.").format(
            file=file, sheet=sheet, sheets=all_of(g.name for g in grids)))
    return named[0]


def matching_for(grid: Grid, today: date, book: Path, file: str = tr("the diary"), *, anew: bool = False) -> Matching:
    """Return the matching kept for a diary of this shape beside a logbook, else, or `anew`, a guess.

    InputError if no line holds titles.
    """
    with _opened(book) as logbook:
        known = known_of(logbook, today)
    guessed = guess(grid, known)
    if guessed is None:
        raise InputError(tr("{file}: no line with titles above the columns was found. Write one, such as date, reed, "
                            "minutes, rating, way, and choose the file again.").format(file=file))
    for _, kept in () if anew else _kept(book.parent):
        if kept.headers == headers_of(grid, guessed.header, {**guessed.reed_columns, **kept.reed_columns}):
            return replace(kept, header=guessed.header, reed_columns={
                t: kept.reed_columns.get(t, code) for t, code in guessed.reed_columns.items()} or kept.reed_columns)
    return guessed


def keep_matching(matching: Matching, folder: Path, file: str) -> Path:
    """Keep a matching beside the logbook, in the place of an earlier one for the same titles.

    So the next copy of the diary needs no questions.
    """
    before = [path for path, kept in _kept(folder) if kept.headers == matching.headers]
    path = before[0] if before else folder / FOLDER / f"{named_after(Path(file).stem)}-{matching.headers[:8]}.json"
    make_folder(path.parent)
    write_file(path, matching.to_json())
    return path


def _kept(folder: Path) -> Iterator[tuple[Path, Matching]]:
    """Yield the matchings kept beside a logbook; what is no such file is passed over."""
    for path in sorted((folder / FOLDER).glob("*.json")):
        try:
            yield path, Matching.from_json(path.read_text(encoding="utf-8"), path.name)
        except (ReedlabError, OSError, UnicodeDecodeError):
            continue


def look_at(grid: Grid, file: str, matching: Matching, book: Path, *, today: date) -> Diary:
    """Return what is understood of a diary. What the logbook would refuse is among the odd rows. Nothing is written."""
    with _opened(book) as logbook:
        known = known_of(logbook, today)
        found = understand(grid, matching, known)
        if found.rows and not found.asks:
            found = _against(found, logbook, file, today)
    return Diary(file, grid, known, found)


def take_diary(diary: Diary, book: Path, *, now: Callable[[], datetime] | None = None) -> TakenIn:
    """Take a diary into the logbook, which is made if there is none: all of it or nothing.

    Rows that it has already, by this diary's own name or typed in otherwise with the same day, reed, minutes and
    rating, are counted. Raises InputError while something is still to be said or an odd row is neither mended nor
    skipped, and ExchangeError for what the logbook refuses.
    """
    found = diary.understood
    if not found.ready:
        raise InputError("\n".join([tr("Nothing was taken in yet."), *still_open(found)]))
    with Logbook.open_or_create(book, now=now) as logbook:
        beside = _beside(found, logbook)
        report = take_rows(_rows(found, beside.fresh), logbook, diary.file)
    return TakenIn(report.added.get("sittings", 0), beside.there, report.added.get("reeds", 0))


def still_open(found: Understood) -> list[str]:
    """Return in sentences what keeps a diary from being taken in."""
    if found.asks:  # until these are said, rows look odd that are not
        return [_ask_told(ask) for ask in found.asks]
    told = tr("Row {n}: {why}. Mend it in the file, or have it skipped.")
    lines = [told.format(n=o.line, why=o.why) for o in found.odd]
    return lines or ([] if found.rows else [tr("No row holds an entry.")])


def _ask_told(ask: Ask) -> str:
    if not ask.words:
        return ask.text
    return f"{ask.text} ({', '.join(list(ask.words)[:12])}{', ...' if len(ask.words) > 12 else ''})"


def known_of(logbook: Logbook | None, today: date) -> Known:
    """Return what matters of a logbook to a diary: its reeds, boxes and ways; the catalogue's ways come after."""
    ways = {h.key: h.name for q in CATALOGUE.values() for h in q.habits if q.key != "own"}
    if logbook is None:
        return Known(today, ways=ways)
    frames = logbook.frames()
    own = {h.key: h.name for text in frames.trials["protocol"] for h in Protocol.from_json(text).habits}
    own |= {str(k): str(k) for k in frames.sittings["habit"].dropna().unique() if k not in own and k not in ways}
    return Known(today, tuple(frames.reeds["reed"]),
                 dict(zip(frames.boxes["box"], frames.boxes["instrument"], strict=True)), own | ways)


@contextmanager
def _opened(book: Path) -> Iterator[Logbook | None]:
    if not book.exists() or not book.stat().st_size:
        yield None
        return
    with Logbook.open(book, read_only=True) as logbook:
        yield logbook


@dataclass(frozen=True)
class _Beside:
    """Rows beside a logbook: those new to it, how many it has or had already, and which it has otherwise, by line."""

    fresh: tuple[Row, ...]
    there: int
    otherwise: Mapping[int, str]


def _beside(found: Understood, logbook: Logbook | None) -> _Beside:
    """Compare rows with a logbook. What was corrected or taken back there since stays so, and counts as there."""
    if logbook is None:
        return _Beside(found.rows, 0, {})
    now, ever = logbook.by_key("sittings")
    mine = {r.values["sitting"] for r in found.rows}
    typed = {_same(r) for name, r in now.items() if name not in mine}
    names = _titles(found.matching)
    fresh: list[Row] = []
    otherwise: dict[int, str] = {}
    for row in found.rows:
        name = row.values["sitting"]
        read, _ = read_row("sittings", row.values)
        unlike = [[c for c in row.values if had[c] != read[c]] for had in ever[name]]
        if [] in unlike or (name not in now and _same(row.values) in typed):
            continue
        if name not in now:
            fresh.append(row)
            continue
        told = tr("{title}: {here} here, the logbook has {there}")
        otherwise[row.line] = "; ".join(told.format(
            title=names.get(c) or title(c), here=shown(read[c]), there=shown(now[name][c]))
            for c in unlike[0])
    return _Beside(tuple(fresh), len(found.rows) - len(fresh) - len(otherwise), otherwise)


def _titles(matching: Matching) -> dict[str, str]:
    return {column: f"“{name}”" for column, name in matching.columns.items()}


def _same(row: Any) -> tuple[Any, ...]:
    return row["date"], row["reed"], row["play_min"], row["overall"]


def _rows(found: Understood, fresh: Sequence[Row]) -> Rows:
    return {"boxes": [(1, box) for box in found.boxes], "reeds": [(1, reed) for reed in found.reeds],
            "sittings": [(r.line, r.values) for r in fresh]}


def _against(found: Understood, logbook: Logbook | None, file: str, today: date) -> Understood:
    """Move rows that the logbook would refuse, or has otherwise, to the odd ones."""
    beside, names = _beside(found, logbook), _titles(found.matching)
    by_line: dict[int, list[str]] = {line: [why] for line, why in beside.otherwise.items()}
    whole: list[Fault] = []
    for fault in faults_in(_rows(found, beside.fresh), logbook, file, today):
        if (fault.line or 0) > 1:
            by_line.setdefault(fault.line or 0, []).append(fault_in_words(fault, names))
        else:
            whole.append(fault)
    if whole:
        raise ExchangeError(whole)
    odd = [Odd(line, "; ".join(dict.fromkeys(why)), found.marks[line]) for line, why in by_line.items()]
    return replace(found, rows=tuple(r for r in found.rows if r.line not in by_line),
                   odd=tuple(sorted((*found.odd, *odd), key=lambda o: o.line)))
