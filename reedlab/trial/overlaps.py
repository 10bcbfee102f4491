"""A reed serves one trial at a time: which plans share reeds on the same days. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from ..wording import trn
from .calendar import calendar_with
from .protocol import Protocol

__all__ = ["Overlap", "overlap_words", "overlaps"]


class Overlap(NamedTuple):
    """Two plans, by their places (`first` begins no later), and the reeds they share on some day."""

    first: int
    second: int
    reeds: tuple[str, ...]


def overlaps(plans: Sequence[tuple[Protocol, date | None]], paused: Iterable[date] = ()) -> list[Overlap]:
    """Return every pair of trials that hold a reed on the same day.

    Parameters
    ----------
    plans : sequence of (Protocol, date or None)
        Each plan with the day its trial was ended by hand; from that day on its reeds are free.
    paused : iterable of date
        Days that shift a trial's end. Without them the days as planned are compared.

    Notes
    -----
    An old diary (not shuffled, nothing planned) holds no reed.
    """
    skip = set(paused)
    spans = [(p.start, calendar_with(p, skip, ended).last_held, p.served_since, n) for n, (p, ended) in enumerate(plans)
             if p.how_dealt != "not" or p.slots]
    spans.sort(key=lambda s: (s[0], s[3]))
    out = []
    for k, (_, last, reeds, n) in enumerate(spans):
        for start, other_last, others, m in spans[k + 1:]:
            if start <= last and start <= other_last:
                end = min(last, other_last)
                shared = sorted(r for r in reeds.keys() & others if max(reeds[r], others[r]) <= end)
                out += [Overlap(n, m, tuple(shared))] if shared else []
    return out


def overlap_words(trial: str, reeds: Sequence[str]) -> tuple[str, str]:
    """Return what was found and what is wanted, for the plan that takes the reeds of another trial."""
    return (trn("reed {reeds} in the plan", "reeds {reeds} in the plan", len(reeds)).format(reeds=", ".join(reeds)),
            trn("reeds that serve in no other trial at the same time; '{trial}' has it",
                "reeds that serve in no other trial at the same time; '{trial}' has them",
                len(reeds)).format(trial=trial))
