"""How reeds came to their end, and how the scale was used on them."""

from __future__ import annotations

from ....wording import tr, trn
from ... import numbers
from ...case import Case
from ...names import of_reeds
from ._tools import Facts, hours, listed, reeds, writes

__all__: list[str] = []


@writes("few_worn_out")
def _(f: Facts, c: Case) -> str:
    end = tr("stopped being good") if c.kind == "good" else tr("wore out")
    worn = round(float(f["worn_out"]))
    return tr("{worn} of {reeds} {end}, in {hours} in all. With fewer than ten, lives can hardly be told "
              "apart.").format(worn=tr("Only {worn}").format(
                                        worn=worn) if worn else tr("Not one"), reeds=reeds(f["reeds"]), end=end,
                               hours=hours(f["hours"]))


@writes("worn_out_by_choice")
def _(f: Facts, c: Case) -> str:
    return " ".join([tr("You retired {reeds} as worn out before your own rule said so ({names}).").format(
                         reeds=reeds(f["reeds"]), names=listed(f["names"])),
                     trn("Here it counts as still going at that hour.", "Here they count as still going at that hour.",
                         round(float(f["reeds"])))])


@writes("worn_out_unmarked")
def _(f: Facts, c: Case) -> str:
    return trn("By your own rule, {reeds} was worn out and still in use ({names}). Here it counts as worn out at that "
               "hour.",
               "By your own rule, {reeds} were worn out and still in use ({names}). Here they count as worn out at "
               "that hour.", round(float(f["reeds"]))).format(reeds=reeds(f["reeds"]), names=listed(f["names"]))


@writes("damage_uneven")
def _(f: Facts, c: Case) -> str:
    return tr("Breakage was uneven: {reeds} broke with {name}, and {reeds2} with {name2}. If the habit breaks reeds, "
              "look at the reading that counts breakage.").format(
               reeds=reeds(f["damaged_a"]), name=c.name("A"), reeds2=reeds(f["damaged_b"]), name2=c.name("B"))


@writes("ceiling")
def _(f: Facts, c: Case) -> str:
    where = tr("the part of the scale that you use") if f["own"] else tr("the scale")
    return of_reeds(c.plan,
                    tr("About {share} ratings sit at the {end} of {where}. A gap can hide there, so no one can call "
                       "the two ways the same."),
                    tr("About {share} ratings sit at the {end} of {where}. A gap can hide there, so no one can call "
                       "the two reeds the same.")).format(share=numbers.share(float(f["share"])), where=where,
                                       end=tr("top") if f["end"] == "top" else tr("bottom"))


@writes("all_alike")
def _(f: Facts, c: Case) -> str:
    used = numbers.count(f["values"], "value")
    return tr("The {ratings} are all alike, with {used} used. So small a choice of points can hide a gap.").format(
               ratings=numbers.count(f["ratings"], "rating"), used=used)
