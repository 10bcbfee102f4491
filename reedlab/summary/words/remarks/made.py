"""How the trial was made: shuffling, matched sets, boxes, who knew."""

from __future__ import annotations

from typing import Any

from ....wording import tr
from ... import numbers
from ...case import Case
from ...names import of_reeds
from ._tools import Facts, listed, reeds, writes

__all__: list[str] = []


@writes("not_randomised")
def _(f: Facts, c: Case) -> str:
    return tr("The two ways were not shuffled. Weather, new music or a change of taste may have made the gap, so this "
              "is only a hint.")


@writes("ratings_not_reeds")
def _(f: Facts, c: Case) -> str:
    return tr("You rated {times_over}, but on only {reeds}. Many ratings of one reed are still one reed.").format(
               times_over=numbers.times_over(float(f["ratings"])), reeds=reeds(f["reeds"]))


@writes("too_few_blocks")
def _(f: Facts, c: Case) -> str:
    return tr("With {sets}, even the clearest result would come up by shuffling alone {chance}. This plan can't name a "
              "winner.").format(sets=c.sets(float(f["blocks"])), chance=numbers.chance(float(f["least_p"])))


@writes("box_is_arm")
def _(f: Facts, c: Case) -> str:
    if c.plan.of_boxes:
        return tr("The answer is about these two boxes. A cut comes in boxes, and boxes of one cut differ too, so box "
                  "and cut can't be told apart here.")
    return tr("Each box was used with one way only: {name} with {boxes}, and {name2} with {boxes2}. A gap may come "
              "from the boxes.").format(name=c.name("A"), boxes=_boxes(f["box_a"]), name2=c.name("B"),
                                        boxes2=_boxes(f["box_b"]))


def _boxes(names: Any) -> str:
    return (tr("boxes {names}") if "," in str(names) else tr("box {names}")).format(names=listed(names))


@writes("days_apart")
def _(f: Facts, c: Case) -> str:
    said = tr("The two ways were played on different days, so a slow change of taste or air can look like a gap.") + " "
    if float(f["level"]) > 0.95:
        return tr("{said}To make up for it, a winner needs a clearer gap here than in other trials.").format(said=said)
    return tr("{said}Where there is none, this kind of trial names a winner up to 7 times in 100, not 5.").format(
               said=said)


@writes("one_box")
def _(f: Facts, c: Case) -> str:
    return tr("All {reeds} came from box {box}. Another box may give another answer.").format(
               reeds=reeds(f["reeds"]), box=f["box"])


@writes("knew_which")
def _(f: Facts, c: Case) -> str:
    known = (of_reeds(c.plan, tr("A helper hid which way was which as far as could be."),
                      tr("A helper hid which reed was which as far as could be.")) if f["masked"] == "helper"
             else of_reeds(c.plan, tr("You knew which way was which when you rated, and hope can lift a rating."),
                           tr("You knew which reed was which, and hope can sway you.")))
    expected = str(f["expected"] or "")
    if not expected:
        return known
    if expected == "same":
        return tr("{known} You had expected no gap.").format(known=known)
    return tr("{known} You had expected {name_of} to do better.").format(known=known, name_of=c.name_of(expected))
