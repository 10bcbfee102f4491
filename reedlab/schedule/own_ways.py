"""Habits that set the hours: whose turn it is today, from what was really played.

The plan's order is kept: the same reeds one after the other, the same groups in turn. Only the pace follows the
diary, so that a day off, a broken reed or a long rehearsal moves the rest along.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from datetime import date

from ..trial.protocol import Protocol
from .chance import draw
from .diary import Diary
from .limits import daily_limit, own_value, rest_of, width_of

__all__ = ["OwnWays"]

_NO_LIMIT = 720


class OwnWays:
    """The order of play of both habits."""

    def __init__(self, protocol: Protocol) -> None:
        self.protocol = protocol
        first: dict[str, int] = {}
        last: dict[str, int] = {}
        for s in sorted(protocol.slots, key=lambda s: (s.day, s.order)):
            first.setdefault(s.reed, s.day)
            last[s.reed] = s.day
        key_of = {u.reeds[0]: k for u, k in zip(protocol.units, protocol.dealt, strict=True)}
        never = protocol.days + 1
        self.order: dict[str, list[str]] = {}
        self.group: dict[str, int] = {}
        for h in protocol.habits:
            mine = [r for r in protocol.reeds if key_of[r] == h.key]
            mine.sort(key=lambda r: (first.get(r, never), r))
            self.order[h.key] = mine
            self._group(mine, first, last, width_of(protocol, h.key))
        self.by_days = any(name == "daily_limit_min" for _, name, _ in protocol.overrides)
        self.day_habit = {s.day: key_of[s.reed] for s in protocol.slots} if self.by_days else {}

    def _group(self, reeds: Sequence[str], first: Mapping[str, int], last: Mapping[str, int], width: int) -> None:
        """Number the groups that the plan plays in turn: reeds whose days overlap."""
        number, end = -1, -1
        for i, r in enumerate(reeds):
            if r not in first:
                self.group[r] = max(number, 0) + 1 + i // width
                continue
            if first[r] > end:
                number += 1
            self.group[r] = number
            end = max(end, last[r])

    def place(self, reed: str) -> float:
        """Return a reed's place in its way's order, from 0 (first) to 1 (last)."""
        order = self.order[self._habit(reed)]
        return order.index(reed) / max(1, len(order) - 1)

    def active(self, habit: str, diary: Diary, on: date) -> list[str]:
        """Return the reeds of a habit that are in turn now, next first.

        The current group is that of the first reed still needed; where one has left it, the next moves up.
        """
        left = [r for r in self.order[habit] if diary.needed(r, on)]
        if not left:
            return []
        current = self.group[left[0]]
        size = sum(self.group[r] == current for r in self.order[habit])
        turn = left[:size]
        return sorted(turn, key=lambda r: self._waited(r, current, diary, on))

    def _waited(self, reed: str, current: int, diary: Diary, on: date) -> tuple[int, int]:
        before = [d for d in diary.played[reed] if self.protocol.start <= d < on]
        place = self.order[self._habit(reed)].index(reed)
        if not before:  # the group's own reeds first; one that has just moved up goes to the end
            return (0 if self.group[reed] == current else on.toordinal(), place)
        return max(before).toordinal(), place

    def _habit(self, reed: str) -> str:
        return next(h for h, reeds in self.order.items() if reed in reeds)

    def today(self, diary: Diary, on: date, number: int, minutes: float, usual_rest: int,
              free: Callable[[str], bool]) -> list[str]:
        """Return the reeds of a day.

        Parameters
        ----------
        minutes : float
            The day's minutes.
        free : callable
            Says whether a reed may be played today at all (not kept for a concert, not over its limit).
        """
        can: dict[str, list[str]] = {}
        for h in self.order:
            rest = rest_of(self.protocol, h, usual_rest)
            fit = [r for r in self.active(h, diary, on) if free(r) and diary.rested(r, on, rest)]
            if not fit and rest == 0:  # the one in turn is kept for a concert: the next of the same way
                fit = [r for r in self.order[h] if diary.needed(r, on) and free(r)][:1]
            can[h] = fit
        if self.by_days:
            return self._one_habit(can, diary, on, number, minutes,
                                   lambda r: free(r) and diary.rested(r, on, usual_rest))
        return [reeds[0] for reeds in can.values() if reeds]

    def _one_habit(self, can: Mapping[str, list[str]], diary: Diary, on: date, number: int, minutes: float,
                   free: Callable[[str], bool]) -> list[str]:
        """A day belongs to one habit: the one behind in minutes, else as the plan's coin says."""
        keys = [h for h in can if can[h]]
        if not keys:
            return []
        if len(keys) == 2:
            gap = diary.arm[keys[0]] - diary.arm[keys[1]]
            if abs(gap) >= max(5.0, minutes / 4):
                habit = keys[gap > 0]
            else:
                habit = self.day_habit.get(number) or keys[draw(self.protocol, "coin", number) < 0.5]
        else:
            habit = keys[0]
        limit = daily_limit(self.protocol, habit)
        if limit >= _NO_LIMIT or own_value(self.protocol, habit, "daily_limit_min") is None:
            return can[habit][:1]
        need = max(2, math.ceil(minutes / limit - 1e-9))
        more = [r for r in self.order[habit] if r not in can[habit] and diary.needed(r, on) and free(r)]
        return [*can[habit], *more][:need]
