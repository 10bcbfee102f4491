"""How little would undo an answer: a lift from knowing which is which, or one matched set going another way."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from ...trial.arrays import BoolArray, FloatArray
from ...trial.protocol import Protocol
from ...trial.result import Finding, Fragile, WhatIf
from ..shuffling.deals import Deals
from ..shuffling.life_ratios import LifeRatios
from ..shuffling.linear import Linear
from ..shuffling.past_lives import PastLives, scores_among
from ..shuffling.verdict import two_sided
from ..units.life_values import Lives
from ..units.shares import planned_share
from ..units.unit_values import UnitValues
from ..verdicts.judge import Test, same_margin

__all__ = ["fragile_lives", "fragile_points", "knowing_shift"]

_LIMIT, _SAMPLES = 2**16, 20_000
_SLACK = 1e-12
_WINNERS = {"a_better": "A", "b_better": "B"}

#: Of n units: values and effects, or hours and who wore out; and who is B.
_Units = tuple[FloatArray, Any, BoolArray]


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
        u, is_b = values.values[used], protocol.dealt_b[used]
        effect = values.effect(planned_share(protocol, values))[used]
        best = _Best(u if side == "B" else -u, is_b, np.asarray(values.blocks)[used].tolist())
        # the set the other way round: each unit as far on the other side of the set's mean
        turned = np.where(best.mine, u - 2 * (u - u[best.mine].mean()), u)
        ifs = tuple(_what_ifs(protocol, side, best, (u, effect, is_b), (turned, effect, is_b), alpha,
                              lambda x, v, deals: Linear(x[None], v[None], deals)))
    return _fragile(protocol, side, shift, ifs)


def fragile_lives(protocol: Protocol, lives: Lives, used: BoolArray, found: Finding, *,
                  alpha: float) -> Fragile | None:
    """Return how little would undo a winner of a trial of lives; None where there is none."""
    side = _WINNERS.get(found.verdict or "")
    if side is None:
        return None
    hours, worn, is_b = lives.hours[used], lives.worn_out[used], protocol.dealt_b[used]
    past = PastLives.of(protocol.past_lives)
    s = scores_among(np.log(hours)[None, :], worn[None, :], None, past)[0]
    # a low score is a long life
    best = _Best(-s if side == "B" else s, is_b, np.asarray(lives.blocks)[used].tolist())
    turned = (hours, worn, is_b ^ best.mine)  # the two habits change places in that set
    ifs = _what_ifs(protocol, side, best, (hours, worn, is_b), turned, alpha,
                    lambda t, e, deals: LifeRatios(t[None], e[None], deals, past=past))
    return _fragile(protocol, side, None, tuple(ifs))


def _fragile(protocol: Protocol, side: str | None, shift: float | None, ifs: tuple[WhatIf, ...]) -> Fragile:
    place = {h.key: s for h, s in zip(protocol.habits, "AB", strict=True)}
    expected = None if protocol.expected is None else place.get(protocol.expected, "same")
    return Fragile(side, shift, expected, protocol.expected_gap, ifs)


class _Best:
    """The matched set that speaks most for the winner: its `name`, its units (`mine`), and each unit's set (`block`).

    `favour` (n,) is high where a unit dealt B speaks for the winner.
    """

    def __init__(self, favour: FloatArray, is_b: BoolArray, names: list[str]) -> None:
        order = list(dict.fromkeys(names))
        self.sets, self.block = len(order), np.array([order.index(n) for n in names], dtype=np.intp)
        helps = []
        for mine in (self.block == b for b in range(self.sets)):
            helps.append(float((favour[mine] - favour[mine].mean())[is_b[mine]].sum()))
        best = int(np.argmax(helps))
        self.name, self.mine = order[best], self.block == best


def _what_ifs(protocol: Protocol, side: str, best: _Best, as_it_is: _Units, turned: _Units, alpha: float,
              test: Callable[[FloatArray, Any, Deals], Test]) -> Iterator[WhatIf]:
    """Yield what the test says with the best set left out, turned round, and with one more like it turned round."""
    mine, more = best.mine, np.full(int(best.mine.sum()), best.sets)
    for kind, units, block in (
            ("left_out", [x[~mine] for x in as_it_is], best.block[~mine]), ("turned", turned, best.block),
            ("added", [np.r_[x, y[mine]] for x, y in zip(as_it_is, turned, strict=True)], np.r_[best.block, more])):
        if not len(block):
            yield WhatIf(kind, best.name, 1.0, False)
            continue
        one, two, is_b = units
        read = test(one, two, Deals.whole(is_b, block, seed=protocol.seed, limit=_LIMIT, samples=_SAMPLES))
        higher, lower = (float(x[0]) for x in read.tails(read.none))
        p = float(two_sided(higher, lower))
        ahead = higher < lower if side == "B" else lower < higher
        yield WhatIf(kind, best.name, p, ahead and p <= alpha + _SLACK)
