"""What may be evened out: never what the habits may change."""

from __future__ import annotations

from collections.abc import Iterable

from ...trial.outcomes import OUTCOMES
from ...trial.protocol import Protocol

__all__ = ["ADJUSTMENTS", "BEFORE", "adjustments", "allowed_adjustments"]

ADJUSTMENTS = ("day", "age_hours", "humidity", "first_play", "break_in", "order")

#: What is known of a reed from before its trial; a plan evens out one of them.
BEFORE = ("first_play", "break_in")

#: Defaults that set how long or how often a reed is played: a habit that overrides one sets the hours.
_HOURS_FACTS = frozenset({"break_in_ramp_min", "daily_limit_min", "rotation_size"})


def allowed_adjustments(
    design: str, outcome: str, *, unit_kind: str = "reed", same_days: bool = True,
    overrides: Iterable[tuple[str, str, float]] = (), question: str = "",
) -> tuple[str, ...]:
    """Return what may be evened out in such a trial, in the order of `ADJUSTMENTS`.

    Never what the habit may change: hours (and day and order) where the habit sets how long or when a reed
    is played. With one reed to a matched set of days
    neither day nor hours: within a set the later sitting is always the older, so shuffling decides how far
    the two habits can be told from time. Lives and pairs are not adjusted.

    Parameters
    ----------
    design, outcome : str
        As in `Protocol`.
    unit_kind : str
        "reed", "sitting" or "diagonal"; only used day by day.
    same_days : bool
        False where the habit itself sets which days a reed is played.
    overrides : iterable of (habit key, default it replaces, value)
        As in `Protocol`.
    question : str
        Key of the question.
    """
    card = OUTCOMES[outcome]
    if card.lives or card.pairs:  # a pair has nothing left to even out: one reed, one day, minutes apart
        return ()
    if design == "day_by_day":
        out = {"humidity", "order"} if unit_kind == "sitting" else {"day", "age_hours", "humidity", "order"}
    elif card.crossover:  # what a reed was worth before, and the day for all, have fallen out; hours part the halves
        out = {"humidity", "order"}
    elif card.per_hour:
        out = {"humidity", "order", *BEFORE}
    else:
        out = set(ADJUSTMENTS)
    if not same_days:
        out -= {"day", "age_hours", "order"}
    if any(fact in _HOURS_FACTS for _, fact, _ in overrides):
        out -= {"age_hours"}
    if question == "break_in":
        out -= {"age_hours"}
    return tuple(a for a in ADJUSTMENTS if a in out)


def adjustments(protocol: Protocol, outcome: str | None = None) -> tuple[str, ...]:
    """Return what a plan means to even out, as far as that may be; for another outcome than its own if one is given."""
    allowed = allowed_adjustments(protocol.design, protocol.outcome if outcome is None else outcome,
                                  unit_kind=protocol.unit_kind, same_days=protocol.same_days,
                                  overrides=protocol.overrides, question=protocol.question)
    return tuple(a for a in protocol.adjust if a in allowed)
