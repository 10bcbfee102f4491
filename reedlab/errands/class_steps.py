"""A class's trial step by step, on logbooks and files: the short road that the command line and the page share.

The teacher hands out one plan; a pupil deals their own reeds from it, plays, and hands in one small file; the
files are put together. For a pupil on paper the teacher keeps the logbook.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ..analysis.together.combine import combine
from ..analysis.units.first_plays import played_beyond_first
from ..classes.arrivals import Arrival, judge
from ..classes.class_plan import ClassPlan, deal_for
from ..classes.hand_in import CODE, Shared, parts_of, share
from ..classes.roster import Roster, RosterFile, roster
from ..errors import InputError, ReedlabError
from ..folder.filing import make_folder, write_file
from ..handout.sheet import sheet
from ..handout.week import week_of
from ..logbook import Logbook
from ..logbook.class_files import (
    ROSTER,
    read_content,
    read_plan_file,
    read_roster_file,
    write_roster_file,
    write_share_file,
)
from ..rows.records import Box, Reed
from ..summary import TogetherAnswer, together_answer
from ..wording import tr
from .away import page_for
from .read_trial import pick_trial

if TYPE_CHECKING:
    from ..plan import Draft
    from ..rows.tables import Frames

__all__ = ["Shelf", "deal_own", "give_out", "hand_in", "look_through", "next_code", "paper_pupil", "put_together",
           "take_in"]

_LEAST_REEDS, _MOST_REEDS = 4, 50


@dataclass(frozen=True)
class Shelf:
    """What a class's folder holds: plans by file, what pupils sent (judged, in the order in which it came), logbooks
    kept for pupils without one, and the codes that were given out.

    `troubles` are plans, or the roster, that cannot be read, with the reason.
    """

    folder: Path
    plans: tuple[tuple[Path, ClassPlan], ...] = ()
    arrivals: tuple[Arrival, ...] = ()
    on_paper: tuple[tuple[str, Path], ...] = ()
    kept: RosterFile = field(default_factory=RosterFile)
    troubles: tuple[tuple[str, str], ...] = ()

    @property
    def handed_in(self) -> tuple[tuple[Path, Shared], ...]:
        """The trials that can be put together, by file."""
        return tuple((self.folder / a.file, a.shared) for a in self.arrivals if a.counts and a.shared is not None)

    @property
    def codes(self) -> tuple[str, ...]:
        """Every code that is taken."""
        sent = (a.code for a in self.arrivals if a.code)
        return tuple({*self.kept.handed_out, *(code for code, _ in self.on_paper), *sent})

    def roster(self, today: date) -> Roster:
        """Return the class at a glance."""
        books = {}
        for code, path in self.on_paper:
            with Logbook.open(path, read_only=True) as logbook:
                name = pick_trial(logbook)
                books[code] = (logbook.protocol(name), logbook.frames_of(name))
        return roster(self.kept.handed_out, books, self.arrivals, today)


def look_through(folder: Path) -> Shelf:
    """Return what a class's folder holds; nothing where there is no such folder."""
    plans, troubles = [], []
    here = sorted(folder.iterdir()) if folder.is_dir() else []
    try:
        kept = read_roster_file(folder)
    except ReedlabError as err:
        kept = RosterFile()
        troubles.append((ROSTER, _reason(err)))
    files = {p.name: p for p in here if p.is_file() and not p.name.startswith(".") and p.name != ROSTER
             and (p.suffix.lower() == ".json" or p.name in kept.arrived)}
    sent = []
    for name, path in files.items():
        if not _is_plan(path):
            sent.append(name)
            continue
        try:
            plans.append((path, read_plan_file(path)))
        except ReedlabError as err:
            troubles.append((name, _reason(err)))
    arrivals: list[Arrival] = []
    for name in [*(n for n in kept.arrived if n in sent), *(n for n in sent if n not in kept.arrived)]:
        arrivals.append(judge(name, read_content(files[name]), [p for _, p in plans], arrivals))
    books = [(p.stem, p) for p in here if p.suffix.lower() == ".logbook" and CODE.fullmatch(p.stem)]
    return Shelf(folder, tuple(plans), tuple(arrivals), tuple(books), kept, tuple(troubles))


