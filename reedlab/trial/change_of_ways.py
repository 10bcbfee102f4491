"""First one way, then the other: what is to be done on the days on which no rating says it, the same on every face."""

from __future__ import annotations

from ..wording import tr
from .protocol import Protocol

__all__ = ["told_of_ways"]


def told_of_ways(protocol: Protocol, day: int) -> tuple[str, ...]:
    """Return what is to be said of a trial day of a crossover; nothing of any other trial.

    On the first day of either half which reeds have which way, unless a helper hides it; while the way before wears
    off, that each reed is kept in its way though it is not rated.
    """
    halves = protocol.halves
    if halves is None or not 1 <= day <= protocol.days:
        return ()
    hidden, out = protocol.masked == "helper", []
    if day in (1, halves.change):
        if hidden:
            out.append(tr("From today on your helper keeps every reed one way.") if day == 1 else
                       tr("From today on your helper keeps every reed the other way."))
        else:
            ways = "; ".join(f"{h.name}: {', '.join(r for r in protocol.reeds if protocol.habit_for(r, day) == h)}"
                             for h in protocol.habits)
            out.append((tr("From today on keep each reed in its way. {ways}.") if day == 1 else
                        tr("From today on every reed changes to its other way. {ways}.")).format(ways=ways))
    if halves.of(day) < 0:
        until = halves.effect_days + (halves.first if halves.second(day) else 0)
        out.append(tr("Nothing is rated up to day {day}: what the way before did wears off. Keep every reed in its way "
                      "all the same.").format(day=until))
    return tuple(out)
