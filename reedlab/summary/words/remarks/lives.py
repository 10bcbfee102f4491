"""How reeds came to their end."""

from __future__ import annotations

from ...case import Case
from ._tools import Facts, agree, hours, listed, reeds, writes

__all__: list[str] = []


@writes("few_worn_out")
def _(f: Facts, c: Case) -> str:
    end = "stopped being good" if c.kind == "good" else "wore out"
    worn = round(float(f["worn_out"]))
    return (f"{f'Only {worn}' if worn else 'Not one'} of {reeds(f['reeds'])} {end}, in {hours(f['hours'])} in all. "
            "With fewer than ten, lives can hardly be told apart.")


@writes("worn_out_by_choice")
def _(f: Facts, c: Case) -> str:
    return (f"You retired {reeds(f['reeds'])} as worn out before your own rule said so "
            f"({listed(f['names'])}). Here {agree(f['reeds'], 'it counts', 'they count')} as still going at "
            "that hour.")


@writes("worn_out_unmarked")
def _(f: Facts, c: Case) -> str:
    return (f"By your own rule, {reeds(f['reeds'])} {agree(f['reeds'], 'was', 'were')} worn out and still in "
            f"use ({listed(f['names'])}). Here {agree(f['reeds'], 'it counts', 'they count')} as worn out at "
            "that hour.")


@writes("damage_uneven")
def _(f: Facts, c: Case) -> str:
    return (f"Breakage was uneven: {reeds(f['damaged_a'])} broke with {c.name('A')}, and "
            f"{reeds(f['damaged_b'])} with {c.name('B')}. If the habit breaks reeds, look at the reading that "
            "counts breakage.")
