"""The frozen plan of one trial.

A `Protocol` holds everything the analysis needs to reshuffle exactly as the plan did. Trial days are
numbered from 1; a paused day does not count, so a holiday shifts the rest instead of breaking it.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property, lru_cache
from typing import Any, Final

import numpy as np

from ..errors import ProtocolError
from ..rows.structure import read_json, unlike
from ..wording import tr
from .arrays import BoolArray
from .crossover import Halves
from .dealing import Layout, layout_dealt
from .outcomes import OUTCOMES, Outcome
from .plan_shape import PLAN

__all__ = ["DESIGNS", "STANDING", "Habit", "Protocol", "Slot", "Unit"]

DESIGNS: Final = ("reed_by_reed", "day_by_day")
#: How each is called in a sentence.
DESIGN_NAMES: Final = {
    "reed_by_reed": tr("reed by reed"), "day_by_day": tr("day by day"), "standing": tr("standing")}
#: How a standing trial deals a box: as one matched set, or in fours by first play.
STANDING: Final = ("box", "fours")


@dataclass(frozen=True)
class Habit:
    """One of the two ways. `key` is what a sitting's `habit` holds; `name` fits after "with"."""

    key: str
    name: str
    steps: str = ""


@dataclass(frozen=True)
class Slot:
    """One planned rating: `reed` on trial day `day`, as number `order` of that day."""

    day: int
    order: int
    reed: str


@dataclass(frozen=True)
class Unit:
    """What was shuffled. Reed by reed: one reed, no cells. Day by day: its (reed, trial day) cells.

    Two reeds side by side: a pair of both reeds, whose one cell says under which of them it is written down. The name
    says nothing of the habit; the habit dealt to it stands apart, in `Protocol.dealt`.
    """

    unit: str
    block: str
    reeds: tuple[str, ...]
    cells: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, kw_only=True)
