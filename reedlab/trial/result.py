"""What an analysis hands on: plain data, no words, no figures. `summary/` turns it into pages."""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from datetime import date
from typing import Literal

import pandas as pd

from .protocol import Protocol

__all__ = ["Contribution", "Diary", "DiaryWay", "Finding", "Fragile", "Guessed", "Guesses", "Progress", "Remark",
           "Settle", "Spread", "StandingOdds", "Together", "TrialResult", "Uneven", "Verdict", "WhatIf"]

#: What an answer can be. A is the first habit in sorted order, B the second.
Verdict = Literal["a_better", "b_better", "no_real_difference", "cannot_tell", "hint_only"]


@dataclass(frozen=True)
class Finding:
    """One outcome, read one way. Differences are B minus A, ratios B over A, in the outcome's own unit.

    `verdict` is None for readings that stand beside the main one. `exceeds` says whether a winner's
    gap "surely" or only "perhaps" is at least what matters; None without a winner. `rating` is the column of
    ratings that was read ("" for lives, and where it goes without saying: the plan's own).
    `low90`, `high90` are the ends of the range that "no difference that matters" is judged by, at `same_level`: 0.9,
    and more in a repeat.
    """

    outcome: str
    #: "as_planned", "as_done", "damage_counts", "also_seen", "complete", "no_memory", "together", "expected" (lives
    #: if every reed went on fading as so far; those not among `events` are reckoned)
    reading: str
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
    verdict: Verdict | None = None
    exceeds: str | None = None
    rating: str = ""
    same_level: float = 0.9


def _flat(finding: Finding) -> dict[str, object]:
    row: dict[str, object] = {}
    for f in fields(finding):
        value = getattr(finding, f.name)
        if f.name in ("units", "events", "means"):
            row[f"{f.name}_a"], row[f"{f.name}_b"] = (None, None) if value is None else value
        else:
            row[f.name] = ", ".join(value) if f.name == "blocks_dropped" else value
    return row


@dataclass(frozen=True)
class Remark:
    """A warning about this trial: a fixed code and the numbers its sentence needs (`summary` writes it)."""

    code: str
    facts: tuple[tuple[str, float | str], ...] = ()

    def fact(self, name: str) -> float | str:
        """Return one of the facts by name; KeyError if it is not there."""
        return dict(self.facts)[name]


@dataclass(frozen=True, kw_only=True)
class Settle:
    """What a next trial would show by itself if the ways truly differ by what matters: from the forecast.

    `same` is the chance of a right answer if the same plan is played again. `need` is the size of the smallest plan
    tried that is good enough, with its `chance` and `weeks`; None where none tried is: then `chance` is that of the
    largest, `most`.
    """

    kind: str  # "reeds", "days"
    have: int
    same: float
    need: int | None
    most: int
    chance: float
    gap: float  # the smallest difference that matters, used as the true gap
    weeks: float
    trials: int  # simulated, of each plan


@dataclass(frozen=True)
class WhatIf:
    """What one matched set going another way would do to a named winner.

    `kind` is "left_out" (the set that helps most is not there), "turned" (it comes out the other way round)
    or "added" (one more set comes out as far the other way). `p_value` is the two-sided p then; `stands`
    says whether the same winner would still be named.
    """

    kind: str
    block: str
    p_value: float
    stands: bool


@dataclass(frozen=True)
class Fragile:
    """How little would undo the answer.

    `shift` is the smallest constant lift of one habit's ratings, from knowing which is which, that undoes it,
    in the outcome's own unit (None for lives and without an answer). `expected` is the side that the player
    expected to be better ("A", "B", "same" or None: not said), `expected_gap` by how much.
    """

    side: str | None  # the winner, "A" or "B"; None where the two were called alike
    shift: float | None
    expected: str | None = None
    expected_gap: float | None = None
    what_ifs: tuple[WhatIf, ...] = ()


@dataclass(frozen=True)
class Guessed:
    """Guesses at the units that had one habit, and their blinding index with its range (Bang 2004)."""

    right: int
    wrong: int
    unsure: int
    index: float
    low: float
    high: float


@dataclass(frozen=True)
class Guesses:
    """What the player took the units for where a helper hid it, in the plan's order of habits.

    `asked` is "guessed", "skipped", "not_asked", "opened_early" (so not asked) or "not_reeds" (the units are
    days, which no one can be asked of later).
    """

    asked: str
    habits: tuple[Guessed | None, Guessed | None] = (None, None)


@dataclass(frozen=True)
class Uneven:
    """How many of something fell on each habit, compared by the answer's own reshuffle.

    `kind` is "missing" (ratings due and not given), "memory" (ratings written later from memory) or "given_up"
    (reeds given up by choice). `count` and `of` are those of A and B. `p_value` is two-sided; `p_more` are the
    one-sided p that A has more, and B. `held`: the answer was held back for it.
    """

    kind: str
    count: tuple[int, int]
    of: tuple[int, int]
    p_value: float
    p_more: tuple[float, float]
    held: bool = False

    @property
    def shares(self) -> tuple[float, float]:
        """Share of A's and of B's; 0 where there are none."""
        return self.count[0] / max(1, self.of[0]), self.count[1] / max(1, self.of[1])


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
class StandingOdds:
    """How the odds against "no difference" stand in a standing trial, and how they came about.

    `e_value` as of the day read, `most` the highest of `course`, `bar` where a winner is named. `course` has (day,
    e-value, worn-out reeds so far) for every day on which a reed came to its end, and the day read; `boxes` (number,
    day opened). `named` is the day a winner was named; `settled` says that the trial has an answer.
    """

    e_value: float
    bar: float
    most: float
    course: tuple[tuple[date, float, int], ...]
    boxes: tuple[tuple[int, date], ...]
    named: date | None
    settled: bool


