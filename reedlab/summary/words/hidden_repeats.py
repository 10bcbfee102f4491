"""How often a player names a difference where there is none, in plain words."""

from __future__ import annotations

from ...trial.ear_results import Repeats
from ...wording import tr, trn
from .. import numbers

__all__ = ["hidden_sentences"]


def hidden_sentences(found: Repeats) -> list[str]:
    """Return what hidden repeats tell of the player."""
    n, k = found.same, found.called
    low, high = (numbers.share(x) for x in found.called_range)
    out = [trn("{n} pair was one reed twice. You named a difference in {k}.",
               "{n} pairs were one reed twice. You named a difference in {k}.", n).format(n=n, k=k or tr("none")),
           tr("So where there is none, you name one in {low} to {high} cases, as far as {n} pairs can tell.").format(
               low=low, high=high, n=n)]
    if found.different:
        out.append(trn("{n} pair was two reeds. You named a difference in {k}.",
                       "{n} pairs were two reeds. You named a difference in {k}.", found.different).format(
                           n=found.different, k=found.told or tr("none")))
    if found.spread > 0:
        low, high = (numbers.size(x) for x in found.spread_range)
        out.append(tr("What you said of one reed against itself scatters by {size}, and that could be {low} to "
                      "{high}.").format(size=numbers.size(found.spread), low=low, high=high))
    if found.lean_range[0] > 0 or found.lean_range[1] < 0:
        out.append((tr("You favour the first go by {size}, whatever it is.") if found.lean > 0 else
                    tr("You favour the second go by {size}, whatever it is.")).format(
                        size=numbers.size(abs(found.lean))))
        out.append(tr("A trial back to back lets chance set the order, so that this falls on both alike."))
    if 2 * k > n:
        out.append(tr("You seldom say \"no difference\". That is no fault: a trial takes the mean of many pairs."))
    return out