class Protocol:
    """The frozen plan. `dealt[i]` is the key of the habit dealt to `units[i]`.

    Allowed arrangements: every way to deal the same number of each habit within each block, all
    equally likely (`reedlab.trial.dealing`). Habits are kept in sorted order of their keys: the first is
    "A" for `compare`, the second "B"; neither letter is shown to a player.

    A standing trial has no last day and names no reeds when it starts: each box is dealt as it is opened, and
    `standing` says how. What is frozen, and has the fingerprint, is the plan without boxes; `units`, `dealt` and
    `since` hold the boxes opened so far (`trial.opened_boxes.with_boxes`).
    """

    trial: str
    question: str
    ask: str
    instrument: str
    habits: tuple[Habit, Habit]
    design: str
    outcome: str
    matters: float
    start: date
    days: int
    units: tuple[Unit, ...]
    dealt: tuple[str, ...]
    slots: tuple[Slot, ...] = ()
    rating: str = "overall"
    level: float = 0.95
    seed: int | None = None
    how_dealt: str = "seed"  # "seed", "by hand" (shuffled outside reedlab) or "not" (old diary)
    adjust: tuple[str, ...] = ()  # of: day, age_hours, humidity, first_play, break_in, order
    setup: str | None = None
    same_days: bool = True
    from_new: bool = False  # True where break-in or first-days care is the question
    worn_out_rule: str = "ratings"  # "ratings": below the mark, in a row; "player": the player's word
    worn_out_below: float = 4.0
    good_below: float = 6.0
    in_a_row: int = 2
    cap_hours: float | None = None
    expected: str | None = None  # habit key, "same", or None: not said
    expected_gap: float | None = None
    masked: str = "none"  # "none" or "helper"
    overrides: tuple[tuple[str, str, float], ...] = ()  # (habit key, default it replaces, value)
    scale: tuple[tuple[int, str], ...] = field(
        default=((2, "would not play"), (4, "practice only"), (6, "rehearsal"), (8, "concert"),
                 (10, "best I have had")))
    version: int = 1
    standing: str = ""  # "": all is dealt at the start; "box" or "fours": each box as it is opened, in these sets
    since: tuple[date, ...] = ()  # standing: the day on which each unit was dealt
    effect_days: int = 0  # crossover: for how many days a way goes on after it ends, as the player says
    read_early: bool = False  # it may be read on any day at no price: its 5 in 100 are shared with the planned end
    past_lives: tuple[tuple[float, bool], ...] = ()  # of lives: earlier reeds' hours, and whether they wore out

    def __post_init__(self) -> None:
        faults = list(_faults(self))
        if faults:
            raise ProtocolError(tr("The plan contradicts itself: {faults}.").format(faults="; ".join(faults)))

    @property
    def card(self) -> Outcome:
        """What is known of the plan's outcome."""
        return OUTCOMES[self.outcome]

    @property
    def life_mark(self) -> float:
        """The mark below which a life ends; only lives have one."""
        return float(getattr(self, self.card.mark))

    @property
    def ends_by_ratings(self) -> bool:
        """Whether ratings end a life; else the player's word does."""
        return self.worn_out_rule == "ratings" or not self.card.by_word

    @property
    def unit_kind(self) -> str:
        """Return "reed", "sitting", "diagonal" or "pair"."""
        if self.design == "reed_by_reed":
            return "reed"
        if self.pairs:
            return "pair"
        return "diagonal" if any(len(u.cells) > 1 for u in self.units) else "sitting"

    @property
    def of_boxes(self) -> bool:
        """Say whether the reeds of two boxes are compared: what was shuffled is the order of a day, no reed's way."""
        return self.question == "cut_or_strength" and self.unit_kind == "sitting"

    @property
    def reeds(self) -> tuple[str, ...]:
        """Every reed of the trial, sorted."""
        return tuple(sorted({r for u in self.units for r in u.reeds}))

    @property
    def pairs(self) -> bool:
        """Say whether both ways are tried back to back: what was dealt is the way that goes first on a reed and day."""
        return self.card.pairs

    @property
    def two_reeds(self) -> bool:
        """Say whether the two ways are two reeds, tried side by side: each pair is of both, a set is a day's pairs."""
        return self.pairs and any(len(u.reeds) == 2 for u in self.units)

    @property
    def crossover(self) -> bool:
        """Say whether every reed has first one way, then the other: what was dealt is the way that it has first."""
        return self.card.crossover

    @property
    def halves(self) -> Halves | None:
        """The two halves of a crossover; None of any other trial."""
        return Halves(self.days, self.effect_days) if self.crossover else None

    @property
    def design_name(self) -> str:
        """Return "reed_by_reed", "day_by_day", "back_to_back", "side_by_side", "crossover" or "standing"."""
        if self.standing or self.crossover:
            return "standing" if self.standing else "crossover"
        return "side_by_side" if self.two_reeds else "back_to_back" if self.pairs else self.design

    @property
    def served_since(self) -> dict[str, date]:
        """The first day of each reed in the trial."""
        days = self.since or (self.start,) * len(self.units)
        return {r: d for u, d in zip(self.units, days, strict=True) for r in u.reeds}

    @property
    def arms(self) -> tuple[str, ...]:
        """Return "A" or "B" for each unit, in the order of `units`."""
        return tuple("A" if k == self.habits[0].key else "B" for k in self.dealt)

    @property
    def dealt_b(self) -> BoolArray:
        """Which units were dealt the second habit, (units,)."""
        return np.array([k == self.habits[1].key for k in self.dealt], dtype=bool)

    @property
    def blocks(self) -> tuple[str, ...]:
        """The matched set of each unit."""
        return tuple(u.block for u in self.units)

    @property
    def layout(self) -> Layout:
        """The sets, and how many of each were dealt the second habit: which arrangements are allowed."""
        return layout_dealt(self.blocks, self.dealt_b)

    def habit(self, key: str) -> Habit:
        """Return the habit with this key; KeyError if it is not one of the two."""
        for h in self.habits:
            if h.key == key:
                return h
        raise KeyError(key)

    def other_than(self, habit: Habit) -> Habit:
        """Return the other one of the two."""
        return self.habits[habit == self.habits[0]]

    def habit_for(self, reed: str, day: int) -> Habit | None:
        """Return the habit planned for a reed on a trial day (back to back: the first), or None where none is."""
        for u, key in zip(self.units, self.dealt, strict=True):
            if (reed, day) in u.cells or (not u.cells and reed in u.reeds):
                habit = self.habit(key)
                turned = self.halves is not None and bool(self.halves.second(day))
                return self.other_than(habit) if turned else habit
        return None

    def to_json(self) -> str:
        """Return the canonical JSON text (sorted keys, no spaces); equal plans give equal text.

        Of a standing trial it is the same whatever boxes have been opened.
        """
        return self._json

    @cached_property
    def _json(self) -> str:
        plain = _fields(self)
        del plain["since"]
        if self.standing:
            plain |= {"units": [], "dealt": []}
        else:
            del plain["standing"]
        # plans frozen before there was such a thing keep their fingerprint
        for name in ("read_early", "effect_days", "past_lives"):
            if not plain[name]:
                del plain[name]
        return json.dumps(plain, sort_keys=True, separators=(",", ":"),
                          ensure_ascii=False, default=lambda x: x.isoformat() if isinstance(x, date) else _fields(x))

    @property
    def sha256(self) -> str:
        """The fingerprint: SHA-256 of the canonical JSON in UTF-8, as 64 hex digits."""
        return hashlib.sha256(self.to_json().encode("utf-8")).hexdigest()

    @classmethod
    def from_json(cls, text: str) -> Protocol:
        """Read a plan back. Raises ProtocolError, naming each field at fault, if it is not a plan of this version."""
        return _read(text)

    @classmethod
    def from_plain(cls, plain: Any) -> Protocol:
        """Read a plan from plain data, as `from_json` does from text."""
        bad = unlike(PLAN, plain)
        if bad:
            raise ProtocolError(tr("This is not a trial plan that reedlab can read: {map}.").format(
                                    map="; ".join(map(str, bad))))
        raw: dict[str, Any] = dict(plain)
        try:
            raw["start"] = date.fromisoformat(raw["start"])
            raw["habits"] = tuple(Habit(**h) for h in raw["habits"])
            raw["slots"] = tuple(Slot(**s) for s in raw["slots"])
            raw["units"] = tuple(
                Unit(u["unit"], u["block"], tuple(u["reeds"]), tuple((r, d) for r, d in u["cells"]))
                for u in raw["units"])
            raw["dealt"] = tuple(raw["dealt"])
            raw["adjust"] = tuple(raw["adjust"])
            raw["overrides"] = tuple(tuple(o) for o in raw["overrides"])
            raw["scale"] = tuple(tuple(s) for s in raw["scale"])
            raw["past_lives"] = tuple((float(h), e) for h, e in raw.get("past_lives", ()))
        except ValueError as err:  # a day that is not in the calendar
            raise ProtocolError(tr("This is not a trial plan that reedlab can read: `start`: {err}.").format(
                                    err=err)) from err
        return cls(**raw)


