"""How the scale was used."""

from __future__ import annotations

from ....wording import tr
from ... import numbers
from ...case import Case
from ..of_reeds import of_reeds
from ._tools import Facts, writes

__all__: list[str] = []


@writes("ceiling")
def _(f: Facts, c: Case) -> str:
    where = tr("the part of the scale that you use") if f["own"] else tr("the scale")
    return of_reeds(c, tr("About {share} ratings sit at the {end} of {where}. A gap can hide there, so no one can "
                          "call the two ways the same.")).format(share=numbers.share(float(f["share"])), where=where,
                                       end=tr("top") if f["end"] == "top" else tr("bottom"))


@writes("all_alike")
def _(f: Facts, c: Case) -> str:
    used = numbers.count(f["values"], "value")
    return tr("The {ratings} are all alike, with {used} used. So small a choice of points can hide a gap.").format(
               ratings=numbers.count(f["ratings"], "rating"), used=used)
