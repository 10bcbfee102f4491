"""How the scale was used."""

from __future__ import annotations

from ... import numbers
from ...case import Case
from ._tools import Facts, writes

__all__: list[str] = []


@writes("ceiling")
def _(f: Facts, c: Case) -> str:
    where = "the part of the scale that you use" if f["own"] else "the scale"
    return (f"About {numbers.share(float(f['share']))} ratings sit at the {f['end']} of {where}. A gap can "
            "hide there, so no one can call the two ways the same.")


@writes("all_alike")
def _(f: Facts, c: Case) -> str:
    used = numbers.count(f["values"], "value")
    return (f"The {numbers.count(f['ratings'], 'rating')} are all alike, with {used} used. So small a choice "
            "of points can hide a gap.")