def _fields(x: Any) -> dict[str, Any]:
    return {f.name: getattr(x, f.name) for f in dataclasses.fields(x)}


@lru_cache(maxsize=64)
def _read(text: str) -> Protocol:
    try:
        return Protocol.from_plain(read_json(text))
    except ValueError as err:
        raise ProtocolError(tr("This is not a trial plan that reedlab can read ({err}).").format(err=err)) from err


def _faults(p: Protocol) -> Iterable[str]:
    if p.design not in DESIGNS:
        yield tr("`design` is {design!r}, wanted one of {designs}").format(design=p.design, designs=", ".join(DESIGNS))
    if p.outcome not in OUTCOMES:
        yield tr("`outcome` is {outcome!r}, wanted one of {outcomes}").format(
                  outcome=p.outcome, outcomes=", ".join(OUTCOMES))
    elif p.design not in p.card.designs:
        yield tr("`outcome` {outcome!r} cannot be asked {design}").format(
                  outcome=p.outcome, design=DESIGN_NAMES.get(p.design, p.design))
    else:
        if not p.matters > p.card.none:
            yield tr("`matters` is {matters!r}, wanted more than {none:g}").format(matters=p.matters, none=p.card.none)
        if p.pairs != (p.rating == "preference"):
            yield tr("`rating` is {rating!r}; back to back, and only there, it is preference").format(rating=p.rating)
        if p.pairs and any(len(u.cells) != 1 for u in p.units):
            yield tr("back to back, every unit is one reed on one day")
        if p.two_reeds and any(u.reeds != tuple(h.key for h in p.habits) or not {r for r, _ in u.cells} <= {*u.reeds}
                               for u in p.units):
            yield tr("side by side, every unit is one pair of the two reeds that are compared")
        yield from _crossover_faults(p)
    keys = [h.key for h in p.habits]
    if len(keys) != 2 or keys != sorted(set(keys)):
        yield tr("`habits` must be two different ways, sorted by key")
    if len(p.dealt) != len(p.units) or set(p.dealt) - set(keys):
        yield tr("`dealt` must give one of the two habits to each unit")
    if len({u.unit for u in p.units}) != len(p.units):
        yield tr("a unit stands twice")
    if p.design == "day_by_day" and any(not u.cells for u in p.units):
        yield tr("day by day, every unit needs its reed and day")
    if p.standing:
        yield from _standing_faults(p)
    if p.design == "reed_by_reed" and any(len(u.reeds) != 1 or u.unit != u.reeds[0] for u in p.units):
        yield tr("reed by reed, every unit is one reed")
    if p.read_early and not coin_by_coin(p.design, p.outcome, p.units, p.dealt):
        yield tr("only a trial that is rated day by day, two units to a set, one of each way, may be read early")
    if p.past_lives and (p.design != "reed_by_reed" or p.standing or p.outcome not in OUTCOMES or not p.card.lives):
        yield tr("only a trial of lives with a planned end is read beside earlier reeds")
    if p.past_lives and (any(h <= 0 for h, _ in p.past_lives) or not any(e for _, e in p.past_lives)):
        yield tr("earlier reeds need hours above 0, and one of them that wore out")
    cells = [c for u in p.units for c in u.cells]
    if len(set(cells)) != len(cells):
        yield tr("a reed is dealt two habits on one day")
    if not (0.5 < p.level < 1):
        yield tr("`level` is {level!r}, wanted between 0.5 and 1").format(level=p.level)
    if p.days < 1:
        yield tr("`days` must be at least 1")
    if any(d > p.days or d < 1 for _, d in cells) or any(s.day > p.days or s.day < 1 for s in p.slots):
        yield tr("a reed is planned outside the trial's days")