def take_in(folder: Path, files: Iterable[tuple[str, bytes]]) -> list[Arrival]:
    """Keep files that were sent in a class's folder, and judge each: nothing that was sent is lost.

    A class's plan among them becomes one of the folder's. A file that is there already is not kept twice; another one
    of the same name gets a number. What a pupil's page hands back is not kept, for it belongs into a logbook.

    Raises
    ------
    InputError, ExchangeError
        A plan was changed or cannot be read; a file cannot be written. Nothing is kept then.
    """
    given = [(Path(name).name, content) for name, content in files]
    plans = {name for name, content in given if _starts_as_plan(content[:200].decode("utf-8-sig", errors="replace"))}
    for name, content in given:
        if name in plans:
            ClassPlan.from_json(content.decode("utf-8-sig", errors="replace"), name)
    make_folder(folder)
    found = []
    for name, content in given:
        shelf = look_through(folder)
        seen = None if name in plans else judge(name, content, [p for _, p in shelf.plans], shelf.arrivals)
        if seen is not None and (seen.kind == "page" or any(a.seal == seen.seal for a in shelf.arrivals)):
            found.append(seen)
            continue
        path = _free(folder / name, content)
        write_file(path, content)
        if seen is not None:
            write_roster_file(folder, shelf.kept.with_files([path.name]))
            found.append(replace(seen, file=path.name))
    return found


def give_out(folder: Path, pupils: int, on: date) -> list[str]:
    """Give out codes to so many new pupils, write them into the roster, and return them."""
    shelf = look_through(folder)
    codes: list[str] = []
    for _ in range(pupils):
        codes.append(next_code([*shelf.codes, *codes]))
    make_folder(folder)
    write_roster_file(folder, shelf.kept.with_pupils(codes, on))
    return codes


def _free(path: Path, content: bytes) -> Path:
    """Return the path, with a number where another file has its name."""
    free, n = path, 2
    while free.name == ROSTER or (free.exists() and free.read_bytes() != content):
        free, n = path.with_name(f"{path.stem} ({n}){path.suffix}"), n + 1
    return free


def _starts_as_plan(text: str) -> bool:
    return '"reedlab class plan"' in text


def _is_plan(path: Path) -> bool:
    """Say whether a file starts as a class's plan does, so that what is wrong with it is told rightly."""
    try:
        with path.open(encoding="utf-8-sig", errors="replace") as file:
            return _starts_as_plan(file.read(200))
    except OSError:
        return False


def _reason(err: ReedlabError) -> str:
    faults = getattr(err, "faults", ())
    return "; ".join(tr("{found}; wanted {wanted}").format(
                         found=f.found, wanted=f.wanted) for f in faults) if faults else str(err)


def deal_own(plan: ClassPlan, frames: Frames, *, start: date, seed: int, trial: str | None = None,
             left_out: Iterable[str] = (), **more: Any) -> Draft:
    """Deal a pupil's own reeds from the class's plan; nothing is started yet.

    Parameters
    ----------
    plan : ClassPlan
    frames : Frames
        The rows of the pupil's logbook: all reeds in use are dealt but those left out.
    start, seed, trial
        First day, the pupil's own seed, and the name (else from question and day).
    left_out : iterable of str
        Reeds kept out of it.
    **more
        As in `classroom.deal_for`.

    Raises
    ------
    InputError
        No reeds yet, or reeds for several instruments.
    """
    kinds = sorted(set(frames.boxes["instrument"]))
    if len(kinds) != 1:
        raise InputError(tr("Your logbook needs a box of reeds first.") if not kinds else
                         tr("Your logbook holds reeds for {kinds}. Keep one logbook for each.").format(
                             kinds=", ".join(kinds)))
    gone = set(frames.retirements["reed"])
    return deal_for(plan, frames.reeds, start=start, seed=seed, instrument=kinds[0],
                    trial=trial or f"{plan.question} {start.isoformat()}", boxes=frames.boxes,
                    left_out=sorted({*gone, *left_out}), played=played_beyond_first(frames), **more)


