"""Same days for both ways: the matched sets of each day, and when a missed one is made up.

A turn is the part of one matched set that the plan puts on one day. It moves as a whole or not at all, so the
reeds of a set stay on the same days, and nothing here looks at what was dealt.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from ..protocol import Protocol
from .chance import shuffled
from .diary import Diary

__all__ = ["Turn", "Turns"]


@dataclass(frozen=True)
class Turn:
    """Reeds of one set, in the plan's order, due on trial day `day`; `part` where it had to be cut."""

    day: int
    block: str
    reeds: tuple[str, ...]
    part: int = 0


class Turns:
    """All turns of a plan and which are still open.

    A turn counts as played once any of its reeds was rated for it: on its day, or on a later day that belonged
    to no turn of that reed. A turn of which only some reeds were rated is not made up: doing so would put a set on
    different days.
    """

    def __init__(self, diary: Diary, most: int) -> None:
        self.diary = diary
        self.cut = False
        self.all = list(self._laid_out(diary.protocol, most))
        self.open = self._still_open()

    def _laid_out(self, protocol: Protocol, most: int) -> Iterable[Turn]:
        block = {r: u.block for u in protocol.units for r in u.reeds}
        days: dict[tuple[int, str], list[str]] = {}
        for s in sorted(protocol.slots, key=lambda s: (s.day, s.order)):
            days.setdefault((s.day, block.get(s.reed, "")), []).append(s.reed)
        if not protocol.slots:
            days = _without_slots(protocol, most)
        for (day, name), reeds in days.items():
            for part, i in enumerate(range(0, len(reeds), max(1, most))):
                self.cut |= i > 0
                yield Turn(day, name, tuple(reeds[i:i + max(1, most)]), part)

    def _still_open(self) -> list[Turn]:
        planned: dict[str, list[int]] = {}
        for t in self.all:
            for r in t.reeds:
                planned.setdefault(r, []).append(t.day)
        met: set[tuple[str, int]] = set()
        for reed, days in planned.items():
            got = sorted({n for d in self.diary.rated[reed] if (n := self.diary.number(d)) is not None})
            met |= {(reed, d) for d in days if d in got}
            spare = [n for n in got if n not in days]
            for d in days:
                if (reed, d) not in met:
                    later = next((n for n in spare if n > d), None)
                    if later is not None:
                        spare.remove(later)
                        met.add((reed, d))
        return [t for t in self.all if not any((r, t.day) in met for r in t.reeds)]

    def due(self, number: int) -> list[Turn]:
        """Return the open turns of a trial day: the day's own first, then missed ones, oldest first."""
        mine = [t for t in self.open if t.day == number]
        missed = [t for t in self.open if t.day < number]
        return mine + sorted(missed, key=lambda t: (t.day, t.part))

    def take(self, turn: Turn) -> None:
        """Mark a turn as planned."""
        self.open.remove(turn)

    def missed_for_good(self, last: int, needed: Collection[str]) -> list[Turn]:
        """Return the turns that found no room up to the last trial day, of reeds still needed."""
        return [t for t in self.open if t.day <= last and any(r in needed for r in t.reeds)]


def _without_slots(protocol: Protocol, most: int) -> dict[tuple[int, str], list[str]]:
    """Lay out turns for a plan that names no days (one dealt by hand): the sets one after the other."""
    sets: dict[str, list[str]] = {}
    for u in protocol.units:
        sets.setdefault(u.block, []).extend(u.reeds)
    names = sorted(sets)
    size = max(1, min(most, 4))
    queue: list[tuple[str, list[str]]] = []
    out: dict[tuple[int, str], list[str]] = {}
    for day in range(1, protocol.days + 1):
        room = size
        while room > 0:
            if not queue:
                for n in names:
                    reeds = shuffled(protocol, day, sets[n])
                    queue += [(n, reeds[i:i + size]) for i in range(0, len(reeds), size)]
            name, reeds = queue[0]
            if len(reeds) > room or (day, name) in out:
                break
            out[day, name] = reeds
            room -= len(reeds)
            queue.pop(0)
    return out