def _crossover_faults(p: Protocol) -> Iterable[str]:
    if p.halves is None:
        if p.effect_days:
            yield tr("a way is said to go on for {n} days after it ends, and reeds do not change ways").format(
                n=p.effect_days)
        return
    if p.effect_days < 1:
        yield tr("a way is said to go on for {n} days after it ends, wanted at least 1").format(n=p.effect_days)
    if p.halves.counted < 1:
        yield tr("{days} days leave none that counts in each half").format(days=p.days)
    if not p.same_days or p.from_new or p.cap_hours is not None:
        yield tr("first one way, then the other, reeds are broken in and all play the same days")


def _standing_faults(p: Protocol) -> Iterable[str]:
    if p.standing not in STANDING:
        yield tr("`standing` is {standing!r}, wanted one of {standing2}").format(
                  standing=p.standing, standing2=", ".join(STANDING))
    if p.design != "reed_by_reed" or (p.outcome in OUTCOMES and not p.card.lives):
        yield tr("a standing trial is about lives, reed by reed")
    if p.slots or p.cap_hours is not None:
        yield tr("a standing trial plans no ratings and has no cap of hours")
    if p.how_dealt != "seed" or p.seed is None:
        yield tr("a standing trial deals each box from its seed")
    if len(p.since) != len(p.units):
        yield tr("`since` must give a day to each unit")


def coin_by_coin(design: str, outcome: str, units: Sequence[Unit], dealt: Sequence[str]) -> bool:
    """Say whether each set of a trial is two units rated day by day, and one coin dealt them the two ways."""
    sets: dict[str, list[str]] = {}
    for u, key in zip(units, dealt, strict=False):
        sets.setdefault(u.block, []).append(key)
    return (design == "day_by_day" and outcome in OUTCOMES
            and not (OUTCOMES[outcome].lives or OUTCOMES[outcome].pairs)
            and all(len(s) == 2 and s[0] != s[1] for s in sets.values()))
