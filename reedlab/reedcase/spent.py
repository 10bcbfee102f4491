"""Reeds that have left service, what they died of, and what an hour of good playing has cost."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from statistics import median

import pandas as pd

from ..analysis.player.own_ratings import reed_hours
from ..analysis.units.life_values import rule_index
from ..rows.tables import RETIRE_REASONS, Frames
from ..trial.practice import RAMP, value

__all__ = ["BoxCost", "Retired", "box_costs", "deaths", "retired"]


@dataclass(frozen=True)
class Retired:
    """A reed that left service: playing hours, the day and the reason."""

    reed: str
    hours: float
    on: date
    reason: str


@dataclass(frozen=True)
class BoxCost:
    """One box: its price (None where not written down), the good playing hours its reeds have given, and whether
    none of them plays any more.
    """

    box: str
    price: float | None
    good_h: float
    done: bool

    @property
    def per_hour(self) -> float | None:
        """Price of an hour so far; None before there is one."""
        return self.price / self.good_h if self.price is not None and self.good_h > 0 else None


def retired(frames: Frames, on: date) -> list[Retired]:
    """Return the reeds that had left service by a date, the latest first."""
    hours = {str(reed): float(h) for reed, h in reed_hours(frames, RAMP).groupby("reed")["after_h"].max().items()}
    rows = frames.retirements[frames.retirements["date"].dt.date <= on]
    out = [Retired(str(r["reed"]), hours.get(str(r["reed"]), 0.0), r["date"].date(), str(r["reason"]))
           for r in rows.to_dict("records")]
    return sorted(out, key=lambda r: (r.on, r.reed), reverse=True)


def deaths(gone: Collection[Retired]) -> list[tuple[str, int, float]]:
    """Return what reeds die of here, the most common first: how many reeds, and the middle of their playing hours."""
    hours = {reason: [r.hours for r in gone if r.reason == reason] for reason in RETIRE_REASONS}
    return sorted(((reason, len(h), median(h)) for reason, h in hours.items() if h), key=lambda d: -d[1])


def box_costs(frames: Frames, on: date, *, sealed: Collection[str] = ()) -> list[BoxCost]:
    """Return what each box has cost and given, in the order in which they were opened.

    A reed gives good hours until it falls below the rehearsal mark twice running (our assumption). A box with a
    reed in `sealed` is left out, for its good hours would tell how that reed is rated.
    """
    s = reed_hours(frames, RAMP)
    s = s[s["date"].dt.date <= on]
    gone = set(frames.retirements.loc[frames.retirements["date"].dt.date <= on, "reed"])
    good = {str(reed): _good(rows) for reed, rows in s.groupby("reed")}
    out = []
    for box in frames.boxes.to_dict("records"):
        reeds = frames.reeds.loc[frames.reeds["box"] == box["box"]]
        if set(reeds["reed"]) & set(sealed):
            continue
        still = reeds.loc[~reeds["reed"].isin(gone) & ~reeds["set_aside"]]
        price = None if pd.isna(box["price"]) else float(box["price"])
        out.append(BoxCost(str(box["box"]), price, sum(good.get(r, 0.0) for r in reeds["reed"]), still.empty))
    return out


def _good(rows: pd.DataFrame) -> float:
    end = rows["after_h"]
    at = int(rule_index(rows["overall"].to_numpy(dtype=float), value("good_below"), int(value("in_a_row"))))
    return float(end.max() if at < 0 else end.iloc[at])
