"""What the answer can and cannot say."""

from __future__ import annotations

from ... import numbers
from ...case import Case
from ._tools import Facts, writes

__all__: list[str] = []


@writes("could_never_tell")
def _(f: Facts, c: Case) -> str:
    if f["why"] == "no_worn_out":
        return "This trial could never have told: no reed came to the end that counts."
    if f["why"] == "early" or c.early:
        return "Read this early, the trial could not have told, whatever the result."
    if f["why"] == "too_few_worn_out":
        return ("This trial could never have told. With so few reeds at their end, even the clearest result would come "
                f"up by shuffling alone {numbers.chance(float(f['least_p']))}.")
    return ("This trial could never have told. Even the clearest result would come up by shuffling alone "
            f"{numbers.chance(float(f['least_p']))}.")


@writes("wide_range")
def _(f: Facts, c: Case) -> str:
    return "The range is wide: a gap that matters is possible both ways. Don't read this as no difference."


_HELD = {
    "ceiling": "ratings sit at an end of the scale, where a gap can hide",
    "all_alike": "the ratings are all alike",
    "as_done": "the reading by what you really did does not agree",
    "early": "the trial was read early",
}


@writes("same_held_back")
def _(f: Facts, c: Case) -> str:
    return ("The range is narrow, but the two ways can't be called the same, because "
            f"{_HELD.get(str(f['why']), 'the ratings do not allow it')}.")


@writes("as_done_differs")
def _(f: Facts, c: Case) -> str:
    return ("Read by what you really did, the answer comes out another way. Take it with care.")
