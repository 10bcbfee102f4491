"""Every deal a frozen plan could have made, and the deal it did make, from the plan alone."""

from __future__ import annotations

from collections.abc import Hashable, Iterator

from ..errors import ProtocolError
from ..trial.arrays import BoolArray
from ..trial.dealing import all_arrangements, counts_of_b, deal, draw_arrangements
from ..trial.protocol import Protocol
from ..wording import tr

__all__ = ["arrangements", "redeal"]


def _frame(protocol: Protocol) -> tuple[list[str], dict[Hashable, int]]:
    blocks = [u.block for u in protocol.units]
    return blocks, counts_of_b(blocks, [k == protocol.habits[1].key for k in protocol.dealt])


def arrangements(protocol: Protocol, *, draws: int | None = None, seed: int = 0) -> Iterator[BoolArray]:
    """Yield the allowed arrangements of a plan as bool matrices: rows arrangements, columns `protocol.units`.

    True is the second habit. All arrangements once, or, with `draws`, so many drawn at random.

    Raises
    ------
    InputError
        Without `draws`, where there are more than 2^32 arrangements.
    """
    blocks, counts = _frame(protocol)
    if draws is None:
        yield from all_arrangements(blocks, counts)
    else:
        yield draw_arrangements(blocks, counts, draws, seed)


def redeal(protocol: Protocol) -> tuple[str, ...]:
    """Deal a plan again from its stored seed; equals `protocol.dealt` for every plan dealt by seed.

    Raises
    ------
    ProtocolError
        The plan was not dealt from a seed (by hand, or not at all).
    """
    if protocol.how_dealt != "seed" or protocol.seed is None:
        raise ProtocolError(tr("The plan `{trial}` was not dealt from a seed, so it cannot be dealt again.").format(
                                trial=protocol.trial))
    blocks, counts = _frame(protocol)
    first, second = (h.key for h in protocol.habits)
    return tuple(second if b else first for b in deal(blocks, counts, seed=protocol.seed))
