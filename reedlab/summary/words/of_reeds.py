"""Two reeds side by side: what is said of ways in any other trial, said of reeds."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from ...trial.protocol import Protocol
from ...wording import tr
from ..case import Case

__all__ = ["of_reeds"]

_REEDS: Final = MappingProxyType({
    # how sure
    tr("If the two ways were alike, shuffling alone would give a gap this big {often}."):
        tr("If the two reeds were alike, shuffling alone would give a gap this big {often}."),
    tr("With two ways that are just alike, {often} trials in 100 name a winner by luck, and this could be one of "
       "them."):
        tr("With two reeds that are just alike, {often} trials in 100 name a winner by luck, and this could be one of "
           "them."),
    tr("Two ways that are just alike can still name a winner by luck, and this could be such a trial."):
        tr("Two reeds that are just alike can still name a winner by luck, and this could be such a trial."),
    tr("Still, this trial is not fit to call the two ways alike."):
        tr("Still, this trial is not fit to call the two reeds alike."),
    tr("All of that is less than {matters_text}, the gap that you said would matter. Still, this trial is not fit to "
       "call the two ways alike."):
        tr("All of that is less than {matters_text}, the gap that you said would matter. Still, this trial is not fit "
           "to call the two reeds alike."),
    # what next
    tr("Use whichever is easier."): tr("Take either of them."),
    tr("Meanwhile, use whichever is easier."): tr("Meanwhile, take either of them."),
    tr("If it is little trouble, go on with {name}."): tr("If nothing speaks for the other, take {name}."),
    tr("Go on with {name}."): tr("Take {name}."),
    tr("If much hangs on it, run the trial once more with fresh reeds."):
        tr("Reeds change: if much hangs on it, try both once more shortly before."),
    # what it rests on
    tr("It rests on {n}, each one reed tried both ways within minutes. Chance set which way went first, half of each "
       "of {sets} either way, so going first or second favours neither."):
        tr("It is about these two reeds on these days, and no others. It rests on {n} in {sets}, each of both reeds "
           "within minutes. Chance set which began, each as often as the other, so going first or second favours "
           "neither."),
    tr("Where you wrote down which way you used, {share} went as planned."):
        tr("Where you wrote down which reed began, {share} went as planned."),
    tr("Where you wrote down which way you used, {done} went as planned."):
        tr("Where you wrote down which reed began, {done} went as planned."),
    # remarks
    tr("A helper hid which way was which as far as could be."):
        tr("A helper hid which reed was which as far as could be."),
    tr("You knew which way was which when you rated, and hope can lift a rating."):
        tr("You knew which reed was which, and hope can sway you."),
    tr("In {n} of {sittings}, you began with the other way than planned. That can make a true gap look smaller."
       "{confirmed}"):
        tr("In {n} of {sittings}, you began with the other reed than planned. That can make a true gap look smaller."
           "{confirmed}"),
    tr("The range is narrow, but the two ways can't be called the same, because {held}."):
        tr("The range is narrow, but the two reeds can't be called the same, because {held}."),
    tr("About {share} ratings sit at the {end} of {where}. A gap can hide there, so no one can call the two ways the "
       "same."):
        tr("About {share} ratings sit at the {end} of {where}. A gap can hide there, so no one can call the two reeds "
           "the same."),
    # the report
    tr("A trial by one player on that player's own reeds, with the two ways shuffled."):
        tr("A trial by one player of two reeds, tried side by side in an order set by chance."),
    tr("Back to back: each reed is tried both ways within ten minutes; chance sets which goes first."):
        tr("Side by side: both reeds are tried within ten minutes; chance sets which goes first."),
    tr("The effect of a way is taken to be gone in a moment."):
        tr("The one reed is taken to leave nothing behind for the other."),
    tr("Dealt by computer: within each matched set, the same number for each way, every deal as likely as any other."):
        tr("Dealt by computer: within each set of pairs, as many begin with each reed, every deal as likely as any "
           "other."),
    tr("Dealt by computer from the seed {seed}: within each matched set, the same number for each way, every deal as "
       "likely as any other."):
        tr("Dealt by computer from the seed {seed}: within each set of pairs, as many begin with each reed, every deal "
           "as likely as any other."),
    tr("What each got stands in the table of the order of the ways."):
        tr("Which reed began stands in the table of the order, with every value."),
    tr("The computer dealt. You chose the reeds before and carried out both ways after."):
        tr("The computer dealt. You chose the two reeds before and played both after."),
    tr("A helper hid which way was which, as far as that could be done."):
        tr("A helper hid which reed was which, as far as that could be done."),
    tr("Nothing was hidden. You knew which way was which when you rated."):
        tr("Nothing was hidden. You knew which reed was which."),
    tr("{one_number}, worked out without looking at the ways."):
        tr("{one_number}, worked out without looking at which reed began."),
    tr("Then the two ways are dealt again in every manner that the plan allowed (or in a large sample of them), and "
       "one counts how often that gives a gap as large."):
        tr("Then which reed begins is dealt again in every manner that the plan allowed (or in a large sample of "
           "them), and one counts how often that gives a gap as large."),
    tr("The two ways are called alike only if the {level} range lies wholly inside what would not matter."):
        tr("The two reeds are called alike only if the {level} range lies wholly inside what would not matter."),
    tr("Answers about one reed in one order were spread by {size} here."):
        tr("Answers in one order were spread by {size} here, changes of the reeds from day to day among them."),
    tr("Another test may come out a little different: such tests do not know that half of each set of pairs began "
       "with either way."):
        tr("Another test may come out a little different: such tests do not know that each reed began half of the "
           "pairs of a set."),
    tr("You were not asked to guess which way was which: weeks later, no one can say that of single days."):
        tr("You were not asked to guess which reed was which: weeks later, no one can say that of single days."),
    # before the start
    tr("If one way {is_better}, this plan names it {how_often}."):
        tr("If one reed {is_better}, this plan names it {how_often}."),
    tr("If one way {is_better}, such a plan names it {how_often}."):
        tr("If one reed {is_better}, such a plan names it {how_often}."),
    tr("whether a reed plays better with {a} or with {b}, one straight after the other"):
        tr("whether {a} or {b} plays better, one straight after the other"),
    tr("Each reed is tried both ways within ten minutes, in an order set by chance"):
        tr("Both reeds are tried within ten minutes, in an order set by chance"),
})


def of_reeds(case: Case | Protocol, text: str) -> str:
    """Return the pattern of a sentence about ways; of two reeds side by side, the one about reeds."""
    return _REEDS.get(text, text) if (case if isinstance(case, Protocol) else case.plan).two_reeds else text
