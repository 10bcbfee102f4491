"""How the trial was made: shuffling, matched sets, boxes, who knew."""

from __future__ import annotations

from typing import Any

from ... import numbers
from ...case import Case
from ._tools import Facts, listed, reeds, writes

__all__: list[str] = []


@writes("not_randomised")
def _(f: Facts, c: Case) -> str:
    return ("The two ways were not shuffled. Weather, new music or a change of taste may have made the gap, "
            "so this is only a hint.")


@writes("ratings_not_reeds")
def _(f: Facts, c: Case) -> str:
    return (f"You rated {numbers.times_over(float(f['ratings']))}, but on only {reeds(f['reeds'])}. Many "
            "ratings of one reed are still one reed.")


@writes("too_few_blocks")
def _(f: Facts, c: Case) -> str:
    return (f"With {c.sets(float(f['blocks']))}, even the clearest result would come up by "
            f"shuffling alone {numbers.chance(float(f['least_p']))}. This plan can't name a winner.")


@writes("box_is_arm")
def _(f: Facts, c: Case) -> str:
    if c.two_boxes:
        return ("The answer is about these two boxes. A cut comes in boxes, and boxes of one cut differ too, so box "
                "and cut can't be told apart here.")
    return (f"Each box was used with one way only: {c.name('A')} with {_boxes(f['box_a'])}, and "
            f"{c.name('B')} with {_boxes(f['box_b'])}. A gap may come from the boxes.")


def _boxes(names: Any) -> str:
    return ("boxes " if "," in str(names) else "box ") + listed(names)


@writes("days_apart")
def _(f: Facts, c: Case) -> str:
    said = "The two ways were played on different days, so a slow change of taste or air can look like a gap. "
    if float(f["level"]) > 0.95:
        return said + "To make up for it, a winner needs a clearer gap here than in other trials."
    return said + "Where there is none, this kind of trial names a winner up to 7 times in 100, not 5."


@writes("one_box")
def _(f: Facts, c: Case) -> str:
    return f"All {reeds(f['reeds'])} came from box {f['box']}. Another box may give another answer."


@writes("knew_which")
def _(f: Facts, c: Case) -> str:
    known = ("A helper hid which way was which as far as could be." if f["masked"] == "helper"
             else "You knew which way was which when you rated, and hope can lift a rating.")
    expected = str(f["expected"] or "")
    if not expected:
        return known
    if expected == "same":
        return f"{known} You had expected no gap."
    return f"{known} You had expected {c.name_of(expected)} to do better."
