"""Why not just try it, in words: what the casual comparison tells players, and what a fair plan does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from ...wording import tr, trn
from .. import numbers

__all__ = ["METHOD_WORDS", "alike_sentences", "alike_title", "apart_sentences", "apart_title", "one_sentences",
           "one_title", "times"]

#: How each way of comparing is called in the figures.
METHOD_WORDS: Final = {
    "one reed": tr("A fortnight each way, one reed at a time"),
    "three reeds": tr("A fortnight each way, three reeds in turn"),
    "fair": tr("reedlab: four reeds, one fortnight, shuffled"),
}


def times(count: int, players: int) -> str:
    """Return a count as times in 100, in words."""
    share = 100 * count / players
    if count == 0:
        return tr("not once")
    if share < 1:
        return tr("less than 1 time in 100")
    return numbers.times_in_100(round(share))


def one_title(before: float, after: float) -> str:
    """Return the title of one player's two fortnights."""
    said = (tr("The ratings rose from {before:.1f} to {after:.1f}. The two ways are alike.") if after > before else
            tr("The ratings fell from {before:.1f} to {after:.1f}. The two ways are alike."))
    return said.format(before=before, after=after)


def one_sentences(before: float, after: float) -> list[str]:
    """Return what happened to one player who just tried it."""
    better = (tr("The mean went from {before:.1f} to {after:.1f}. The usual sum, a t-test, calls the second way "
                 "better.")
              if after > before else
              tr("The mean went from {before:.1f} to {after:.1f}. The usual sum, a t-test, calls the first way "
                 "better."))
    return [
        tr("This player kept to one way for a fortnight, and then to the other. The reed was rated once a day."),
        better.format(before=before, after=after),
        tr("It is not. We made this player up, and both ways do just the same to these reeds."),
        tr("What moved was all the rest. The reed wore, or a new one took its place. Mood, taste and the air drifted."),
        tr("All that fell on one way only, since the ways came one after the other."),
    ]


def alike_title(casual: float) -> str:
    """Return the title of the figure on ways that are alike; `casual` is the share told of a better way."""
    return tr("The two ways are alike. Still, just trying it names a winner {casual:.0f} times in 100.").format(
               casual=100 * casual)


def alike_sentences(casual: tuple[int, int], fair: tuple[int, int], fair_ends: Sequence[float]) -> list[str]:
    """Return what is told where the ways are alike: (told of a winner, players) for the casual and the fair way."""
    low, high = (100 * x for x in fair_ends)
    return [
        tr("With one reed at a time, just trying it named a winner {times}. There was none to name.").format(
            times=times(*casual)),
        tr("The fair plan did so {times}. With so many players, that fits anything from {low:.1f} to {high:.1f}. The "
           "promise is at most 5.").format(times=times(*fair), low=low, high=high),
        tr("More reeds in turn help a bit, but not enough. More days would not help: they give drift more time."),
    ]


def apart_title(gap: float) -> str:
    """Return the title of the figure on ways that differ."""
    return trn("Now one way is truly better by {gap:g} point. Who is told the truth?",
               "Now one way is truly better by {gap:g} points. Who is told the truth?", gap).format(gap=gap)


def apart_sentences(casual: tuple[int, int], fair: tuple[int, int, int], players: int) -> list[str]:
    """Return what is told where the ways differ: (right, wrong) casually; (right, wrong, "no difference") fairly."""
    return [
        tr("Just trying it with one reed named the right way {times} and the wrong way {times2}.").format(
            times=times(casual[0], players), times2=times(casual[1], players)),
        tr("The fair plan named the right way {times} and the wrong way {times2}. It said \"no difference that "
           "matters\" {times3}. It took half the days.").format(
            times=times(fair[0], players), times2=times(fair[1], players), times3=times(fair[2], players)),
        tr("When the fair plan cannot tell, it says so, and says what would settle it. Just trying it never says so."),
    ]
