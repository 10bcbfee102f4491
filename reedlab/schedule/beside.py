"""What stands beside the trial on a day: break-in before it starts, concerts, and the rest of the day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from ..trial.practice import RAMP
from ..trial.protocol import Protocol
from ..wording import date_month, tr
from .chance import shuffled
from .concerts import Kept
from .days import Line, Unmet
from .diary import Diary
from .limits import SLOT, daily_limit, hours_matter
from .parts_of_day import STEP
from .trials_share import Share
from .usual import Usual

__all__ = ["Beside"]


class Beside:
    """The lines of a day that the trial does not ask for."""

    def __init__(self, diary: Diary, usual: Usual, kept: Kept, today: date, part: Share) -> None:
        self.diary, self.usual, self.kept, self.today, self.part = diary, usual, kept, today, part
        self.protocol: Protocol = diary.protocol
        self.full = hours_matter(self.protocol)

    def free(self, on: date, number: int, lines: Sequence[Line], room: Mapping[str, float], left: float,
             extra: int) -> list[Line]:
        """Suggest reeds for the rest of the day: to even out the minutes, else a reed outside the trial.

        What other running trials may use of it is left to them.

        `room` are the minutes the day's reeds may still be played, `extra` other reeds on the day.
        """
        left = min(left, self.part.free.get(on, left))
        if left < STEP:
            return []
        given = [x.reed for x in lines if x.minutes > 0]
        stand = self.diary.stand
        for x in lines:
            if x.habit is not None:
                stand[x.habit] += x.minutes
        able = {k: [r for r in given if self.diary.habit_of(r, number) == k and room.get(r, 0.0) >= STEP
                    and not self.kept.kept(r, on)] for k in stand}
        behind = min(stand, key=lambda k: (stand[k], k))
        gap = max(stand.values()) - min(stand.values())
        other = [r for r in self.diary.others if self._spare(r, on)] if self.part.others else []
        most = self.usual.reeds_at_most
        if other and (most is None or len(given) + extra < most) and (gap < STEP or not able[behind]):
            best = max(other, key=lambda r: (len(self.diary.played[r]), r))
            return [Line(None, best, STEP * (min(left, daily_limit(self.protocol, None)) // STEP), None, "free")]
        if self.full:
            return []  # the trial's own minutes are balanced already; more would tip them
        wish = {k: (left + gap) / 2 if k == behind else (left - gap) / 2 for k in stand}
        if wish[behind] > left or min(wish.values()) < STEP:
            wish = {k: min(left, gap + SLOT) if k == behind else 0.0 for k in stand}
        most_each = {k: sum(room[r] for r in able[k]) for k in stand}
        ahead = next(k for k in stand if k != behind)
        wish[ahead] = min(wish[ahead], max(0.0, most_each[behind] + SLOT - gap))
        out = []
        for k in (behind, ahead):
            want = STEP * (min(wish[k], left) // STEP)
            for r in sorted(able[k], key=lambda r: (self.diary.total[r], r)):
                m = min(want, STEP * (room[r] // STEP))
                if m >= STEP:
                    out.append(Line(None, r, m, k, "free"))
                    want -= m
                    left -= m
        return out

    def _spare(self, reed: str, on: date) -> bool:
        diary = self.diary
        return (diary.in_service(reed, on) and reed not in diary.aside and not self.kept.kept(reed, on)
                and diary.play_days(reed, on) >= len(RAMP)
                and diary.rested(reed, on, self.usual.rest_days) and reed not in diary.today_minutes)

    def before_the_start(self, on: date) -> list[Line]:
        """Break in the trial's reeds: the same for all, whatever was dealt."""
        minutes, most = self.usual.minutes_on(on), self.usual.reeds_at_most
        lines, minutes_taken = self.concert_break_in(on, minutes, [])
        left = minutes - minutes_taken
        if self.protocol.from_new:
            return lines
        steps = RAMP
        queue = [r for r in self.protocol.reeds if self.diary.play_days(r, on) < len(steps)
                 and self.diary.in_service(r, on) and self.diary.rested(r, on, self.usual.rest_days)
                 and not self.kept.rests(r, on)]
        queue.sort(key=lambda r: (-self.diary.play_days(r, on), shuffled(self.protocol, 0, self.protocol.reeds)
                                  .index(r)))
        for r in queue:
            m = steps[self.diary.play_days(r, on)] - (
                self.diary.today_minutes.get(r, 0.0) if on == self.today else 0.0)
            if STEP <= m <= left and (most is None or len(lines) < most):
                lines.append(Line(len(lines) + 1, r, m, None, "break_in"))
                left -= m
        return lines

    def concert_break_in(self, on: date, minutes: float, unmet: list[Unmet]) -> tuple[list[Line], float]:
        """Return the break-in that a coming concert asks for, and its minutes."""
        lines: list[Line] = []
        taken = 0.0
        most = self.usual.reeds_at_most
        for reed, m in self.kept.break_in.get(on, []):
            if taken + m > minutes or (most is not None and len(lines) >= most):
                unmet.append(Unmet("concert_break_in", tr("{reed} should be broken in for {m:g} minutes on {spoken}, "
                                                          "but the day has no room for it.").format(
                                                           reed=reed, m=m, spoken=date_month(on)), on, (reed,)))
                continue
            lines.append(Line(None, reed, m, None, "break_in"))
            taken += m
        return lines, taken

    def concert(self, on: date, number: int | None) -> list[Line]:
        """Return the reeds of a concert: the first as long as it may, then the next."""
        concert = next((c for c in self.usual.concerts if c.on == on), None)
        if concert is None or on in self.kept.elsewhere:
            return []
        reeds = self.kept.reeds.get(on, ())
        own = [r for r in reeds if r in self.protocol.reeds]
        left, given = concert.minutes, {}
        for r in [x for x in reeds if x not in own]:
            given[r] = min(left, daily_limit(self.protocol, None))
            left -= given[r]
        for i, r in enumerate(own):
            given[r] = min(left / (len(own) - i), daily_limit(self.protocol, self.diary.habit_of(r, number)))
            left -= given[r]
        if left > 1e-6:
            self.kept.unmet.append(Unmet("concert_over", tr("The concert on {spoken} is longer than the "
                                                            "reeds kept for it should be played in a day. "
                                                            "Take one more along.").format(
                                                             spoken=date_month(on)), on, reeds))
        return [Line(None, r, m, self.diary.habit_of(r, number), "concert") for r, m in given.items()]

    def resting(self, on: date) -> list[Line]:
        """Return the reeds that rest for a concert."""
        return [Line(None, r, 0.0, None, "rest") for r in sorted(self.kept.resting.get(on, {}))]
