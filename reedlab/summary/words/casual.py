"""Why not just try it, in words: what the casual comparison tells players, and what a fair plan does."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

__all__ = ["METHOD_WORDS", "alike_sentences", "alike_title", "apart_sentences", "apart_title", "one_sentences",
           "one_title", "times"]

#: How each way of comparing is called in the figures.
METHOD_WORDS: Final = {
    "one reed": "A fortnight each way, one reed at a time",
    "three reeds": "A fortnight each way, three reeds in turn",
    "fair": "reedlab: four reeds, one fortnight, shuffled",
}


def times(count: int, players: int) -> str:
    """Return a count as times in 100, in words."""
    share = 100 * count / players
    if count == 0:
        return "not once"
    if share < 1:
        return "less than 1 time in 100"
    return f"about {share:.0f} time{'' if round(share) == 1 else 's'} in 100"


def one_title(before: float, after: float) -> str:
    """Return the title of one player's two fortnights."""
    moved = "rose" if after > before else "fell"
    return f"The ratings {moved} from {before:.1f} to {after:.1f}. The two ways are alike."


def one_sentences(before: float, after: float) -> list[str]:
    """Return what happened to one player who just tried it."""
    better = "second" if after > before else "first"
    return [
        "This player kept to one way for a fortnight, and then to the other. The reed was rated once a day.",
        f"The mean went from {before:.1f} to {after:.1f}. The usual sum, a t-test, calls the {better} way better.",
        "It is not. We made this player up, and both ways do just the same to these reeds.",
        "What moved was all the rest. The reed wore, or a new one took its place. Mood, taste and the air drifted.",
        "All that fell on one way only, since the ways came one after the other.",
    ]


def alike_title(casual: float) -> str:
    """Return the title of the figure on ways that are alike; `casual` is the share told of a better way."""
    return f"The two ways are alike. Still, just trying it names a winner {100 * casual:.0f} times in 100."


def alike_sentences(casual: tuple[int, int], fair: tuple[int, int], fair_ends: Sequence[float]) -> list[str]:
    """Return what is told where the ways are alike: (told of a winner, players) for the casual and the fair way."""
    low, high = (100 * x for x in fair_ends)
    return [
        f"With one reed at a time, just trying it named a winner {times(*casual)}. There was none to name.",
        f"The fair plan did so {times(*fair)}. With so many players, that fits anything from {low:.1f} to {high:.1f}. "
        "The promise is at most 5.",
        "More reeds in turn help a bit, but not enough. More days would not help: they give drift more time.",
    ]


def apart_title(gap: float) -> str:
    """Return the title of the figure on ways that differ."""
    return f"Now one way is truly better by {gap:g} point{'' if gap == 1 else 's'}. Who is told the truth?"


def apart_sentences(casual: tuple[int, int], fair: tuple[int, int, int], players: int) -> list[str]:
    """Return what is told where the ways differ: (right, wrong) casually; (right, wrong, "no difference") fairly."""
    return [
        f"Just trying it with one reed named the right way {times(casual[0], players)} and the wrong way "
        f"{times(casual[1], players)}.",
        f"The fair plan named the right way {times(fair[0], players)} and the wrong way {times(fair[1], players)}. "
        f"It said \"no difference that matters\" {times(fair[2], players)}. It took half the days.",
        "When the fair plan cannot tell, it says so, and says what would settle it. Just trying it never says so.",
    ]
