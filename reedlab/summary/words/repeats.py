"""A trial that is not the first of its question: how that is allowed for."""

from __future__ import annotations

from ...wording import tr
from .. import numbers

__all__ = ["repeat_sentences"]


def repeat_sentences(number: int, p_needed: float, together: str = "") -> list[str]:
    """Return how a player's n-th trial of a question is judged; `together` is what all of them say."""
    nth = {1: "st", 2: "nd", 3: "rd"}.get(number % 10 if number % 100 not in (11, 12, 13) else 0, "th")
    # other tongues may leave {nth} out
    return [tr("This is your {number}{nth} trial of this question.").format(number=number, nth=nth),
            tr("Who tries until a winner turns up will find one by luck, so a repeat names a winner only if shuffling "
               "alone would give such a gap {rare}.").format(rare=numbers.rare(p_needed)),
            together or tr("All your trials put together tell more than this one.")]
