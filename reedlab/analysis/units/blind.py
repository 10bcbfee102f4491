"""A trial with every trace of the habits taken out: what the outcomes are computed from.

`blind` strips a protocol and the logbook's frames. A `BlindTrial` refuses frames that still say which
habit was used, so a unit's value cannot depend on the habit dealt to it.

Which sittings count: those of the trial's reeds, up to the last day, except ones marked "not sure which
reed". Their minutes always count. Their ratings count for a rating outcome on trial days, in practice
(rehearsals and concerts are the player's own choice of day and reed).
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from ...errors import InputError
from ...rows.tables import Frames
from ...trial.arrays import FloatArray, IntArray
from ...trial.calendar import calendar_of
from ...trial.crossover import Halves
from ...trial.protocol import Protocol, Unit
from ...wording import tr
from .baseline import baseline, first_play_ratings

__all__ = ["TRACES", "BlindTrial", "Cells", "blind", "playing_hours"]


#: Columns that can give a habit away.
TRACES = frozenset({"habit", "habits", "arm", "dealt", "share_b", "position", "remark", "waterlogged"})

_SITTINGS = ["sitting", "date", "reed", "order", "play_min", "overall", "response", "tone", "stiffness", "preference",
             "where"]


@dataclass(frozen=True)
class Cells:
    """Rated (reed, day) pairs, one entry each, in order of reed and day.

    `reed` (n,) is the place in the trial's sorted reeds; `day` (n,) the trial day; `rating` (n,) the mean
    of that day's ratings, `count` (n,) how many; `hours` (n,) playing hours the reed had before the
    sitting; `order` (n,) its place in the day and `humidity` (n,) in %, both nan where not written down.
    """

    reed: IntArray
    day: IntArray
    rating: FloatArray
    count: IntArray
    hours: FloatArray
    order: FloatArray
    humidity: FloatArray

    def __len__(self) -> int:
        return len(self.reed)

    def take(self, keep: npt.NDArray[np.bool_]) -> Cells:
        """Return the cells where `keep` (n,) is true."""
        return Cells(*(getattr(self, name)[keep] for name in self.__dataclass_fields__))


@dataclass(frozen=True)
class BlindTrial:
    """Plan and data without habits.

    `calendar` holds the date of every trial day (more than `planned_days` where the trial runs on until its
    reeds are done). `sittings` has one row per sitting that counts, in playing order.

    Further columns of `sittings`: `row` (its place in the logbook's frame), `place` (the reed's place in
    `reeds`), `day` (trial day, 0 on a paused
    day or before the start), `rating` (higher is better), `hours_before` and `hours_after` (playing hours
    of the reed, from the first day or from new), `rated` (its rating counts for a rating outcome).
    """

    design: str
    unit_kind: str
    units: tuple[Unit, ...]
    reeds: tuple[str, ...]
    slots: tuple[tuple[int, str], ...]
    calendar: tuple[date, ...]
    planned_days: int
    until: date
    sittings: pd.DataFrame
    humidity: dict[int, float]
    before: FloatArray
    retired: dict[str, tuple[date, str]]
    worn_out_rule: str
    worn_out_below: float
    good_below: float
    in_a_row: int
    cap_hours: float | None
    same_days: bool = True
    halves: Halves | None = None

    def __post_init__(self) -> None:
        seen = TRACES & set(self.sittings.columns)
        if seen:
            raise InputError(
                tr("The sittings still say which habit was used (`{seen}`): drop these columns, or make the trial with "
                   "`blind`.").format(seen="`, `".join(sorted(seen))))

    @property
    def blocks(self) -> tuple[str, ...]:
        """The block of each unit."""
        return tuple(u.block for u in self.units)

    @cached_property
    def place(self) -> dict[str, int]:
        """Where each reed stands in `reeds`."""
        return {r: i for i, r in enumerate(self.reeds)}

    @cached_property
    def unit_of_reed(self) -> IntArray:
        """The unit of each reed, reed by reed."""
        of = {u.reeds[0]: i for i, u in enumerate(self.units)}
        return np.array([of[r] for r in self.reeds], dtype=np.int64)

    def units_of(self, place: npt.ArrayLike, day: npt.ArrayLike) -> IntArray:
        """Return the unit that sittings count for, by their reeds' places and trial days, (s,) each; -1 where none."""
        places, days = np.asarray(place, dtype=np.int64), np.asarray(day, dtype=np.int64)
        if self.design == "reed_by_reed":
            return self.unit_of_reed[places]
        of = {(self.place[r], d): i for i, u in enumerate(self.units) for r, d in u.cells}
        return np.array([of.get(c, -1) for c in zip(places.tolist(), days.tolist(), strict=True)], dtype=np.int64)

    @property
    def hours(self) -> FloatArray:
        """Playing hours of each reed at the end, 0 where it was not played."""
        total = np.zeros(len(self.reeds))
        np.maximum.at(total, self.sittings["place"].to_numpy(), self.sittings["hours_after"].to_numpy())
        return total

    def cells(self) -> Cells:
        """Return the rated (reed, day) pairs, two ratings of a reed on one day as their mean."""
        rows = self.sittings[self.sittings["rated"].to_numpy()]
        place, day = rows["place"].to_numpy(), rows["day"].to_numpy()
        key = place * (len(self.calendar) + 1) + day
        _, first, back, count = np.unique(key, return_index=True, return_inverse=True, return_counts=True)
        mean = np.bincount(back, weights=rows["rating"].to_numpy(), minlength=len(first)) / count
        days = day[first]
        return Cells(
            reed=place[first], day=days, rating=mean, count=count.astype(np.int64),
            hours=rows["hours_before"].to_numpy()[first],
            order=rows["order"].to_numpy(dtype=float, na_value=np.nan)[first],
            humidity=np.array([self.humidity.get(int(d), np.nan) for d in days], dtype=float))


