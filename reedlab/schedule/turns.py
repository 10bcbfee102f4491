"""Same days for both ways: the matched sets of each day, and when a missed one is made up.

A turn is the part of one matched set that the plan puts on one day. It moves as a whole or not at all, so the
reeds of a set stay on the same days, and nothing here looks at what was dealt.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass

from ..trial.protocol import Protocol
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

    A turn counts as played once any of its reeds was rated for it: on its day, or on a later day that belonged to
    no turn of that reed. A turn of which only some reeds were rated is not made up: doing so would put a set on
    different days.
    """

    def __init__(self, diary: Diary, most: int) -> None:
        self.diary = diary
        self.cut = False
        self.all = list(self._laid_out(diary.protocol, most))
        self.open = self._still_open()
        self.parts = list({t.reeds: t for t in self.all}.values())

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
        """Take out the turns that were played: on their own day, or made up on a later one."""
        rated: dict[int, set[str]] = {}
        for reed in self.diary.protocol.reeds:
            for d in self.diary.rated[reed]:
                n = self.diary.number(d)
                if n is not None:
                    rated.setdefault(n, set()).add(reed)
        left = [t for t in self.all if not rated.get(t.day, set()) & set(t.reeds)]
        planned: dict[int, set[str]] = {}
        for t in self.all:
            planned.setdefault(t.day, set()).update(t.reeds)
        for n in sorted(rated):
            more = rated[n] - planned.get(n, set())
            while more:
                late = [t for t in left if t.day < n and more & set(t.reeds) and self._makes_up(n, t)]
                if not late:
                    break
                # the turn it makes up is the one it fits best; of equal ones, the oldest
                best = max(late, key=lambda t: (len(more & set(t.reeds)) / len(t.reeds), -t.day, -t.part))
                left.remove(best)
                more -= set(best.reeds)
        return left

    def due(self, number: int) -> list[Turn]:
        """Return the open turns of a trial day: the day's own first, then missed ones, oldest first."""
        mine = [t for t in self.open if t.day == number]
        missed = [t for t in self.open if t.day < number and self._makes_up(number, t)]
        return mine + sorted(missed, key=lambda t: (t.day, t.part))

    def _makes_up(self, number: int, missed: Turn) -> bool:
        """Say whether a turn may be played on a later day: in a crossover only within the same half."""
        halves = self.diary.protocol.halves
        return halves is None or halves.makes_up(number, missed.day)

    def instead(self, number: int) -> list[Turn]:
        """Return turns that could fill a day whose own reeds cannot be played: those with fewest minutes first."""
        total = self.diary.total
        parts = sorted(self.parts, key=lambda t: (sum(total[r] for r in t.reeds) / len(t.reeds), t.reeds))
        return [Turn(number, t.block, t.reeds, t.part) for t in parts]

    def take(self, turn: Turn) -> None:
        """Mark a turn as planned."""
        if turn in self.open:
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
