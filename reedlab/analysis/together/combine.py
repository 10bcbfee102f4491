"""Several trials of one question put together: exact by reshuffling within each, and how players differ.

The trials' blocks are stacked, each with its own adjustment; the deals are reshuffled within the blocks of
each trial only, so the test supposes nothing about how trials differ. Lives are scored within their own
trial. The combined range is by inversion: one gap common to all that is not ruled out. The random-effects
view (`analysis.together.players_differ`) stands beside it and tells how much players differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt

from ...errors import InputError
from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.outcomes import OUTCOMES
from ...trial.result import Contribution, Finding, Spread, Together
from ...wording import tr
from ..remarks.fairness import told_uneven
from ..remarks.leaning import LEANS_P
from ..shuffling.deals import Deals
from ..shuffling.in_full import InFull
from ..shuffling.life_ratios import LifeRatios
from ..shuffling.linear import Linear
from ..shuffling.shuffles import EXACT_LIMIT
from ..shuffling.verdict import SAMENESS_P, two_sided
from ..verdicts.findings import Reading
from ..verdicts.held_back import bars_of, held_one
from ..verdicts.judge import final_p, judge_one, repeat_p, sameness_p, still_stand
from ..verdicts.scale_use import ScaleUse, ratings_used
from .parts import Part, clashes, leans_together, mean_depth, told_together
from .players_differ import between, gap_error, ratio_error

__all__ = ["Stacked", "combine", "stack"]

_SLACK = 1e-12
_DRAWN = 30_000_000  # numbers held at once when arrangements are drawn
_FEWEST, _MOST = 20_000, 100_000
_DIFFER = 0.05
_MAY_DROP = 0.25
_NAN = math.nan


@dataclass(frozen=True)
class Stacked:
    """The units of several parts under one another; `block` and `trial` are codes over all of them."""

    is_b: BoolArray
    block: IntArray
    trial: IntArray
    values: FloatArray
    effect: FloatArray
    done: FloatArray
    hours: FloatArray
    worn_out: BoolArray
    share: FloatArray
    watched: FloatArray | None


def stack(parts: Sequence[Part]) -> Stacked:
    """Put the units of several parts under one another; blocks stay within their trial."""
    blocks, at = [], 0
    for p in parts:
        codes = np.unique(p.block, return_inverse=True)[1]
        blocks.append(codes + at)
        at += int(codes.max(initial=-1)) + 1

    def joined(name: str) -> Any:
        return np.concatenate([getattr(p, name) for p in parts])

    return Stacked(
        is_b=joined("is_b"), block=np.concatenate(blocks).astype(np.intp),
        trial=np.repeat(np.arange(len(parts)), [len(p.is_b) for p in parts]).astype(np.intp),
        values=joined("values"), effect=joined("effect"), done=joined("done"), hours=joined("hours"),
        worn_out=joined("worn_out"), share=joined("share"), watched=_watched(parts))


def _watched(parts: Sequence[Part]) -> FloatArray | None:
    """Return to what hours each life was watched; without end in a trial that had no end in common."""
    if all(p.watched is None for p in parts):
        return None
    return np.concatenate([np.full(len(p.is_b), np.inf) if p.watched is None else p.watched for p in parts])


def combine(parts: Sequence[Part], *, matters: float | None = None) -> Together:
    """Combine several ended trials of one question.

    Parameters
    ----------
    parts : sequence of Part
        From `read_part`. Trials without a block that holds both habits count nothing but are told.
    matters : float, optional
        The smallest difference that matters, where the trials' own differ.

    Raises
    ------
    InputError
        Fewer than two trials, or trials that do not ask the same in the same way; says every reason.
    """
    if len(parts) < 2:
        raise InputError(tr("Putting together takes at least two trials."))
    faults = clashes(parts, matters)
    if faults:
        raise InputError(tr("These trials can't be put together:\n{f}").format(f="\n".join(f"  {f}" for f in faults)))
    plan = parts[0].protocol
    margin = plan.matters if matters is None else matters
    ratio, least = plan.card.lives, plan.card.none
    if not margin > least:
        raise InputError(tr("`matters` is {margin!r}, wanted more than {least:g}.").format(margin=margin, least=least))
    looks = sum(p.looks for p in parts)
    ended = tuple(p.label for p in parts if p.state == "ended_early")
    level = plan.level
    players = len({p.player for p in parts})
    paid = looks + len(ended)
    # one player's trials one after another: each earlier reading was a look at this one
    alpha = final_p(level, paid) if players > 1 else repeat_p(level, len(parts) - 1 + paid)
    at = level if players > 1 and not paid else 1 - alpha
    read = partial(_read, ratio=ratio, level=at, same_p=SAMENESS_P if players > 1 else sameness_p(at))
    whole = stack(parts)
    if not len(whole.is_b):
        raise InputError(tr("None of these trials has a matched set with both ways in it."))
    main = _told(parts, read(whole), "together", plan.outcome)
    done = _told(parts, read(whole, done=True), "as_done", plan.outcome)
    contributions = tuple(_contributions(parts, whole, ratio=ratio, level=level))
    spread = _spread(parts, ratio=ratio, level=level)
    use = None if ratio else _scale_use(parts, plan.rating)
    differ = spread is not None and spread.q_p <= _DIFFER
    # alike on the whole but not for each: without a reading as done no sameness is claimed
    judged = partial(judge_one, matters=margin, alpha=alpha, early=bool(ended), scale_use=use)
    found, held = judged(main, None if differ else done, leans=leans_together(parts) <= LEANS_P)

    def falls(apart: FloatArray, which: npt.NDArray[np.intp]) -> BoolArray:
        if plan.card.of_points and main.test is not None:
            return ~still_stand(main.test, np.array([found.verdict]), apart * mean_depth(parts), which, alpha=alpha,
                                matters=margin, same_p=(1 - found.same_level) / 2)
        if not ratio:
            return np.zeros(1, dtype=bool)
        low = stack([p.low or p for p in parts])
        again = [replace(r, finding=replace(r.finding, scale="ratio")) for r in (
            read(low), read(low, done=True))]
        return np.array([judged(*again)[0].verdict != found.verdict])

    told, dealt = told_together(parts), np.concatenate([p.planned_b for p in parts])
    blocks = [f"{i}: {b}" for i, p in enumerate(parts) for b in p.planned_block]
    found, kind, uneven = held_one(found, told, dealt, blocks, bars_of(plan), falls, seed=None)
    held = kind or held
    if differ and held == "as_done":
        held = "players_differ"
    if any(p.protocol.masked == "none" for p in parts):  # one who knew is enough for the caution to stand
        plan = replace(plan, masked="none")
    return Together(
        protocol=plan, matters=margin, main=found, as_done=done.finding, parts=contributions, spread=spread,
        players=players, p_needed=alpha, held=held, looks=looks, ended_early=ended,
        uneven=uneven,
        instruments=tuple(sorted({p.protocol.instrument for p in parts})),
        fingerprints=tuple((p.label, p.fingerprint or p.protocol.sha256) for p in parts),
        remarks=(*((p.label, r) for p in parts for r in p.remarks), *(("", r) for r in told_uneven(uneven))))


def _scale_use(parts: Sequence[Part], column: str) -> ScaleUse:
    """Describe the scale as used by all: each player has ends of their own."""
    use = ratings_used(np.concatenate([p.ratings for p in parts]), column)
    each = [ratings_used(p.ratings, column) for p in parts]
    of = max(1, sum(e.ratings for e in each))
    return replace(use, own_top=sum(e.own_top * e.ratings for e in each) / of,
                   own_bottom=sum(e.own_bottom * e.ratings for e in each) / of)


def _told(parts: Sequence[Part], read: Reading, reading: str, outcome: str) -> Reading:
    """Give a combined reading its names and counts."""
    counts = [p.counts for p in parts]
    events = None
    if OUTCOMES[outcome].lives:
        events = (sum(int(p.worn_out[~p.is_b].sum()) for p in parts),
                  sum(int(p.worn_out[p.is_b].sum()) for p in parts))
    finding = replace(
        read.finding, outcome=outcome, reading=reading, scale=OUTCOMES[outcome].scale,
        units=(sum(a for a, _ in counts), sum(b for _, b in counts)),
        blocks=sum(len(np.unique(p.block)) for p in parts),
        blocks_dropped=tuple(f"{p.label}: {b}" for p in parts for b in p.dropped), events=events)
    return replace(read, finding=finding)


def _samples(n: int) -> int:
    return int(np.clip(_DRAWN // max(1, n), _FEWEST, _MOST))


def _test(s: Stacked, *, ratio: bool, done: bool = False, quick: bool = False) -> Linear | LifeRatios:
    """Return the test of the units; lives are scored within their trial, so ratios meet within a trial only."""
    if ratio:
        deals = Deals.whole(s.is_b, s.block, samples=_FEWEST)
        return LifeRatios(s.hours[None], s.worn_out[None], deals, share=s.share[None] if done else None,
                          strata=s.trial, watched=None if s.watched is None else s.watched[None])
    deals = Deals.whole(s.is_b, s.block, limit=2**16 if quick else EXACT_LIMIT,
                        samples=_FEWEST if quick else _samples(len(s.is_b)))
    return Linear(s.values[None], (s.done if done else s.effect)[None], deals)


def _read(s: Stacked, *, ratio: bool, level: float, done: bool = False, same_p: float = SAMENESS_P) -> Reading:
    test = _test(s, ratio=ratio, done=done)
    return Reading(_finding(test.in_full(0, level=level, same_p=same_p), level, same_p), test, test.deals.used[0])


def _finding(t: InFull, level: float, same_p: float = SAMENESS_P) -> Finding:
    return Finding(outcome="", reading="", scale="", level=level, same_level=1 - 2 * same_p, units=(0, 0), blocks=0,
                   **t.told())


def _slope(s: Stacked, mine: BoolArray) -> float:
    """Return how fast the statistic falls as the gap tried grows: a trial's weight in the combined gap."""
    total = 0.0
    for b in np.unique(s.block[mine]):
        at = s.block == b
        total += float((s.effect[at] - s.effect[at].mean())[s.is_b[at]].sum())
    return total


