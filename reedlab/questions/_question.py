"""What a trial question is: two ways, what it allows and why, its outcomes and its traps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

from ..errors import InputError
from ..trial.outcomes import OUTCOMES
from ..trial.protocol import DESIGNS, Habit
from ..wording import one_of, tr

__all__ = ["DESIGN_WORDS", "OVERRIDABLE", "Question"]

#: What a reed does in a trial, by the name of its design.
DESIGN_WORDS: Final = {
    "day_by_day": tr("Each reed serves both ways, on shuffled days"),
    "back_to_back": tr("Each reed is tried both ways within ten minutes, in an order set by chance"),
    "crossover": tr("Each reed has first one way, then the other"),
    "side_by_side": tr("Both reeds are tried within ten minutes, in an order set by chance"),
    "reed_by_reed": tr("Each reed keeps to one way"),
}
#: Trade defaults that a habit may replace in its own way of playing, with the unit of the value.
OVERRIDABLE: Final[Mapping[str, str]] = MappingProxyType({
    "break_in_ramp_min": tr("min on the first days of play (0: no ramp)"),
    "daily_limit_min": tr("min a day on one reed (720: no limit)"),
    "rest_days": tr("days of rest after each day of play"),
    "rotation_size": tr("reeds taken in turn (1: one reed at a time)"),
    "open_drying_min": tr("min in the open before the case"),
})


@dataclass(frozen=True, kw_only=True)
class Question:
    """One question a player may ask.

    Attributes
    ----------
    key, title, ask : str
        Fixed short name; a few words for a list; the question in plain words.
    asks : mapping of outcome to str
        The question as it reads for one outcome, where that differs (`ask_for`).
    habits : tuple of two Habit
        The two ways, sorted by key. Names and steps may be reworded (`with_habits`), keys as well.
    lasts : bool
        True where the habit may change the reed for longer than the day.
    designs : tuple of str
        Allowed designs, the default first. `why` says in a sentence why these.
    outcomes : tuple of str
        Allowed outcomes, best first; the default of a design is the first that fits it.
    days, matters : mapping of outcome to number
        Default length in days and smallest difference that matters.
    traps : tuple of str
        What can spoil or bend the answer, in plain sentences.
    cautions : tuple of str
        Keys of `practice.CAUTIONS` to show.
    same_days : bool
        False where the habit itself sets the hours, so that "same days for both ways" is waived.
    from_new : bool
        True where reeds enter the trial unplayed (break-in).
    overrides : tuple of (habit key, default, value)
        Defaults of practice that a habit replaces for its own reeds; names are in `OVERRIDABLE`.
    mask : str or None
        What a helper can hide from the player; None where nothing can be hidden.
    no_mask : str
        What stays known to the player, whoever helps.
    adjustments : tuple of str
        What the analysis may adjust for: never what the habit may change.
    wears_off : int or None
        Days after which what a way did to a reed is gone again; None where it stays, or is gone by the next day. Only
        where it is known can every reed have first one way, then the other.
    source : str
        Where the two ways come from.
    """

    key: str
    title: str
    ask: str
    habits: tuple[Habit, Habit]
    why: str
    outcomes: tuple[str, ...]
    traps: tuple[str, ...]
    lasts: bool = True
    designs: tuple[str, ...] = ("reed_by_reed",)
    asks: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    cautions: tuple[str, ...] = ("sharing", "pain", "defer")
    days: Mapping[str, int] = field(default_factory=lambda: {o.key: o.days for o in OUTCOMES.values()})
    matters: Mapping[str, float] = field(default_factory=lambda: {o.key: o.matters for o in OUTCOMES.values()})
    same_days: bool = True
    from_new: bool = False
    overrides: tuple[tuple[str, str, float], ...] = ()
    mask: str | None = None
    no_mask: str = ""
    adjustments: tuple[str, ...] = ("first_play", "day", "humidity", "order")
    wears_off: int | None = None
    source: str = tr("common practice, no published source")

    def __post_init__(self) -> None:
        faults = []
        keys = [h.key for h in self.habits]
        if len(keys) != 2 or keys != sorted(set(keys)):
            faults.append(tr("`habits` must be two ways with different keys, sorted by key"))
        if not self.designs or set(self.designs) - set(DESIGNS):
            faults.append(tr("`designs` must be some of {designs}").format(designs=", ".join(DESIGNS)))
        if self.lasts and "day_by_day" in self.designs and "reed_by_reed" not in self.designs:
            faults.append(tr("a lasting habit cannot be asked day by day"))
        unknown = [o for o in self.outcomes if o not in OUTCOMES]
        if unknown:
            faults.append(tr("`outcomes` names {unknown}, wanted some of {outcomes}").format(
                              unknown=", ".join(unknown), outcomes=", ".join(OUTCOMES)))
        elif any(not self.outcomes_for(d) for d in self.designs):
            faults.append(tr("every design needs an outcome"))
        for habit, name, _ in self.overrides:
            if habit not in keys or name not in OVERRIDABLE:
                faults.append(tr("override {habit!r}, {name!r} names no habit or no default").format(
                                  habit=habit, name=name))
        crossover = [o for o in self.outcomes if o in OUTCOMES and OUTCOMES[o].crossover]
        if bool(crossover) != bool(self.wears_off) or (crossover and self.sets_hours):
            faults.append(tr("reeds can have first one way, then the other, where it is said when a way is gone, and "
                             "the ways do not set the hours"))
        if set(self.asks) - set(self.outcomes):
            faults.append(tr("`asks` names an outcome that is not in `outcomes`"))
        if faults:
            raise InputError(tr("The question `{key}` contradicts itself: {faults}.").format(
                                 key=self.key, faults="; ".join(faults)))

    @property
    def design(self) -> str:
        """The default design."""
        return self.designs[0]

    @property
    def sets_hours(self) -> bool:
        """True where the habit itself decides how long a reed is played."""
        return not self.same_days or self.from_new

    def outcomes_for(self, design: str) -> tuple[str, ...]:
        """Return the outcomes that can be asked in this design, best first."""
        return tuple(o for o in self.outcomes if design in OUTCOMES[o].designs)

    def ask_for(self, outcome: str) -> str:
        """Return the question as it reads for an outcome; one reworded by the player stays as it is."""
        return self.asks.get(OUTCOMES[outcome].key, self.ask) if self.ask in self.asks.values() else self.ask

    def outcome_for(self, design: str) -> str:
        """Return the default outcome of a design; InputError if the question does not allow the design."""
        if design not in self.designs:
            raise InputError(tr("`design` {design!r} is not allowed for `{key}`; wanted {designs}.").format(
                                 design=design, key=self.key, designs=one_of(self.designs)))
        return self.outcomes_for(design)[0]

    def adjust_for(self, outcome: str) -> tuple[str, ...]:
        """Return the adjustments made unless the player says otherwise, for one outcome.

        The place in the day is evened out: that cost up to 2 points of power where it does not count, and gave
        3 to 14 where it does (`tests/benchmarks/efficiency.py --adjust`). Reed by reed, the first-play rating sharpens
        the comparison as well. Lives take none.
        """
        return tuple(a for a in OUTCOMES[outcome].even_out if a in self.adjustments)

    def with_habits(self, one: Habit, two: Habit) -> Question:
        """Return the question with its two ways reworded.

        `one` and `two` replace the habits in the order shown (sorted by key); overrides follow them.
        """
        renamed = {old.key: new.key for old, new in zip(self.habits, (one, two), strict=True)}
        first, second = sorted((one, two), key=lambda h: h.key)
        return replace(self, habits=(first, second),
                       overrides=tuple((renamed[h], name, value) for h, name, value in self.overrides))