@dataclass(frozen=True)
class OnTheWay:
    """How the odds against "no difference" came about in a trial with a planned end that may be read early.

    `course` has (trial day, e-value) at the end of every block that counts; `e_value` is the last of them, `most` the
    highest; at `bar` a winner is named. `left` is the p that a winner needs at the planned end (nan before it).
    `decides` says that the answer goes by the odds, not by the test of the planned end.
    """

    e_value: float
    most: float
    bar: float
    course: tuple[tuple[int, float], ...]
    left: float
    decides: bool


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
    settle: Settle | None = None  # only where its forecast was asked for
    looks: int = 0
    units: pd.DataFrame | None = None
    points: pd.DataFrame | None = None
    second_opinion: tuple[tuple[str, str, float], ...] = field(default=())  # (method, quantity, value)
    readings: tuple[Finding, ...] = ()  # the main outcome read in every way, as planned first; no verdicts
    fragile: Fragile | None = None
    guesses: Guesses | None = None  # None where nothing was hidden, and while sealed
    uneven: tuple[Uneven, ...] = ()  # what was missing or given up, by habit; empty while sealed
    leans: float | None = None  # p that ratings lean on the reed's rating before; None reed by reed, and while sealed
    odds: StandingOdds | None = None  # of a standing trial alone; its `main` is there while it runs
    on_the_way: OnTheWay | None = None  # of a trial that may be read early; None while sealed
    together: Together | None = None  # of a repeat, where it was asked for: all trials of the question so far

    def to_frame(self) -> pd.DataFrame:
        """Return every reading of the trial as a frame, one row each, the answer itself first; empty while sealed.

        Pairs of numbers become two columns, ending in _a and _b.
        """
        found = [f for f in (self.main, self.as_done, self.damage_counts, *self.also_seen) if f is not None]
        rows = [{"trial": self.protocol.trial, **_flat(f)} for f in found]
        return pd.DataFrame(rows, columns=None if rows else ["trial", *(f.name for f in fields(Finding))])


@dataclass(frozen=True)
class Contribution:
    """One trial's part in a combined answer.

    `estimate`, `low`, `high` are the trial's own gap and range; `error` is the standard error of the estimate
    (of its logarithm for a ratio), nan where it has none. `weight` is the trial's share of the combined
    gap, from 0 to 1 (nan for lives, which have no such shares). `without` is the combined gap without this
    trial, `p_without` its p (nan where it is the only one).
    """

    label: str
    player: str
    estimate: float
    low: float
    high: float
    error: float
    units: tuple[int, int]
    blocks: int
    weight: float
    without: float
    p_without: float


@dataclass(frozen=True)
class Spread:
    """How much players (or one player's trials) differ: the random-effects view. Ratios are no logarithms here.

    `tau` is the spread of the true gaps (for ratios of their logarithm), by Paule and Mandel; `tau_dl` the same
    by DerSimonian and Laird. `new_low`, `new_high` enclose the true gap of one more player like these (nan
    with fewer than three). `groups` counts what entered, `of` is "player" or "trial".
    """

    of: str
    groups: int
    left_out: tuple[str, ...]
    estimate: float
    low: float
    high: float
    tau: float
    tau_dl: float
    q: float
    q_p: float
    new_low: float
    new_high: float
    level: float


@dataclass(frozen=True)
class Together:
    """The combined answer of several trials of one question.

    `protocol` is the first trial's plan and stands for them all in names, outcome and scale (masked only if
    all were). `p_needed` is what a winner needs: 1 - level, less what early looks cost. `held` says why
    an answer was held back ("" where it was not). `remarks` hold (label, remark) for what may have bent one of
    the trials, or all of them ("").
    """

    protocol: Protocol
    matters: float
    main: Finding
    as_done: Finding
    parts: tuple[Contribution, ...]
    spread: Spread | None
    players: int
    p_needed: float
    held: str
    looks: int
    ended_early: tuple[str, ...]
    instruments: tuple[str, ...]
    fingerprints: tuple[tuple[str, str], ...]  # (label, fingerprint of the trial's plan)
    remarks: tuple[tuple[str, Remark], ...] = ()
    uneven: tuple[Uneven, ...] = ()  # what was missing or given up in all trials, by habit


@dataclass(frozen=True)
class DiaryWay:
    """What an old diary holds of one way: entries that count, reeds, days with such an entry, first and last day."""

    key: str
    entries: int
    reeds: int
    days: int
    first: date
    last: date


@dataclass(frozen=True)
class Diary:
    """An old diary, described. Nothing in it was shuffled.

    `protocol` says what was done where a plan would say what was dealt. An entry counts if it has a rating made
    in practice (for lives: whatever it holds). `left_out` are (reason, how many), by what was left out first:
    "in_trials", "other_ways", "unsure", "unrated" (entries), "both_ways" (reeds on a day), "one_way",
    "switched", "few_ratings", "little_played", "in_a_trial" (reeds).
    """

    protocol: Protocol
    ways: tuple[DiaryWay, DiaryWay]
    left_out: tuple[tuple[str, int], ...] = ()

    @property
    def entries(self) -> int:
        """Entries that count."""
        return sum(w.entries for w in self.ways)
