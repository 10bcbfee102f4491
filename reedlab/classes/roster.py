"""A class at a glance: who has the plan, how far each is, who handed in, and who can be compared. Codes, no names."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

from ..analysis.units.blind import blind
from ..analysis.units.progress import due_cells, planned_cells
from ..errors import ExchangeError
from ..rows.structure import Many, Maybe, Number, Text, Thing, be_like, read_json
from ..rows.tables import Frames
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol
from ..wording import all_of, tr, trn
from .arrivals import Arrival
from .hand_in import CODE

__all__ = ["ROSTER_FORMAT", "Pupil", "Roster", "RosterFile", "roster"]

ROSTER_FORMAT: Final = "reedlab class roster"
_VERSION: Final = 1
_FILE: Final = Thing({
    "format": Text(), "version": Number(_VERSION, _VERSION, whole=True),
    "pupils": Many(Thing({"code": Text(pattern=CODE.pattern, words=tr("a code such as P07, no name")),
                          "handed_out": Maybe(Text(10))}), most=1000),
    "arrived": Many(Text(255), most=5000)})


@dataclass(frozen=True)
class RosterFile:
    """What a teacher's folder keeps beside the files themselves: the codes given out, and the files in the order in
    which they came. Nothing else of a pupil is written down; all other columns follow from the files.
    """

    handed_out: Mapping[str, date | None] = field(default_factory=dict)
    arrived: tuple[str, ...] = ()

    def with_pupils(self, codes: Sequence[str], on: date) -> RosterFile:
        """Return it with more codes; one that is there already keeps its day."""
        return replace(self, handed_out={**dict.fromkeys(codes, on), **self.handed_out})

    def with_files(self, names: Sequence[str]) -> RosterFile:
        """Return it with more files, each once."""
        return replace(self, arrived=tuple(dict.fromkeys((*self.arrived, *names))))

    def to_json(self) -> str:
        """Return the text of its file."""
        pupils = [{"code": c, "handed_out": None if d is None else d.isoformat()} for c, d in self.handed_out.items()]
        whole = {"format": ROSTER_FORMAT, "version": _VERSION, "pupils": pupils, "arrived": list(self.arrived)}
        return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"

    @classmethod
    def from_json(cls, text: str, name: str = "roster") -> RosterFile:
        """Read it back; ExchangeError, naming each place at fault, if it is none."""
        try:
            raw = read_json(text)
            be_like(_FILE, raw, name)
            days = {p["code"]: None if p["handed_out"] is None else date.fromisoformat(p["handed_out"])
                    for p in raw["pupils"]}
        except ValueError as err:
            raise ExchangeError.of(name, tr("no roster ({err})").format(err=err),
                                   tr("the file that reedlab keeps")) from err
        return cls(days, tuple(raw["arrived"]))


@dataclass(frozen=True)
class Pupil:
    """One row. What only the pupil's own logbook knows is None until they hand in.

    `handed_out` is the day the plan was handed out, `dealt` the first day of their trial; `day` of `days` are gone by,
    `rated` of `planned` ratings are in. `arrivals` are the files that came under the code, in order.
    """

    code: str
    handed_out: date | None
    dealt: date | None
    day: int | None
    days: int | None
    rated: int | None
    planned: int | None
    arrivals: tuple[Arrival, ...]

    @property
    def counts(self) -> bool:
        """Whether a file of this pupil can be put together with the others."""
        return any(a.counts for a in self.arrivals)

    @property
    def wrong(self) -> tuple[Arrival, ...]:
        """The files with something wrong; none that only came twice after one that counts."""
        return tuple(a for a in self.arrivals if not a.counts)


@dataclass(frozen=True)
class Roster:
    """All pupils by code, and the files under no code that can be read."""

    pupils: tuple[Pupil, ...]
    strays: tuple[Arrival, ...]

    @property
    def compared(self) -> int:
        """How many pupils can be compared."""
        return sum(p.counts for p in self.pupils)

    @property
    def headline(self) -> str:
        """How many of the pupils can be compared, and what the others lack."""
        n = len(self.pupils)
        if not n:
            return tr("No pupil yet.")
        said = [trn("{compared} of {n} pupil can be compared.", "{compared} of {n} pupils can be compared.", n).format(
            compared=self.compared, n=n)]
        none = [p.code for p in self.pupils if not p.arrivals]
        wrong = [p.code for p in self.pupils if p.arrivals and not p.counts]
        if wrong:
            said.append(tr("Something is wrong with {wrong}.").format(wrong=all_of(wrong)))
        if none:
            said.append(trn("{pupils} has handed in nothing yet.", "{pupils} have handed in nothing yet.",
                            len(none)).format(pupils=all_of(none)))
        return " ".join(said)


def roster(handed_out: Mapping[str, date | None], books: Mapping[str, tuple[Protocol, Frames]],
           arrivals: Sequence[Arrival], today: date) -> Roster:
    """Put a class together.

    Parameters
    ----------
    handed_out : mapping
        The codes given out, and on which day.
    books : mapping
        Plan and rows of the logbooks that the teacher keeps, by code.
    arrivals : sequence of Arrival
        In the order in which they came.
    today : date
    """
    codes = {*handed_out, *books, *(a.code for a in arrivals if a.code)}
    pupils = [_pupil(code, handed_out.get(code), books.get(code), [a for a in arrivals if a.code == code], today)
              for code in sorted(codes, key=_in_order)]
    return Roster(tuple(pupils), tuple(a for a in arrivals if not a.code))


def _pupil(code: str, out: date | None, book: tuple[Protocol, Frames] | None, mine: Sequence[Arrival],
           today: date) -> Pupil:
    good = next((a.shared for a in mine if a.counts), None) or next((a.shared for a in mine if a.shared), None)
    if book is not None:
        plan, frames = book
        out = out or plan.start
        return Pupil(code, out, plan.start, *_progress(plan, frames, today), tuple(mine))
    if good is not None:  # its days are counted, not dated
        return Pupil(code, out, None, *_progress(good.protocol, good.frames, good.today), tuple(mine))
    return Pupil(code, out, None, None, None, None, None, tuple(mine))


def _progress(plan: Protocol, frames: Frames, today: date) -> tuple[int, int, int, int]:
    trial = blind(plan, frames, until=today)
    _, done = due_cells(trial, today)
    gone_by = sum(d < today for d in calendar_of(plan, frames).dates())
    planned = len(planned_cells(trial))
    return gone_by, plan.days, len(done) if planned else int(trial.sittings["rated"].sum()), planned


def _in_order(code: str) -> tuple[str, int]:
    letters = code.rstrip("0123456789")
    return letters, int(code[len(letters):] or 0)
