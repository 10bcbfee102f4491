"""One trial made ready to be combined with others: its units' numbers, the deal, and what it is a trial of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

import numpy as np

from ...errors import InputError
from ...rows.tables import Frames
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.protocol import Protocol
from ...trial.result import Remark
from ...wording import all_of, tr
from ..remarks.leaning import leaning_sums, p_of_sums
from ..remarks.quality import kept_remarks
from ..shuffling._units import gather
from ..units.adjust import adjustments
from ..units.left_out import Counted, counted, unrated_low
from ..units.life_values import Lives, life_values
from ..units.shares import AsDone, as_done, planned_share, share_by_cell, share_by_unit
from ..units.unit_values import rating_values
from ..verdicts.held_back import bars_of, depth
from ..verdicts.state import state_of

__all__ = ["Part", "clashes", "leans_together", "mean_depth", "read_part", "told_together"]

_EMPTY = np.zeros(0)
#: Remarks on how a trial was kept that go with it into a combined answer: what may have bent the ratings.
_CARRIED = ("worked_on", "setup_changed", "plan_not_followed", "missing_days")


@dataclass(frozen=True)
class Part:
    """One trial: n units that count, in blocks that hold both habits.

    Differences have `values`, `effect` (what a gap of one adds to each, as planned) and `done` (as really
    done); lives have `hours`, `worn_out` and `share` (of a unit's sittings on B). `ratings` are all rated
    cells, blind, to see how the scale was used. `watched` as in `Lives`; `low` is the same trial of lives, had every
    unrated sitting been below the mark. `counted` is what was missing or given up in each planned unit (whose deal is
    `planned_b`, `planned_block`), `leans` the sums of `leaning_sums`. `remarks` say what may have bent the trial.
    """

    label: str
    player: str
    protocol: Protocol
    state: str
    looks: int
    is_b: BoolArray
    block: IntArray
    dropped: tuple[str, ...] = ()
    values: FloatArray = field(default_factory=lambda: _EMPTY)
    effect: FloatArray = field(default_factory=lambda: _EMPTY)
    done: FloatArray = field(default_factory=lambda: _EMPTY)
    hours: FloatArray = field(default_factory=lambda: _EMPTY)
    worn_out: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=bool))
    share: FloatArray = field(default_factory=lambda: _EMPTY)
    ratings: FloatArray = field(default_factory=lambda: _EMPTY)
    remarks: tuple[Remark, ...] = ()
    watched: FloatArray | None = None
    low: Part | None = None
    counted: tuple[Counted, ...] = ()
    planned_b: BoolArray = field(default_factory=lambda: np.zeros(0, dtype=bool))
    planned_block: tuple[str, ...] = ()
    leans: tuple[float, float] = (0.0, 0.0)
    fingerprint: str = ""  # of the plan in the player's own logbook, where it came as a shared trial

    @property
    def counts(self) -> tuple[int, int]:
        """Units of A and of B that count."""
        b = int(self.is_b.sum())
        return len(self.is_b) - b, b


def read_part(label: str, player: str, protocol: Protocol, frames: Frames, *, today: date) -> Part:
    """Read one ended trial.

    Parameters
    ----------
    label, player : str
        What to call the trial, and whose it is: trials of one player are told from trials of several.
    protocol, frames
        The frozen plan and the rows of that player's logbook.
    today : date
        The day it is read on.

    Raises
    ------
    InputError
        The trial still runs, or was not shuffled.
    """
    if protocol.standing:
        raise InputError(tr("{label}: this is a standing trial. It stops when its odds say so, so it is read by "
                            "itself.").format(label=label))
    now = state_of(protocol, frames, today=today, open_early=False)
    if now.state == "running":
        raise InputError(tr("{label}: this trial still runs. Its answer is sealed until it ends.").format(label=label))
    if now.state == "diary":
        raise InputError(tr("{label}: this is an old diary. Nothing was shuffled, so it can't be put together with "
                            "fair trials.").format(label=label))
    if protocol.read_early and now.state == "ended_early":
        raise InputError(tr("{label}: this trial could be read on any day, and was ended before its last. It may have "
                            "stopped at a lucky moment, so it is read by itself.").format(label=label))
    if protocol.crossover:
        raise InputError(tr("{label}: its reeds had first one way, then the other. Such a trial is read by "
                            "itself.").format(label=label))
    if now.unfinished:
        raise InputError(tr("{label}: this trial had to run until every reed was worn out or at its cap, and some are "
                            "not there yet.").format(label=label))
    looks = 0 if protocol.read_early else now.looks  # paid for by that trial itself
    trial, done = now.trial, as_done(protocol, frames, now.trial)
    blocks = protocol.blocks
    remarks = tuple(r for r in kept_remarks(protocol, frames, trial, done, today=today) if r.code in _CARRIED)
    shared: dict[str, Any] = {"remarks": remarks, "planned_b": protocol.dealt_b, "planned_block": blocks}
    if protocol.card.lives:
        lives = life_values(trial, protocol.outcome)
        base = Part(label, player, protocol, now.state, looks, np.zeros(0, dtype=bool),
                    np.zeros(0, dtype=np.intp), counted=counted(protocol, frames, trial, lives, today=today), **shared)
        low = None
        if bars_of(protocol).checked > 0:
            low = _with_lives(base, life_values(unrated_low(trial), protocol.outcome), done)
        return replace(_with_lives(base, lives, done), low=low)
    values = rating_values(trial, protocol.outcome, adjustments(protocol))
    units = gather(values.present, protocol.arms, blocks, [])
    keep, cells = units.keep, values.cells
    daily = protocol.design == "day_by_day" and not protocol.pairs
    leans = leaning_sums(cells.rating, cells.reed, cells.day) if daily and len(cells) else (np.zeros(1), np.zeros(1))
    return Part(label, player, protocol, now.state, looks, units.is_b, units.block, units.dropped,
                values=values.values[keep], effect=values.effect(planned_share(protocol, values))[keep],
                done=values.effect(share_by_cell(protocol, done, values))[keep], ratings=cells.rating,
                counted=counted(protocol, frames, trial, None, today=today),
                leans=(float(leans[0][0]), float(leans[1][0])), **shared)


def _with_lives(part: Part, lives: Lives, done: AsDone) -> Part:
    plan = part.protocol
    units = gather(lives.hours > 0, plan.arms, part.planned_block, [])
    keep = units.keep
    return replace(part, is_b=units.is_b, block=units.block, dropped=units.dropped, hours=lives.hours[keep],
                   worn_out=lives.worn_out[keep], share=share_by_unit(plan, done)[keep],
                   watched=None if lives.watched is None else lives.watched[keep])


def clashes(parts: Sequence[Part], matters: float | None = None) -> list[str]:
    """Return every reason why trials cannot be put together; empty if they can. The first sets the measure."""
    first = parts[0].protocol
    out = []
    seen: dict[tuple[Protocol, bytes], str] = {}
    for p in parts:
        plan = p.protocol
        for what, own, wanted in _compared(plan, first, matters):
            if own != wanted:
                out.append(tr("{label}: {what} is {own}, but for {label2} it is {wanted}").format(
                               label=p.label, what=what, own=own, label2=parts[0].label, wanted=wanted))
        numbers = p.values.tobytes() + p.hours.tobytes() + p.is_b.tobytes()
        same = seen.setdefault((replace(plan, trial=""), numbers), p.label)
        if same != p.label or sum(q is p for q in parts) > 1:
            out.append(tr("{label}: this is the same trial as {same}, and a trial counts once").format(
                           label=p.label, same=same))
    names = [p.label for p in parts]
    out += [tr("{n}: two trials are called this").format(n=n) for n in dict.fromkeys(names) if names.count(n) > 1]
    return out


def _compared(own: Protocol, first: Protocol, matters: float | None) -> list[tuple[str, object, object]]:
    """Return what must agree: (words, here, there). Ways are told by their keys, in sorted order."""
    def ways(p: Protocol) -> str:
        return all_of(h.key for h in p.habits)

    def marks(p: Protocol) -> str:
        return ", ".join(f"{n} {w}" for n, w in p.scale)

    def both(words: str, name: str) -> tuple[str, object, object]:
        return words, getattr(own, name), getattr(first, name)

    out = [both(tr("the question"), "question"), (tr("the two ways"), ways(own), ways(first)),
           both(tr("what is compared"), "outcome"), both(tr("the way of dealing"), "design"),
           both(tr("what is rated"), "rating")]
    if not own.card.lives or own.worn_out_rule == "ratings":
        out.append((tr("the rating scale"), marks(own), marks(first)))
    if own.card.lives:
        out += [both(tr("the rule for worn out"), "worn_out_rule"), both(tr("the mark for worn out"), "worn_out_below"),
                both(tr("the mark for good"), "good_below"), both(tr("the ratings in a row"), "in_a_row"),
                both(tr("the cap of playing hours"), "cap_hours")]
    if matters is None:
        out.append(both(tr("the smallest difference that matters"), "matters"))
    out.append((tr("what a way replaces in daily practice"), dict(_by_way(own)), dict(_by_way(first))))
    return out


def _by_way(p: Protocol) -> list[tuple[str, float]]:
    return sorted((f"{habit} {name}", value) for habit, name, value in p.overrides)


def told_together(parts: Sequence[Part]) -> tuple[Counted, ...]:
    """Put every kind that all trials have under one another, unit by planned unit."""
    kinds = [c.kind for c in parts[0].counted if all(any(c.kind == d.kind for d in p.counted) for p in parts)]

    def joined(kind: str) -> Counted:
        found = [next(c for c in p.counted if c.kind == kind) for p in parts]
        return Counted(kind, np.concatenate([c.count for c in found]), np.concatenate([c.of for c in found]))

    return tuple(joined(kind) for kind in kinds)


def mean_depth(parts: Sequence[Part]) -> float:
    """Return how far the lowest ratings lie below the mean, each trial by its own, weighted by its ratings."""
    of = [int(np.isfinite(p.ratings).sum()) for p in parts]
    return float(sum(n * float(depth(p.ratings)) for n, p in zip(of, parts, strict=True)) / max(1, sum(of)))


def leans_together(parts: Sequence[Part]) -> float:
    """Return the p that ratings lean on the one before, over all trials; 1 where none has enough of them."""
    return float(p_of_sums(sum(p.leans[0] for p in parts), sum(p.leans[1] for p in parts)))
