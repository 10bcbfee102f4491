"""What an analysis hands on: plain data, no words, no figures. `summary/` turns it into pages."""

from __future__ import annotations

from dataclasses import dataclass, field

import pandas as pd

from .protocol import Protocol

__all__ = ["Finding", "Progress", "Remark", "Settle", "TrialResult"]


@dataclass(frozen=True)
class Finding:
    """One outcome, read one way. Differences are B minus A, ratios B over A, in the outcome's own unit.

    `verdict` is None for readings that stand beside the main one. `exceeds` says whether a winner's
    gap "surely" or only "perhaps" is at least what matters; None without a winner.
    `low90`, `high90` are the ends of the range that "no difference that matters" is judged by.
    """

    outcome: str
    reading: str  # "as_planned", "as_done", "damage_counts", "also_seen"
    scale: str  # "difference" or "ratio"
    estimate: float
    low: float
    high: float
    low90: float
    high90: float
    level: float
    p_value: float
    least_p: float
    exact: bool
    arrangements: int
    units: tuple[int, int]
    blocks: int
    blocks_dropped: tuple[str, ...] = ()
    events: tuple[int, int] | None = None
    means: tuple[float, float] | None = None  # plain mean (or median hours; nan: more than half still going)
    verdict: str | None = None
    exceeds: str | None = None


@dataclass(frozen=True)
class Remark:
    """A warning about this trial: a fixed code and the numbers its sentence needs (`summary` writes it)."""

    code: str
    facts: tuple[tuple[str, float | str], ...] = ()

    def fact(self, name: str) -> float | str:
        """Return one of the facts by name; KeyError if it is not there."""
        return dict(self.facts)[name]


@dataclass(frozen=True)
class Settle:
    """What would settle a "can't tell yet": how much more, for what chance, at what assumed gap."""

    kind: str  # "reeds", "days", "worn_out", "never"
    have: int
    need: int | None  # in all, not on top; None: more than can sensibly be asked
    chance: float  # e.g. 0.8
    gap: float  # the smallest difference that matters, used as the true gap
    weeks: float | None = None
    could_ever: bool = True  # False: this trial could never have told


@dataclass(frozen=True)
class Progress:
    """How far and how complete a trial is. Nothing here depends on the habits."""

    day: int
    days: int
    last_day: str  # ISO date of the last planned day
    sittings_planned: int
    sittings_rated: int
    sittings_logged: int
    play_hours: float
    reeds: int
    reeds_retired: int
    as_planned_share: float | None  # share of sittings with a logged habit that used the dealt one


@dataclass(frozen=True)
class TrialResult:
    """The answer. `main` is None while the trial is sealed.

    `units` has one row per unit: unit, block, arm ("A"/"B"), habit (key), value (difference outcomes:
    raw mean or slope), hours, ended ("worn_out", "damaged", ..., "still_going"), worn_out (bool),
    used (bool), reed (None for diagonals), share_b (share of sittings on B, nan if unknown).
    `points` has one row per used sitting: date, day, reed, unit, block, arm, rating, hours.
    Both are None while sealed.
    """

    protocol: Protocol
    protocol_sha256: str
    state: str  # "running", "finished", "opened_early", "ended_early", "diary"
    progress: Progress
    main: Finding | None = None
    as_done: Finding | None = None
    damage_counts: Finding | None = None
    also_seen: tuple[Finding, ...] = ()
    remarks: tuple[Remark, ...] = ()
    settle: Settle | None = None
    looks: int = 0
    units: pd.DataFrame | None = None
    points: pd.DataFrame | None = None
    second_opinion: tuple[tuple[str, str, float], ...] = field(default=())  # (method, quantity, value)