def _contributions(parts: Sequence[Part], whole: Stacked, *, ratio: bool, level: float) -> list[Contribution]:
    slopes = [] if ratio else [_slope(whole, whole.trial == i) for i in range(len(parts))]
    out = []
    for i, p in enumerate(parts):
        own, error = _own(stack([p]), ratio=ratio, level=level)
        rest = stack([q for q in parts if q is not p])
        without, p_without = _NAN, _NAN
        if len(rest.is_b):
            test = _test(rest, ratio=ratio, quick=True)
            without = float(test.estimates()[0]) + 0.0  # no -0.0
            p_without = float(two_sided(*test.tails(test.none))[0])
        weight = _NAN if ratio or not sum(slopes) else slopes[i] / sum(slopes)
        out.append(Contribution(
            label=p.label, player=p.player, estimate=own.estimate, low=own.low, high=own.high, error=error,
            units=p.counts, blocks=len(np.unique(p.block)), weight=weight, without=without, p_without=p_without))
    return out


def _own(s: Stacked, *, ratio: bool, level: float) -> tuple[Finding, float]:
    """Return the gap and range of some trials by themselves, and the gap's standard error."""
    if not len(s.is_b):
        return _finding(InFull.nothing(1.0 if ratio else 0.0), level), _NAN
    read = _read(s, ratio=ratio, level=level)
    gap = read.finding.estimate
    if isinstance(read.test, LifeRatios):
        return read.finding, ratio_error(read.test.scan(0), gap)
    return read.finding, gap_error(s.values, s.effect, s.is_b, s.block, gap)


