"""How little would undo an answer: a lift from knowing which is which, or one matched set going another way."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ...trial.arrays import BoolArray, FloatArray, IntArray
from ...trial.protocol import Protocol
from ...trial.result import Finding, Fragile, WhatIf
from ..shuffling.deals import Deals
from ..shuffling.life_ratios import LifeRatios
from ..shuffling.life_scores import scores
from ..shuffling.linear import linear_test
from ..shuffling.past_lives import PastLives
from ..shuffling.verdict import two_sided
from ..units.life_values import Lives
from ..units.shares import planned_share
from ..units.unit_values import UnitValues
from ..verdicts.judge import same_margin

__all__ = ["fragile_lives", "fragile_points", "knowing_shift"]

_LIMIT, _SAMPLES = 2**16, 20_000
_SLACK = 1e-12
_WINNERS = {"a_better": "A", "b_better": "B"}


def knowing_shift(found: Finding, matters: float) -> float | None:
    """Return the smallest constant lift of one habit's ratings that undoes a finding's verdict.

    If knowing which is which added b to every rating of one habit, the true gap is the seen one less b. A
    named winner is undone once b is as large as the end of the range nearest to no gap; sameness once the
    90 % range, moved by b, reaches what matters. None for lives, and where nothing was claimed.

    Parameters
    ----------
    found : Finding
        With its verdict.
    matters : float
        The smallest difference that matters; of a crossover half of it (`verdicts.judge.same_margin`).
    """
    if found.scale != "difference":
        return None
    if found.verdict == "b_better":
        return found.low
    if found.verdict == "a_better":
        return -found.high
    if found.verdict == "no_real_difference":
        return max(0.0, matters - max(abs(found.low90), abs(found.high90)))
    return None


def fragile_points(protocol: Protocol, values: UnitValues, used: BoolArray, found: Finding, *,
                   alpha: float) -> Fragile | None:
    """Return how little would undo the answer of a rating trial; None where nothing was claimed.

    Parameters
    ----------
    protocol, values, used
        The plan, its units' values and which of them (n,) counted.
    found : Finding
        The main finding with its verdict.
    alpha : float
        The p that a winner needs.
    """
    shift = knowing_shift(found, same_margin(protocol))
    if shift is None:
        return None
    side = _WINNERS.get(found.verdict or "")
    ifs: tuple[WhatIf, ...] = ()
    if side is not None:
        names = [b for b, u in zip(values.blocks, used, strict=True) if u]
        effect = values.effect(planned_share(protocol, values))[used]
        is_b = protocol.dealt_b[used]
        ifs = tuple(_turns_points(values.values[used], effect, is_b, names, side, alpha, protocol.seed))
    return _fragile(protocol, side, shift, ifs)


def fragile_lives(protocol: Protocol, lives: Lives, used: BoolArray, found: Finding, *,
                  alpha: float) -> Fragile | None:
    """Return how little would undo a winner of a trial of lives; None where there is none."""
    side = _WINNERS.get(found.verdict or "")
    if side is None:
        return None
    names = [b for b, u in zip(lives.blocks, used, strict=True) if u]
    is_b = protocol.dealt_b[used]
    ifs = _turns_lives(lives.hours[used], lives.worn_out[used], is_b, names, side, alpha, protocol.seed,
                       PastLives.of(protocol.past_lives))
    return _fragile(protocol, side, None, tuple(ifs))


def _fragile(protocol: Protocol, side: str | None, shift: float | None, ifs: tuple[WhatIf, ...]) -> Fragile:
    place = {h.key: s for h, s in zip(protocol.habits, "AB", strict=True)}
    expected = None if protocol.expected is None else place.get(protocol.expected, "same")
    return Fragile(side, shift, expected, protocol.expected_gap, ifs)


def _codes(names: list[str]) -> tuple[list[str], IntArray]:
    order = list(dict.fromkeys(names))
    return order, np.array([order.index(n) for n in names], dtype=np.intp)


def _turns_points(values: FloatArray, effect: FloatArray, is_b: BoolArray, names: list[str], side: str,
                  alpha: float, seed: int | None) -> Iterator[WhatIf]:
    order, block = _codes(names)
    sign = 1.0 if side == "B" else -1.0
    turned = values.copy()  # every set the other way round: each unit at its set's mean, mirrored
    helps = np.zeros(len(order))
    for b in range(len(order)):
        mine = block == b
        centred = values[mine] - values[mine].mean()
        turned[mine] = values[mine] - 2 * centred
        helps[b] = sign * centred[is_b[mine]].sum()
    best = int(np.argmax(helps))
    mine = block == best

    def what(kind: str, u: FloatArray, v: FloatArray, b: BoolArray, at: IntArray) -> WhatIf:
        if not len(u):
            return WhatIf(kind, order[best], 1.0, False)
        t = linear_test(u, v, b, at, seed=seed, limit=_LIMIT, samples=_SAMPLES)
        ahead = t.p_upper < t.p_lower if side == "B" else t.p_lower < t.p_upper
        return WhatIf(kind, order[best], t.p_value, bool(ahead and t.p_value <= alpha + _SLACK))

    yield what("left_out", values[~mine], effect[~mine], is_b[~mine], block[~mine])
    yield what("turned", np.where(mine, turned, values), effect, is_b, block)
    yield what("added", np.r_[values, turned[mine]], np.r_[effect, effect[mine]], np.r_[is_b, is_b[mine]],
               np.r_[block, np.full(int(mine.sum()), len(order))])


def _turns_lives(hours: FloatArray, worn: BoolArray, is_b: BoolArray, names: list[str], side: str, alpha: float,
                 seed: int | None, past: PastLives | None) -> Iterator[WhatIf]:
    order, block = _codes(names)
    s = (scores if past is None else past.scores)(np.log(hours)[None, :], worn[None, :])[0]
    sign = -1.0 if side == "B" else 1.0  # a low score is a long life
    helps = []
    for b in range(len(order)):
        here = block == b
        helps.append(sign * float((s[here] - s[here].mean())[is_b[here]].sum()))
    best = int(np.argmax(helps))
    mine = block == best

    def what(kind: str, t: FloatArray, e: BoolArray, b: BoolArray, at: IntArray) -> WhatIf:
        if not len(t):
            return WhatIf(kind, order[best], 1.0, False)
        deals = Deals.whole(b, at, seed=seed, limit=_LIMIT, samples=_SAMPLES)
        longer, shorter = (float(x[0]) for x in LifeRatios(t[None], e[None], deals, past=past).tails(1.0))
        p = float(two_sided(longer, shorter))
        ahead = longer < shorter if side == "B" else shorter < longer
        return WhatIf(kind, order[best], p, ahead and p <= alpha + _SLACK)

    yield what("left_out", hours[~mine], worn[~mine], is_b[~mine], block[~mine])
    yield what("turned", hours, worn, is_b ^ mine, block)  # the two habits change places in that set
    yield what("added", np.r_[hours, hours[mine]], np.r_[worn, worn[mine]], np.r_[is_b, ~is_b[mine]],
               np.r_[block, np.full(int(mine.sum()), len(order))])
