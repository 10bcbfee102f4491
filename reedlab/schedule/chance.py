"""Fixed shuffles: chance from the plan's seed that no replan can change."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence

from ..trial.protocol import Protocol

__all__ = ["draw", "insert_by_chance", "shuffled"]


def draw(protocol: Protocol, *what: object) -> float:
    """Return a number from 0 to 1 that follows from the plan's seed (else its name) and `what` alone."""
    seed = protocol.trial if protocol.seed is None else protocol.seed
    text = "/".join(str(x) for x in (seed, *what))
    return int.from_bytes(hashlib.blake2b(text.encode(), digest_size=8).digest(), "big") / 2**64


def shuffled(protocol: Protocol, number: int, reeds: Iterable[str]) -> list[str]:
    """Return reeds in the chance order of one trial day; one more or less leaves the others' order alone."""
    return sorted(reeds, key=lambda r: (draw(protocol, "order", number, r), r))


def insert_by_chance(protocol: Protocol, number: int, fixed: Sequence[str], more: Iterable[str]) -> list[str]:
    """Put further reeds at chance places among those whose order the plan fixed."""
    out = list(fixed)
    for reed in more:
        out.insert(int(draw(protocol, "place", number, reed) * (len(out) + 1)), reed)
    return out