def hand_in(logbook: Logbook, code: str, path: Path, *, today: date, trial: str | None = None) -> None:
    """Write one ended trial of a logbook to a small file; InputError or LogbookError as `share` and the file do."""
    name = pick_trial(logbook, trial)
    content = share(logbook.protocol(name), logbook.frames(), code, today=today)
    make_folder(path.parent)
    write_share_file(path, content)


def paper_pupil(folder: Path, code: str, plan: ClassPlan, *, instrument: str, first_plays: Sequence[float | None],
                start: date, today: date, seed: int) -> list[Path]:
    """Start a logbook for a pupil on paper: reeds, deal, and the sheets to print.

    Parameters
    ----------
    folder : Path
        The class's folder; made if it is new.
    code : str
        The pupil's, such as P07.
    plan : ClassPlan
    instrument : str
    first_plays : sequence of float or None
        The first-play rating of each reed, in order; None where it was not rated.
    start, today, seed
        As in `deal_own`.

    Returns
    -------
    list of Path
        The logbook, the page of one file for any phone or computer, then a sheet for each week. Nothing is left
        behind where anything goes wrong.

    Raises
    ------
    InputError, PlanRefused, LogbookError
    """
    faults = []
    if not CODE.fullmatch(code):
        faults.append(tr("The code is {code!r}; wanted one to three capital letters and a number, such as P07. Never "
                         "use a name.").format(code=code))
    if not _LEAST_REEDS <= len(first_plays) <= _MOST_REEDS:
        faults.append(tr("There are {n} first-play ratings; wanted {least_reeds} to {most_reeds}.").format(
                          n=len(first_plays), least_reeds=_LEAST_REEDS, most_reeds=_MOST_REEDS))
    if any(x is not None and not (0 <= x <= 10 and 2 * x == int(2 * x)) for x in first_plays):
        faults.append(tr("A first-play rating is a number from 0 to 10 by halves, or a dash."))
    book = folder / f"{code}.logbook"
    if book.exists():
        faults.append(tr("There is a logbook for {code} already. Type the sheet in, or give another code.").format(
                          code=code))
    elif code in {s.code for _, s in look_through(folder).handed_in}:
        faults.append(tr("{code} handed in a trial already. Give another code.").format(code=code))
    if faults:
        raise InputError("\n".join(faults))
    make_folder(folder)
    made: list[Path] = []
    try:
        with Logbook.drafted(book) as logbook:
            logbook.add_many([Box(box="1", instrument=instrument),
                              *(Reed(reed=f"1-{i:02d}", box="1", first_play=x)
                                for i, x in enumerate(first_plays, start=1))])
            draft = deal_own(plan, logbook.frames(), start=start, seed=seed, trial=code)
            logbook.start_trial(draft.protocol)
            for name, page in _pages(logbook, code, today=today):
                path = folder / f"{code} {name}.html"
                write_file(path, page, new=True)
                made.append(path)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise
    return [book, *made]


def _pages(logbook: Logbook, code: str, *, today: date) -> Iterable[tuple[str, str]]:
    yield "page", page_for(logbook, today=today, code=code)
    protocol, frames = logbook.protocol(pick_trial(logbook)), logbook.frames()
    weeks = week_of(protocol, frames, today=today, number=1).weeks or 1
    for number in range(1, weeks + 1):
        yield f"week {number}", sheet(protocol, week_of(protocol, frames, today=today, number=number))


def put_together(shared: Iterable[Shared], plan: ClassPlan | None = None, *, matters: float | None = None,
                 pupils: int | None = None) -> TogetherAnswer:
    """Return the combined answer of trials that were handed in; InputError, with every reason, where they clash.

    `pupils` are all of the class, those who cannot be compared too; the answer says how many of them it rests on.
    """
    return together_answer(combine(parts_of(shared, plan), matters=matters), pupils=pupils)


def next_code(taken: Iterable[str]) -> str:
    """Return the next free code after the highest so far: P01, P02."""
    numbers = [int(m.group(1)) for code in taken if (m := re.fullmatch(r"P([0-9]{1,4})", code))]
    return f"P{max(numbers, default=0) + 1:02d}"
