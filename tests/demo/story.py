"""What happened in the demo: one invented clarinet player, ten boxes, four trials. Pure: no file, no clock.

Everything follows from `SEED`, fixed before any result was seen; whatever answer came is told.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any, Final

import numpy as np

from reedlab.plan import draw_up
from reedlab.rows.records import Box, Day, Record, Reed, Retirement, Setup, Sitting
from reedlab.rows.tables import typed
from reedlab.trial.calendar import calendar_with
from reedlab.trial.protocol import Protocol
from reedlab.worlds import Batch, World, simulate
from reedlab.worlds.diary import day_rows, retirement_rows, sitting_rows
from reedlab.worlds.reeds import Reeds, draw_reeds

from .standing_story import RATIO, standing_story

__all__ = ["SEED", "START", "Event", "Story", "Told", "tell"]

SEED: Final = 20260301
START: Final = date(2024, 9, 2)  # first day of the long trial
_SETUP: Final = "usual"
_WOULD_NOT_PLAY: Final = 2.0  # points at first play: set aside
_HOLIDAY: Final = tuple(date(2024, 12, 21) + timedelta(days=k) for k in range(14))

#: The player: our assumptions for any player, and a little more playing.
_WORLD: Final = World(minutes_a_day=80.0)
#: The truths, set before the seed was tried. For each trial: what the second habit (sorted by key) does.
_LIFE_TRUTH: Final = {"effect_life": 1 / 1.6}  # open 1.6 times as long as straight
_WETTING_TRUTH: Final = {"effect_points": 1.0}  # water a point better than mouth
_POSITION_TRUTH: Final = {"effect_points": 0.0}  # no difference

_REMARKS: Final = (
    "bright room, easy start", "cold hands", "long tones first", "a bit tired", "new study, many high notes",
    "low notes slow to speak", "sounded warm today", "rehearsal in the evening", "short of time",
)


@dataclass(frozen=True)
class Event:
    """Something written down on a day: records to add, a plan to start, a trial ended and why, or a slip of the pen.

    `slip` is what was entered first by mistake and put right; "twice" entered twice and taken back.
    """

    on: date
    records: tuple[Record, ...] = ()
    start: Protocol | None = None
    end: tuple[str, str] | None = None
    slip: Record | None = None
    slip_kind: str = ""


@dataclass(frozen=True)
class Told:
    """One trial of the story, with the truth that made it: the effect of the second habit over the first."""

    protocol: Protocol
    truth: float
    truth_in_words: str
    finished: bool


@dataclass(frozen=True)
class Story:
    """The whole story up to `today`: events in order of the day they were written down."""

    today: date
    events: tuple[Event, ...]
    trials: tuple[Told, ...]
    world: World = field(default=_WORLD)


def tell() -> Story:
    """Tell the story from its seed."""
    names = [f"{b}-{k:02d}" for b in (1, 2, 3) for k in range(1, 11)]
    reeds = draw_reeds(_WORLD, 1, [n[0] for n in names], np.random.default_rng(SEED))
    shelf = _Shelf(names, _with_accidents(names, reeds))
    standing, written, over = standing_story(_WORLD, SEED + 8)
    events = [Event(standing.start, start=standing), *(Event(on, records) for on, records in written),
              Event(over, end=(standing.trial, "The last reed of the seventh box is done."))]

    # the long trial: boxes 1 and 2
    new = START - timedelta(days=32)
    old_boxes = [n for n in names if n[0] in "12"]
    events.append(Event(new, (Setup(setup=_SETUP, instrument="clarinet", mouthpiece="my own", ligature="screws"),
                              *(_box(b, new) for b in "12"))))
    events += _first_plays(shelf, old_boxes, new)
    used = shelf.worth_playing(old_boxes)
    events += _breaking_in(used, new + timedelta(days=4))
    long = draw_up("drying", shelf.rows(used), start=START, seed=SEED + 1, trial="Drying and life",
                   instrument="clarinet", setup=_SETUP, design="reed_by_reed", outcome="life_hours",
                   days=140, minutes_a_day=80, expected="open").protocol
    events += _play(long, shelf, _WORLD.but(**_LIFE_TRUTH), SEED + 2, paused=_HOLIDAY)

    # two short ones: box 3
    new = calendar_with(long, _HOLIDAY).last + timedelta(days=1)
    box3 = [n for n in names if n[0] == "3"]
    events.append(Event(new, (_box("3", new),)))
    events += _first_plays(shelf, box3, new)
    best = sorted(shelf.worth_playing(box3), key=lambda r: -shelf.first_play(r))
    first_four, next_four = sorted(best[:4]), sorted(best[4:8])
    events += _breaking_in([*first_four, *next_four], new + timedelta(days=2))
    begin = _monday(new + timedelta(days=12))
    wetting = draw_up("wetting", shelf.rows(first_four), start=begin, seed=SEED + 3, trial="Water or mouth",
                      instrument="clarinet", setup=_SETUP, design="day_by_day", reeds_a_day=4,
                      minutes_a_day=80, expected="same").protocol
    events += _play(wetting, shelf, _WORLD.but(**_WETTING_TRUTH), SEED + 4)
    begin = _monday(begin + timedelta(days=wetting.days + 2))
    today = begin + timedelta(days=4)
    position = draw_up("position", shelf.rows(next_four), start=begin, seed=SEED + 5, trial="High or low",
                       instrument="clarinet", setup=_SETUP, design="day_by_day", reeds_a_day=2,
                       minutes_a_day=80).protocol
    events += _play(position, shelf, _WORLD.but(**_POSITION_TRUTH), SEED + 6, until=today - timedelta(days=1))
    told = (
        Told(long, 1 / 1.6, "Dried in the open a reed lasts 1.6 times as many playing hours.", True),
        Told(wetting, 1.0, "Wetting in water is 1 point better that day.", True),
        Told(position, 0.0, "There is no difference.", False),
        Told(standing, RATIO, "Rinsed, a reed lasts 1.6 times as many playing hours.", True),
    )
    return Story(today, tuple(_with_slips(sorted(events, key=lambda e: e.on), today)), told)


def _with_accidents(names: Sequence[str], reeds: Reeds) -> Reeds:
    """Chip two reeds of boxes 1 and 2, so that the demo surely shows what a chipped reed looks like.

    Which two, and when (after 15 to 50 % of their life), is drawn before anything is dealt.
    """
    rng = np.random.default_rng(SEED + 7)
    played = [k for k, n in enumerate(names) if n[0] in "12" and reeds.first_play[k, 0] > _WOULD_NOT_PLAY]
    which = rng.choice(played, size=2, replace=False)
    damage = reeds.damage_h.copy()
    damage[which, 0] = rng.uniform(0.15, 0.5, size=2) * reeds.life_h[which, 0]
    return replace(reeds, damage_h=damage)


class _Shelf:
    """The reeds by name."""

    def __init__(self, names: Sequence[str], reeds: Reeds) -> None:
        self.names, self.reeds = list(names), reeds

    def first_play(self, reed: str) -> float:
        return float(self.reeds.first_play[self.names.index(reed), 0])

    def first_stiffness(self, reed: str) -> float:
        return float(self.reeds.first_stiffness[self.names.index(reed), 0])

    def worth_playing(self, reeds: Sequence[str]) -> list[str]:
        """Leave out what the player would not play on."""
        return [r for r in reeds if self.first_play(r) > _WOULD_NOT_PLAY]

    def rows(self, reeds: Sequence[str]) -> Any:
        return typed("reeds", [{"reed": r, "box": r[0], "first_play": self.first_play(r),
                                "first_stiffness": self.first_stiffness(r)} for r in reeds])

    def take(self, reeds: Sequence[str]) -> Reeds:
        return self.reeds.take([self.names.index(r) for r in reeds])


def _monday(day: date) -> date:
    return day + timedelta(days=-day.weekday() % 7)


def _box(box: str, opened: date) -> Box:
    return Box(box=box, instrument="clarinet", cut="standard", strength="3", opened=opened, price=25.0)


def _first_plays(shelf: _Shelf, reeds: Sequence[str], begin: date) -> Iterator[Event]:
    """Five new reeds a day."""
    for k in range(0, len(reeds), 5):
        day = begin + timedelta(days=k // 5)
        yield Event(day, tuple(
            Reed(reed=r, box=r[0], first_play=shelf.first_play(r), first_stiffness=shelf.first_stiffness(r),
                 first_played=day, set_aside=shelf.first_play(r) <= _WOULD_NOT_PLAY) for r in reeds[k:k + 5]))


def _breaking_in(reeds: Sequence[str], begin: date) -> Iterator[Event]:
    """One more reed joins each day: 10, 25, 45 minutes on its first three days."""
    for t in range(len(reeds) + 2):
        day = begin + timedelta(days=t)
        stage = [(reeds[t - k], m) for k, m in enumerate((10.0, 25.0, 45.0)) if 0 <= t - k < len(reeds)]
        yield Event(day, tuple(
            Sitting(date=day, reed=r, setup=_SETUP, order=i + 1, play_min=m, where="practice",
                    remark="breaking in") for i, (r, m) in enumerate(stage)))


def _play(protocol: Protocol, shelf: _Shelf, world: World, seed: int, *, paused: Sequence[date] = (),
          until: date | None = None) -> Iterator[Event]:
    """Play a plan and write it down day by day, up to and including `until`."""
    batch = simulate(protocol, world, 1, seed, reeds=shelf.take(protocol.reeds))
    dates = calendar_with(protocol, paused).dates()
    last = until or dates[-1]
    yield Event(protocol.start, start=protocol)
    rng = np.random.default_rng(seed + 1000)
    for record, on in _diary(batch, dates, paused, rng):
        if record.date <= last:
            yield Event(min(on, last), (record,))


def _diary(batch: Batch, dates: Sequence[date], paused: Sequence[date],
           rng: np.random.Generator) -> Iterator[tuple[Day | Sitting | Retirement, date]]:
    for row in day_rows(batch, 0, dates, paused):
        remark = "holiday" if row["pause"] else None
        yield Day(**row, remark=remark), row["date"]
    for row in sitting_rows(batch, 0, dates):
        values: dict[str, Any] = {k: None if isinstance(v, float) and np.isnan(v) else v for k, v in row.items()}
        del values["sitting"]  # the logbook names it
        if rng.random() < 0.06:
            values["remark"] = str(rng.choice(_REMARKS))
        late = timedelta(days=1) if row["from_memory"] else timedelta(0)
        yield Sitting(**values), row["date"] + late
    for row in retirement_rows(batch, 0, dates):
        yield Retirement(**row), row["date"]


def _with_slips(events: Sequence[Event], today: date) -> Iterator[Event]:
    """Add three slips of the pen, on the first rated sittings from fixed days on."""
    wanted = {START + timedelta(days=9): "minutes", START + timedelta(days=100): "twice",
              today - timedelta(days=2): "rating"}
    for event in events:
        slip = next((d for d in wanted if event.on >= d), None)
        record = event.records[0] if len(event.records) == 1 else None
        if slip is None or not isinstance(record, Sitting) or record.overall is None:
            yield event
            continue
        kind = wanted.pop(slip)
        slip_of_the_pen = record
        if kind == "minutes":
            slip_of_the_pen = replace(record, play_min=record.play_min * 10)
        elif kind == "rating":
            off = -3 if record.overall >= 5 else 3
            slip_of_the_pen = replace(record, overall=record.overall + off)
        yield Event(event.on, event.records, slip=slip_of_the_pen, slip_kind=kind)