def blind(protocol: Protocol, frames: Frames, *, until: date | None = None) -> BlindTrial:
    """Take every trace of the habits out of a trial.

    Parameters
    ----------
    protocol, frames
        The frozen plan and the logbook's current rows.
    until : date, optional
        The last day to read (today, or the day the trial was ended). Rows after it, and after the last trial
        day, do not count. A trial that runs until its reeds are worn out or capped has no last day.
    """
    days = calendar_of(protocol, frames)
    calendar = days.dates(frames.sittings["date"].max().date() if len(frames.sittings) else None)
    end = until if until is not None else calendar[-1]
    if not days.open_end:
        end = min(end, calendar[-1])
    reeds = protocol.reeds
    place = {r: i for i, r in enumerate(reeds)}

    raw = frames.sittings
    when = raw["date"].to_numpy()
    keep = raw["reed"].isin(reeds).to_numpy() & ~raw["unsure_reed"].to_numpy() & (when <= np.datetime64(end))
    if protocol.standing:  # each reed from the day on which its box was dealt
        since = protocol.served_since
        keep &= when >= np.array([since.get(r, protocol.start) for r in raw["reed"]], dtype="datetime64[D]")
    elif not protocol.from_new:
        keep &= when >= np.datetime64(protocol.start)
    rows = raw.loc[keep, _SITTINGS]
    order = rows["order"].to_numpy(dtype=float, na_value=np.inf)
    name = np.array([str(s) for s in rows["sitting"]], dtype=str)
    sequence = np.lexsort((name, order, rows["date"].to_numpy()))
    rows = rows.iloc[sequence].reset_index(drop=True)
    rows["row"] = np.flatnonzero(keep)[sequence]

    rows["place"] = np.array([place[r] for r in rows["reed"]], dtype=np.int64)
    number = {np.datetime64(d): i for i, d in enumerate(calendar, start=1)}
    rows["day"] = np.array([number.get(d, 0) for d in rows["date"].to_numpy().astype("datetime64[D]")],
                           dtype=np.int64)
    rating = rows[protocol.rating].to_numpy(dtype=float)
    rows["rating"] = -np.abs(rating) if protocol.rating == "stiffness" else rating
    hours = playing_hours(rows["place"].to_numpy(), rows["play_min"].to_numpy())
    rows["hours_before"], rows["hours_after"] = hours
    practice = rows["where"].isna() | (rows["where"] == "practice")
    rows["rated"] = rows["rating"].notna() & practice & (rows["day"] > 0)

    air = frames.days
    humid = dict(zip(air["date"].dt.date, air["humidity_pct"], strict=True))
    left = frames.retirements
    gone = zip(left["reed"], left["date"].dt.date, left["reason"], strict=True)
    return BlindTrial(
        design=protocol.design, unit_kind=protocol.unit_kind, units=protocol.units, reeds=reeds,
        slots=tuple((s.day, s.reed) for s in protocol.slots), calendar=calendar,
        planned_days=protocol.days, until=end, sittings=rows,
        humidity={i: float(humid[d]) for i, d in enumerate(calendar, start=1) if d in humid and d <= end},
        before=_before(protocol, frames),
        retired={r: (d, why) for r, d, why in gone if r in place and d <= end},
        worn_out_rule=protocol.worn_out_rule, worn_out_below=protocol.worn_out_below,
        good_below=protocol.good_below, in_a_row=protocol.in_a_row, cap_hours=protocol.cap_hours,
        same_days=protocol.same_days, halves=protocol.halves)


def _before(protocol: Protocol, frames: Frames) -> FloatArray:
    """Return what each reed was worth before the trial, (reeds,): its baseline, or its one first play."""
    if "break_in" in protocol.adjust:
        return baseline(frames, protocol.reeds, protocol.start, protocol.rating)
    return first_play_ratings(frames, protocol.reeds)


def playing_hours(place: IntArray, minutes: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return each sitting's playing hours of its reed before and after it.

    Parameters
    ----------
    place : (s,) int
        Which reed; sittings in playing order.
    minutes : (..., s) float
        0 where a sitting does not count.
    """
    after = np.zeros(minutes.shape)
    for reed in np.unique(place):
        mine = place == reed
        after[..., mine] = np.cumsum(minutes[..., mine], axis=-1) / 60.0
    return after - minutes / 60.0, after
