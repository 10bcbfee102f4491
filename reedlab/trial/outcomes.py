"""What a trial may compare: one card an outcome, asked by every room. An unknown outcome is an error everywhere.

A new outcome is a card here and, unless it is a life told by a mark, the code that makes its values
(`analysis.units.rating_values`); a question then lists it (`questions`).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from ..errors import InputError
from ..wording import tr

__all__ = ["OUTCOMES", "Outcome", "no_gap"]

_SCALES: Final = ("difference", "ratio")
_KINDS: Final = ("", "wear", "life", "good", "pair")


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What is compared; higher is better for all.

    Attributes
    ----------
    key, title, short : str
        Fixed name; in words; in a table.
    scale : str
        "difference" (points) or "ratio" (lives).
    unit : str
        Of a value.
    designs : tuple of str
        In which it can be asked.
    matters, days : number
        Smallest difference that matters and days of a trial unless the question or the player says otherwise: our
        assumptions. Wear and life are planned longer where the hours need it.
    cap_hours : float or None
        Playing hours at which a reed of a trial that sets the hours is done: our assumption.
    even_out : tuple of str
        What is evened out unless the player says otherwise, where the question allows it.
    effect : str
        The field of a simulated world that a true gap sets.
    deed, whether, asked_of : str
        What a reed does better; what a trial tells of the ways {a} and {b}; what they are judged by.
    kind : str
        The family of sentences: "wear", "life", "good" or "pair"; "" is told by the column that is rated.
    per_hour : bool
        A change of rating by the playing hour.
    mark : str
        The mark of the plan that ends a life.
    by_word : bool
        Whether its end is what players call worn out, so that the plan may leave it to the player's word alone.
    pairs : bool
        Whether the two ways are tried back to back on one reed and held against each other: what is dealt is then the
        way that goes first, and the column `preference` is what is rated.
    crossover : bool
        Whether every reed has first one way, then the other: what is dealt is then the way that it has first.
    """

    key: str
    title: str
    short: str
    scale: str
    unit: str
    designs: tuple[str, ...]
    matters: float
    days: int
    effect: str
    deed: str
    whether: str
    asked_of: str
    cap_hours: float | None = None
    even_out: tuple[str, ...] = ()
    kind: str = ""
    per_hour: bool = False
    mark: str = ""
    by_word: bool = False
    pairs: bool = False
    crossover: bool = False

    def __post_init__(self) -> None:
        if self.scale not in _SCALES or self.kind not in _KINDS or self.lives != bool(self.mark):
            raise InputError(tr("The outcome `{key}` contradicts itself: `scale` is one of {scales}, `kind` one of "
                                "{kinds} or empty, and a ratio of lives has a `mark`.").format(
                                 key=self.key, scales=", ".join(_SCALES), kinds=", ".join(_KINDS)[2:]))

    @property
    def lives(self) -> bool:
        """Whether lives are compared, as a ratio of playing hours."""
        return self.scale == "ratio"

    @property
    def none(self) -> float:
        """No gap: 0, or a ratio of 1."""
        return no_gap(self.scale)

    @property
    def gap_unit(self) -> str:
        """The unit of a gap."""
        return tr("times as long") if self.lives else self.unit

    @property
    def hours_matter(self) -> bool:
        """Whether the minutes of a day belong to what is compared."""
        return self.lives or self.per_hour

    @property
    def of_points(self) -> bool:
        """Whether it is plain ratings, unit by unit."""
        return not self.hours_matter


def no_gap(scale: str) -> float:
    """Return the gap that is none on a scale: 0, or a ratio of 1."""
    return 1.0 if scale == "ratio" else 0.0


class _Cards(dict[str, Outcome]):
    def __missing__(self, key: str) -> Outcome:
        raise InputError(tr("`outcome` is {key!r}, wanted one of {self}.").format(key=key, self=", ".join(self)))


_LIFE: Final = Outcome(
    key="life_hours", title=tr("playing hours until worn out"), short=tr("life"), scale="ratio",
    unit=tr("playing hours"),
    designs=("reed_by_reed",), matters=1.5, days=182, cap_hours=20.0, effect="effect_life", deed=tr("last longer"),
    whether=tr("whether your reeds last longer with {a} or with {b}"), asked_of=tr("by how long each reed lasts"),
    kind="life", mark="worn_out_below", by_word=True)

#: Every outcome by key; an unknown key raises InputError.
OUTCOMES: Final[Mapping[str, Outcome]] = _Cards((o.key, o) for o in (
    Outcome(key="day_rating", title=tr("rating of the day"), short=tr("rating of the day"),
            scale="difference", unit=tr("points"),
            designs=("day_by_day",), matters=1.0, days=14, effect="effect_points", deed=tr("play better"),
            whether=tr("whether a reed plays better on the day with {a} or with {b}"), asked_of=tr(
                    "by the rating of the day"),
            even_out=("order",)),
    Outcome(key="preference", title=tr("preference back to back"), short=tr("back to back"), scale="difference",
            unit=tr("points"), designs=("day_by_day",), matters=1.0, days=14, effect="effect_points",
            deed=tr("play better"),
            whether=tr("whether a reed plays better with {a} or with {b}, one straight after the other"),
            asked_of=tr("back to back: one straight after the other, within ten minutes"), kind="pair", pairs=True),
    Outcome(key="mean_rating", title=tr("mean rating"), short=tr("mean rating"), scale="difference", unit=tr("points"),
            designs=("reed_by_reed",), matters=1.0, days=21, effect="effect_points", deed=tr("play better"),
            whether=tr("whether your reeds rate higher with {a} or with {b}"),
            asked_of=tr("by the mean rating of each reed"), even_out=("first_play", "order")),
    Outcome(key="crossover", title=tr("mean rating with each way"),
            short=tr("one way, then the other"), scale="difference", unit=tr("points"),
            designs=("reed_by_reed",), matters=1.0, days=28,
            effect="effect_points", deed=tr("play better"),
            whether=tr("whether a reed rates higher while it has {a} or while it has {b}"),
            asked_of=tr("first one way, then the other, on every reed"), even_out=("order",), crossover=True),
    Outcome(key="wear_rate", title=tr("change of rating per playing hour"), short=tr("fading"), scale="difference",
            unit=tr("points an hour"), designs=("reed_by_reed",), matters=0.1, days=42, effect="effect_wear",
            deed=tr("fade more slowly"), whether=tr("whether your reeds fade more slowly with {a} or with {b}"),
            asked_of=tr("by how fast each reed fades"), cap_hours=8.0, even_out=("first_play", "order"), kind="wear",
            per_hour=True),
    _LIFE,
    replace(_LIFE, key="good_hours", title=tr("good playing hours"), short=tr("good hours"),
            deed=tr("stay good for longer"),
            whether=tr("whether your reeds stay good for longer with {a} or with {b}"),
            asked_of=tr("by how long each reed stays good"), kind="good", mark="good_below", by_word=False),
))