def _spread(parts: Sequence[Part], *, ratio: bool, level: float) -> Spread | None:
    """Return the random-effects view, over players or the trials of a single one; None with fewer than two."""
    several = len({p.player for p in parts}) > 1
    groups: dict[str, list[Part]] = {}
    for p in parts:
        groups.setdefault(p.player if several else p.label, []).append(p)
    gaps, errors, left = [], [], []
    for name, members in groups.items():
        found, error = _own(stack(members), ratio=ratio, level=level)
        gap = math.log(found.estimate) if ratio and 0 < found.estimate < math.inf else found.estimate
        if math.isfinite(gap) and math.isfinite(error) and error > 1e-9:
            gaps.append(gap)
            errors.append(error)
        else:
            left.append(name)
    # Trials drop out where little wore out; were they many, what is left would be the clear ones only.
    if len(gaps) < 2 or len(left) > _MAY_DROP * len(groups):
        return None
    v = between(gaps, errors, level=level)
    back = math.exp if ratio else float
    return Spread(
        of="player" if several else "trial", groups=len(gaps), left_out=tuple(left), estimate=back(v.mean),
        low=back(v.low), high=back(v.high), tau=v.tau, tau_dl=v.tau_dl, q=v.q, q_p=v.q_p,
        new_low=back(v.new_low), new_high=back(v.new_high), level=level)
