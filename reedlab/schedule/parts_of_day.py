"""Share a day's minutes among its reeds so that both habits keep the same minutes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

__all__ = ["STEP", "share"]

#: Minutes are planned in steps of five.
STEP = 5.0


def share(reeds: Sequence[str], low: Mapping[str, float], high: Mapping[str, float], minutes: float,
          habit: Mapping[str, str | None], arm: Mapping[str, float], total: Mapping[str, float],
          slack: float) -> dict[str, float]:
    """Give each reed its least minutes, then share the rest five by five.

    Each step goes to a reed of the habit that has had fewer minutes so far, today's included, and there to the
    reed with fewest today, then fewest in all. What would set one habit ahead of the other by more than `slack`
    stays free.

    Parameters
    ----------
    low, high : mapping of reed to minutes
        Least and most for each today.
    minutes : float
        The day's minutes for all.
    habit : mapping of reed to habit key, None where it counts for neither
    arm, total : mapping to minutes so far, by habit and by reed
    """
    given = {r: min(low[r], high[r]) for r in reeds}
    keys = sorted(set(arm) | {h for h in habit.values() if h is not None})
    stand = {k: arm.get(k, 0.0) for k in keys}
    for r in reeds:
        if habit[r] is not None:
            stand[str(habit[r])] += given[r]
    left = minutes - sum(given.values())
    while left >= STEP - 1e-9:
        open_ = [r for r in reeds if given[r] + STEP <= high[r] + 1e-9]
        open_ = [r for r in open_ if habit[r] is None or _ahead(stand, str(habit[r])) + STEP <= slack + 1e-9]
        if not open_:
            break
        r = min(open_, key=lambda r: (stand.get(str(habit[r]), 0.0), given[r], total.get(r, 0.0), r))
        given[r] += STEP
        left -= STEP
        if habit[r] is not None:
            stand[str(habit[r])] += STEP
    return given


def _ahead(stand: Mapping[str, float], key: str) -> float:
    return stand[key] - min(v for k, v in stand.items() if k != key) if len(stand) > 1 else -1e9
