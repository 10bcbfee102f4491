"""Remarks that need the answer open: what the habits' reeds and days met unevenly, and what limits the answer."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from ...rows.tables import Frames
from ...trial.protocol import Protocol
from ...trial.result import Finding, OnTheWay, Remark, Uneven
from ..units.blind import BlindTrial
from ..units.unit_values import UnitValues
from ..verdicts.judge import EARLY_P
from .catalogue import remark

__all__ = ["answer_remarks", "knew_which", "look_remarks", "told_uneven", "uneven_remarks", "worth_telling"]

_HUMIDITY, _TEMP = 5.0, 2.0
_HOURS_SHARE = 0.20
_DAMAGE_APART = 3
_TELL, _TELL_APART = 0.01, 0.15  # two-sided p, and shares so far apart
_SLACK = 1e-12


def uneven_remarks(protocol: Protocol, frames: Frames, trial: BlindTrial,
                   values: UnitValues | None, uneven: Sequence[Uneven] = ()) -> Iterator[Remark]:
    """Yield remarks on what the two habits' days and reeds met unevenly."""
    yield from told_uneven(uneven)
    arms = np.array(protocol.arms)
    if protocol.design == "day_by_day":
        if values is None or not len(values.cells) or protocol.pairs:  # both ways of a pair meet the same air
            return
        arm_of = arms[values.unit_of_cell]
        number = {d: i for i, d in enumerate(trial.calendar, start=1)}
        for kind, column, most in (("humidity", "humidity_pct", _HUMIDITY), ("temperature", "temp_c", _TEMP)):
            on = {number[d]: v for d, v in zip(frames.days["date"].dt.date, frames.days[column], strict=True)
                  if d in number}
            air = np.array([on.get(int(d), math.nan) for d in values.cells.day], dtype=float)
            a, b = (air[(arm_of == x) & np.isfinite(air)] for x in ("A", "B"))
            if len(a) and len(b) and abs(a.mean() - b.mean()) >= most:
                yield remark("weather_uneven", kind=kind, mean_a=float(a.mean()), mean_b=float(b.mean()))
        return
    if protocol.crossover:  # every reed has both ways
        return
    hours = trial.hours[[trial.place[u.reeds[0]] for u in protocol.units]]
    if protocol.same_days and not protocol.card.lives:
        a, b = float(hours[arms == "A"].mean()), float(hours[arms == "B"].mean())
        if max(a, b) > 0 and abs(a - b) / max(a, b) >= _HOURS_SHARE:
            yield remark("hours_uneven", hours_a=a, hours_b=b)
    hurt = np.array([trial.retired.get(u.reeds[0], (None, ""))[1] == "damaged" for u in protocol.units])
    n_a, n_b = int((hurt & (arms == "A")).sum()), int((hurt & (arms == "B")).sum())
    if abs(n_a - n_b) >= _DAMAGE_APART:
        yield remark("damage_uneven", damaged_a=n_a, damaged_b=n_b)


def told_uneven(uneven: Sequence[Uneven]) -> Iterator[Remark]:
    """Yield remarks on what was missing or given up so unevenly that it is told."""
    for u in uneven:
        if u.held or worth_telling(u):
            yield remark("uneven", kind=u.kind, count_a=u.count[0], of_a=u.of[0], count_b=u.count[1], of_b=u.of[1],
                         p=u.p_value, held=float(u.held))


def worth_telling(uneven: Uneven) -> bool:
    """Say whether it is so uneven that the page says so, whatever the answer."""
    a, b = uneven.shares
    return uneven.p_value <= _TELL + _SLACK and abs(a - b) >= _TELL_APART


def look_remarks(state: str, *, looks: int, alpha: float, least_p: float, day: int, days: int,
                 why: str, odds: OnTheWay | None = None) -> Iterator[Remark]:
    """Yield remarks on early looks and an early end; `odds` of a trial that may be read early."""
    if odds is not None:
        if odds.decides:
            yield remark("odds_on_the_way", looks=looks, odds=odds.e_value, most=odds.most, bar=odds.bar)
        if state == "ended_early":
            yield remark("ended_early", day=day, days=days, why=why)
    elif state == "opened_early":
        yield remark("early_look", looks=looks, p_needed=alpha, least_p=least_p,
                     can_claim=float(least_p <= EARLY_P + 1e-12))
    elif state == "ended_early":
        yield remark("ended_early", day=day, days=days, why=why)
    elif looks:
        yield remark("looks_paid", looks=looks, p_final=alpha)


def answer_remarks(protocol: Protocol, main: Finding, as_done: Finding | None, *, held: str, alpha: float,
                   early: bool, planned_p: float) -> Iterator[Remark]:
    """Yield remarks on the answer itself; `planned_p` is the smallest p the whole plan could have reached."""
    ratio = main.scale == "ratio"
    if main.blocks_dropped:
        yield remark("block_lost", lost=len(main.blocks_dropped), names=", ".join(main.blocks_dropped),
                     left=main.blocks, least_p=main.least_p)
    if held and held not in ("missing", "given_up"):  # those have a remark of their own
        yield remark("same_held_back", why=held)
    if main.verdict == "cannot_tell":
        why = never_why(main, alpha, early=early, planned_p=planned_p)
        if why:
            yield remark("could_never_tell", why=why, least_p=main.least_p)
        m = protocol.matters
        if (main.low < 1 / m and main.high > m) if ratio else (main.low < -m and main.high > m):
            yield remark("wide_range", low=main.low, high=main.high, matters=m)
    if as_done is not None and _apart(main, as_done, ratio, alpha):
        yield remark("as_done_differs", planned=main.estimate, done=as_done.estimate)
    yield from knew_which(protocol, main)


def knew_which(protocol: Protocol, main: Finding) -> Iterator[Remark]:
    """Yield the remark on an answer that is what was expected, where the player knew which was which."""
    if main.verdict in ("a_better", "b_better", "no_real_difference") and protocol.expected and (
            protocol.masked == "none"):
        winner = {"a_better": protocol.habits[0].key, "b_better": protocol.habits[1].key}.get(main.verdict, "same")
        if winner == protocol.expected:
            yield remark("knew_which", masked=protocol.masked, expected=protocol.expected)


def never_why(main: Finding, alpha: float, *, early: bool, planned_p: float) -> str:
    """Return why the trial could never have told, or "": "early" where the whole plan could have.

    `least_p` of lives is what these worn-out reeds could give however dealt; the plan's own is 2 / arrangements.
    """
    no_event = main.events is not None and sum(main.events) == 0
    if not no_event and main.least_p <= alpha + 1e-12:
        return ""
    if early and planned_p <= 0.05 + 1e-12:
        return "early"
    if no_event:
        return "no_worn_out"
    return "too_few_worn_out" if 2 / main.arrangements <= alpha + 1e-12 else "too_few_blocks"


def _apart(main: Finding, done: Finding, ratio: bool, alpha: float) -> bool:
    none = 1.0 if ratio else 0.0
    if not (math.isfinite(main.estimate) and math.isfinite(done.estimate)):
        return False
    turned = (main.estimate - none) * (done.estimate - none) < -1e-12
    slack = 1e-12
    return turned or (main.p_value <= alpha + slack) != (done.p_value <= alpha + slack)


