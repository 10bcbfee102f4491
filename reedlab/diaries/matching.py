"""What the player said of a diary: which column is what, and what its words mean. Kept as a small file."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Final

from ..errors import ExchangeError, Fault
from ..rows.structure import Either, Flag, Many, Maybe, Named, Number, Text, Thing, be_like, read_json
from ..rows.tables import INSTRUMENTS
from ..wording import tr

__all__ = ["COLUMNS", "FORMAT", "LEFT_OUT", "NEITHER", "Matching", "Scale"]

FORMAT: Final = "reedlab diary matching"
_VERSION: Final = 1
#: What a column can be. A reed stands in one column, in two (box and its number), or each reed has a column.
COLUMNS: Final = ("date", "reed", "box", "overall", "play_min", "habit", "remark")
NEITHER: Final = ""  # a word that stands for none of the two ways: the row counts, without a way
LEFT_OUT: Final = "-"  # rows with this word are not taken


@dataclass(frozen=True)
class Scale:
    """How ratings are stretched to 0 to 10: `best` becomes 10, `worst` becomes 0, all between in a straight line.

    `words` are marks that are no number, each with its points from 0 to 10.
    """

    worst: float
    best: float
    words: Mapping[str, float] = field(default_factory=dict)

    def points(self, value: float) -> float:
        """Return the points of a number; outside 0 to 10 for one that is not on the scale."""
        return round(10 * (value - self.worst) / (self.best - self.worst), 2) + 0.0

    @property
    def told(self) -> str:
        """The rule in words."""
        if (self.worst, self.best) == (0, 10):
            return tr("Ratings stay as they are, 0 to 10.")
        step = 1.0 if abs(self.best - self.worst) <= 10 else abs(self.best - self.worst) / 4
        sign = 1 if self.best > self.worst else -1
        n = round(abs(self.best - self.worst) / step)
        marks = [self.worst + sign * step * k for k in range(n + 1)]
        rule = ", ".join(f"{m:g} → {self.points(m):g}" for m in marks)
        return tr("Ratings are stretched to 0 to 10: {rule}.").format(rule=rule)


@dataclass(frozen=True, kw_only=True)
class Matching:
    """What was said of one shape of diary. None stands for what is not said yet.

    Attributes
    ----------
    headers : str
        Fingerprint of the titles, those of columns a reed left out.
    header : int
        The line of the titles.
    columns : mapping of `COLUMNS` to title
    reed_columns : mapping of title to reed code
        Where each reed has a column of its own.
    dates : str or None
        Order of day, month and year in dates of figures.
    year : int or None
        The year of the first date, where dates have none.
    day_once : bool or None
        A row without a date is of the day of the row above.
    minutes : str, float or None
        What a bare number in the minutes is ("min", "h", "day"); a number of minutes where there is no such column.
    scale : Scale or None
    ways : mapping of word to way
        A short name of a way, `NEITHER` or `LEFT_OUT`.
    reeds : mapping of word to reed code
        Or `LEFT_OUT`. Words that say box and number need not stand here.
    instrument : str or None
        Of boxes that the logbook does not have.
    box : str or None
        The box of reeds that are a bare number.
    skipped : tuple of str
        Fingerprints of odd rows that the player ticked to be skipped.
    """

    headers: str
    header: int
    columns: Mapping[str, str]
    reed_columns: Mapping[str, str] = field(default_factory=dict)
    dates: str | None = None
    year: int | None = None
    day_once: bool | None = None
    minutes: str | float | None = None
    scale: Scale | None = None
    ways: Mapping[str, str] = field(default_factory=dict)
    reeds: Mapping[str, str] = field(default_factory=dict)
    instrument: str | None = None
    box: str | None = None
    skipped: tuple[str, ...] = ()

    def to_json(self) -> str:
        """Return it as the text of its file."""
        return json.dumps({"format": FORMAT, "version": _VERSION, **asdict(self)}, indent=2, ensure_ascii=False) + "\n"

    @classmethod
    def from_json(cls, text: str, name: str = "matching") -> Matching:
        """Read it back; ExchangeError, with every fault, if it is none."""
        def refused(found: str) -> ExchangeError:
            return ExchangeError.of(name, found, tr("the file that the page wrote for your diary"))

        try:
            raw = read_json(text)
        except ValueError:
            raise refused(tr("no such file")) from None
        if not isinstance(raw, dict) or raw.get("format") != FORMAT:
            raise refused(tr("a file of another kind"))
        be_like(_FILE, raw, name)
        held = {k: v for k, v in raw.items() if k not in ("format", "version")}
        for name_of in ("ways", "reeds"):
            held[name_of] = {word.casefold(): value for word, value in held[name_of].items()}
        scale = held["scale"]
        made = cls(**{**held, "skipped": tuple(held["skipped"]), "scale": None if scale is None else Scale(**scale)})
        if made.scale is not None and made.scale.best == made.scale.worst:
            raise ExchangeError([Fault(name, None, "scale", tr("best and worst alike"), tr("two different ends"))])
        return made

    def and_(self, **changes: Any) -> Matching:
        """Return it with some things said."""
        return replace(self, **changes)


_KEY: Final = Text(24, pattern=r"[^\s,;]{0,24}", words="a short word without a space")
_REED: Final = Text(20, pattern=r"-|[^\s\-,;]{1,12}-\d{1,3}", words="a reed code such as 2-07, or -")
_NUMBER: Final = Number(-1000, 1000)
_FILE: Final = Thing({
    "format": Text(), "version": Number(_VERSION, _VERSION, whole=True), "headers": Text(16),
    "header": Number(1, 10_000_000, whole=True),
    "columns": Thing({c: Text(200) for c in COLUMNS}, frozenset(COLUMNS)), "reed_columns": Named(_REED),
    "dates": Maybe(Text(choices=("dmy", "mdy", "ymd"))), "year": Maybe(Number(1950, 2150, whole=True)),
    "day_once": Maybe(Flag()), "minutes": Maybe(Either(Text(choices=("min", "h", "day")), Number(0, 720))),
    "scale": Maybe(Thing({"worst": _NUMBER, "best": _NUMBER, "words": Named(Number(0, 10))})),
    "ways": Named(_KEY), "reeds": Named(_REED), "instrument": Maybe(Text(choices=INSTRUMENTS)),
    "box": Maybe(Text(12, pattern=r"[^\s\-,;]{1,12}", words="a short name without dash, space or comma, such as 2")),
    "skipped": Many(Text(40), most=5_000),
})
