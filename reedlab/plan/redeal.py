"""Every deal a frozen plan could have made, and the deal it did make, from the plan alone."""

from __future__ import annotations

from collections.abc import Iterator

from ..errors import ProtocolError
from ..trial.arrays import BoolArray
from ..trial.dealing import all_arrangements, draw_from
from ..trial.protocol import Protocol
from ..wording import tr

__all__ = ["arrangements", "redeal"]


def arrangements(protocol: Protocol, *, draws: int | None = None, seed: int = 0) -> Iterator[BoolArray]:
    """Yield the allowed arrangements of a plan as bool matrices: rows arrangements, columns `protocol.units`.

    True is the second habit. All arrangements once, or, with `draws`, so many drawn at random.

    Raises
    ------
    InputError
        Without `draws`, where there are more than 2^32 arrangements.
    """
    layout = protocol.layout
    if draws is None:
        yield from all_arrangements(layout)
    else:
        yield draw_from(layout, draws, seed)


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
    first, second = (h.key for h in protocol.habits)
    return tuple(second if b else first for b in draw_from(protocol.layout, 1, protocol.seed)[0])
