"""What to do next, with the number of reeds or weeks that would settle it."""

from __future__ import annotations

from .. import numbers
from ..case import Case
from . import diary

__all__ = ["next_sentences", "settle_sentences"]

_EASIER = "Meanwhile, use whichever is easier."
_UNEVEN = {
    "missing": "To settle it, run the trial once more and write each rating down at once, the bad ones too.",
    "given_up": "To settle it, run the trial once more and play each reed to its end, the poor ones too.",
}


def next_sentences(case: Case) -> list[str]:
    """Return what the player can do now. Empty while sealed (see `running`)."""
    found = case.main
    if found is None:
        return []
    if case.is_diary:
        return [*diary.fair_trial(case), *settle_sentences(case, "fresh"), _EASIER]
    if case.winner:
        return _winner(case, case.winner)
    if case.verdict == "no_real_difference":
        return ["Use whichever is easier."]
    if case.result.state == "opened_early":
        return ["Play on as planned to the last day, for the full trial can tell more.", _EASIER]
    if case.result.state == "ended_early":
        return ["To settle it, start a new trial and let it run to its end.", *settle_sentences(case), _EASIER]
    uneven = case.remark("uneven")
    if uneven is not None and uneven.fact("held"):
        return [_UNEVEN[str(uneven.fact("kind"))], _EASIER]
    return [*(settle_sentences(case) or ["To settle it, plan a longer trial."]), _EASIER]


def _winner(case: Case, side: str) -> list[str]:
    assert case.main is not None
    name = case.name(side)
    if case.main.exceeds == "perhaps":
        said = [f"If it is little trouble, go on with {name}.",
                "A second trial with fresh reeds would show whether the gap is big enough to matter."]
    else:
        said = [f"Go on with {name}.", "If much hangs on it, run the trial once more with fresh reeds."]
    if case.result.state == "opened_early":
        said.append("You can play on to the last day as planned: it will tell the size better.")
    return said


def settle_sentences(case: Case, start: str = "again") -> list[str]:
    """Return how much would settle the question, or that nothing sensible would. Empty if not worked out.

    `start` is "again" after a trial, "fresh" after a diary.
    """
    s = case.result.settle
    if s is None:
        return []
    gap = case.gap_text
    if s.kind == "never":
        return [_other_plan(case)]
    if s.need is None:
        return [f"To find {gap}, it would take more than one player can sensibly play.",
                "Ask for a bigger gap, or put another question."]
    if s.need <= s.have and s.could_ever:
        return [f"As a rough guide, a new trial of the same size would find {gap} about "
                f"{round(100 * s.chance)} times in 100."]
    said = [(_FRESH if start == "fresh" else _SIZES)[s.kind].format(need=f"{s.need:,}", have=f"{s.have:,}"),
            f"As a rough guide, it would find {gap} about {round(100 * s.chance)} times in 100."]
    if s.weeks is not None and s.weeks == s.weeks:
        said.append(f"At your pace it takes about {numbers.weeks(s.weeks)}.")
    return said


_FRESH = {
    "reeds": "Plan it with about {need} reeds.",
    "days": "Plan it over about {need} days of play.",
    "worn_out": "Plan it to wear out about {need} reeds.",
}
_SIZES = {
    "reeds": "To settle it, plan a new trial with about {need} reeds; this one had {have}.",
    "days": "To settle it, plan a new trial of about {need} days of play; this one had {have}.",
    "worn_out": "To settle it, plan a new trial that wears out about {need} reeds; this one wore out {have}.",
}


def _other_plan(case: Case) -> str:
    if case.is_ratio:
        return "No trial of lives that you can play will settle it; ask for ratings or wear instead."
    return "This plan can't settle it; plan a new trial with more matched sets."
