"""One day after the other: what to play, given all that was played before."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from ..trial.change_of_ways import told_of_ways
from ..trial.practice import RAMP
from ..wording import all_of, date_month, tr
from .beside import Beside
from .chance import insert_by_chance, shuffled
from .concerts import Kept
from .days import Line, PlayDay, Unmet
from .diary import Diary
from .limits import SLOT, daily_limit, ramp, rest_of
from .own_ways import OwnWays
from .parts_of_day import STEP, share
from .trials_share import Share
from .turns import Turn, Turns
from .usual import Usual

__all__ = ["Planner"]

_SLACK = 0.05  # of its minutes that one way may be ahead: our assumption


class Planner(Beside):
    """Plans the days of one trial in order; `diary` moves along as each day is planned."""

    def __init__(self, diary: Diary, usual: Usual, kept: Kept, ways: OwnWays | None, today: date,
                 part: Share) -> None:
        super().__init__(diary, usual, kept, today, part)
        self.ways = ways
        most = int(usual.longest // SLOT)
        if usual.reeds_at_most is not None:
            most = min(most, usual.reeds_at_most)
        self.turns = None if ways is not None or not diary.dealt else Turns(diary, max(most, 1))
        self.fixed = {(s.day, s.reed): s.order for s in self.protocol.slots}

    # --- one day -----------------------------------------------------------------------------------------

    def plan(self, on: date) -> PlayDay:
        """Return the plan of a date and move the diary past it."""
        number = self.diary.number(on)
        off = self.usual.off(on) or on in self.diary.dates_off
        concert = self.concert(on, number)
        if on in self.diary.calendar.paused:
            return self._close(on, "paused", None, concert, [])
        if number is None:
            lines = [] if off else self.before_the_start(on)
            return self._close(on, "day_off" if off else "waiting", None, [*concert, *lines], [])
        unmet: list[Unmet] = []
        if off:
            unmet += self._lost_cells(on, number)
            return self._close(on, "day_off", number, concert, unmet)
        minutes = self.usual.minutes_on(on)
        extra, taken = self.concert_break_in(on, minutes, unmet)
        reeds = self._due(on, number, minutes - taken, len(extra), unmet)
        lines = self._minutes(on, number, reeds, minutes - taken)
        left = minutes - taken - sum(x.minutes for x in lines)
        lines += self.resting(on)
        if left >= STEP:
            room = {x.reed: self._room(x.reed, on, number) - x.minutes for x in lines if x.kind != "rest"}
            lines += self.free(on, number, lines, room, left, len(extra))
        return self._close(on, "on", number, [*concert, *extra, *lines], unmet)

    def _close(self, on: date, state: str, number: int | None, lines: Sequence[Line], unmet: list[Unmet]) -> PlayDay:
        for x in lines:
            if x.minutes > 0:
                self.diary.play(x.reed, on, x.minutes, x.habit, rated=x.rate)
        if on == self.today:
            self.diary.play_beyond(on, number)
        return PlayDay(on, state, number, tuple(lines), tuple(unmet),
                       () if number is None else told_of_ways(self.protocol, number))

    # --- which reeds -------------------------------------------------------------------------------------

    def _room(self, reed: str, on: date, number: int | None) -> float:
        """Return the minutes a reed may still be played on a date."""
        habit = self.diary.habit_of(reed, number)
        most = daily_limit(self.protocol, habit)
        steps = ramp(self.protocol, habit) if reed in self.diary.dealt else ()
        nth = self.diary.play_days(reed, on)
        if nth < len(steps):
            most = min(most, steps[nth])
        if self.full and self.protocol.cap_hours is not None:
            cap = 60 * self.protocol.cap_hours - self.diary.total[reed]
            most = min(most, STEP * math.ceil(max(cap, 0.0) / STEP - 1e-9))
        if on == self.today:
            most -= self.diary.today_minutes.get(reed, 0.0)
        return max(0.0, most)

    def _here(self, reed: str, on: date) -> bool:
        """In service and needed; a reed that left today stays only if its entry is made. Of two side by side, both."""
        if on == self.today and self.diary.gone.get(reed) == on and reed in self.diary.today_done:
            return True
        if self.protocol.two_reeds and not all(self.diary.in_service(r, on) for r in self.protocol.reeds):
            return False
        return self.diary.needed(reed, on) if self.full else self.diary.in_service(reed, on)

    def _due(self, on: date, number: int, minutes: float, extra: int, unmet: list[Unmet]) -> list[str]:
        most = self.usual.reeds_at_most
        room = math.inf if most is None else max(0, most - extra)
        if self.ways is not None:
            return self._own(on, number, minutes, room, unmet)
        if self.turns is None:
            return self._cells(on, number, minutes, room, unmet)
        return self._turns(on, number, minutes, room)

    def _own(self, on: date, number: int, minutes: float, room: float, unmet: list[Unmet]) -> list[str]:
        assert self.ways is not None
        reeds = self.ways.today(self.diary, on, number, minutes, self.usual.rest_days,
                                lambda r: not self.kept.rests(r, on) and self._room(r, on, number) >= STEP)
        fit = int(min(room, minutes // SLOT))
        if len(reeds) > fit:
            behind = sorted(reeds, key=lambda r: self.diary.arm[self.diary.dealt[r]])
            out = behind[fit:]
            reeds = [r for r in reeds if r not in out]
            why = self._why(len(reeds) + len(out) > room)
            unmet.append(Unmet(
                "left_for_later", tr("{listed} cannot be played on {spoken}: {why}. The days after make up for "
                                     "it.").format(listed=all_of(out), spoken=date_month(on), why=why), on, tuple(out)))
        fixed = sorted((r for r in reeds if (number, r) in self.fixed), key=lambda r: self.fixed[number, r])
        if len(fixed) == len(reeds):
            return fixed
        return shuffled(self.protocol, number, reeds)

    def _why(self, too_many: bool) -> str:
        if too_many:
            return tr("you wish at most {reeds_at_most} reeds a day").format(reeds_at_most=self.usual.reeds_at_most)
        return tr("the day's minutes do not reach")

    def _cells(self, on: date, number: int, minutes: float, room: float, unmet: list[Unmet]) -> list[str]:
        """Day by day: a reed and its day belong together, so nothing can be moved."""
        by_block: dict[str, list[str]] = {}
        for unit in self.protocol.units:
            for reed, day in unit.cells:
                if day == number and self._here(reed, on):
                    by_block.setdefault(unit.block, []).append(reed)
        order = {r: self.fixed.get((number, r), 99) for rs in by_block.values() for r in rs}
        reeds: list[str] = []
        for rs in sorted(by_block.values(), key=lambda rs: min(order[r] for r in rs)):
            tired = [r for r in rs if self._room(r, on, number) < SLOT]
            if tired:
                unmet.append(Unmet("limit_reached", tr("{listed}: no minutes left on {spoken}. Leave it be; its rating "
                                                       "of this day is lost.").format(
                                                        listed=all_of(tired), spoken=date_month(on)), on, tuple(tired)))
            rs = [r for r in rs if r not in tired]
            if len(reeds) + len(rs) > room or SLOT * (len(reeds) + len(rs)) > minutes:
                why = self._why(len(reeds) + len(rs) > room)
                unmet.append(Unmet(
                    "rating_lost", tr("{listed} cannot be rated on {spoken}: {why}. Ratings of one day cannot move to "
                                      "another.").format(listed=all_of(rs), spoken=date_month(on), why=why),
                    on, tuple(rs)))
                continue
            reeds += rs
        for r in reeds:
            if not self.diary.rested(r, on, self.usual.rest_days):
                unmet.append(Unmet("no_rest", tr("{r} plays on {spoken} without the rest you wish: the plan needs it "
                                                 "on this day.").format(r=r, spoken=date_month(on)), on, (r,)))
            concert = self.kept.resting.get(on, {}).get(r)
            if concert is not None or r in self.kept.reeds.get(on, ()):
                when = date_month(concert or on)
                unmet.append(Unmet("concert_no_rest", tr("{r} is wanted for the concert on {when}, but the "
                                                         "plan needs its {slot:g} minutes on {spoken}. "
                                                         "Handle it with care.").format(
                                                          r=r, when=when, slot=SLOT, spoken=date_month(on)), on, (r,)))
        return sorted(reeds, key=lambda r: (order[r], r))

    def _turns(self, on: date, number: int, minutes: float, room: float) -> list[str]:
        assert self.turns is not None
        taken: list[Turn] = []
        reeds: list[str] = []
        due = self.turns.due(number)
        mine = [t for t in due if t.day == number]
        if self.full:  # the hours count, not the turns: a missed one is not made up, the minutes even out anyway
            due = self._widening_last([*mine, *self.turns.instead(number)], mine, on, minutes)
        for turn in due:
            if self.full and reeds and turn not in mine:
                continue
            rs = [r for r in turn.reeds if self._here(r, on)]
            if not rs or any(r in reeds for r in rs):
                continue
            if len(reeds) + len(rs) > room or SLOT * (len(reeds) + len(rs)) > minutes + 1e-9:
                continue
            if not all(self._may(r, on, number) for r in rs):
                continue
            if not self.full and turn not in mine and self._tips(reeds, rs, on, number, minutes):
                continue
            taken.append(turn)
            reeds += rs
        for turn in taken:
            self.turns.take(turn)
        fixed = [r for t in taken if t.day == number for r in t.reeds if r in reeds]
        fixed.sort(key=lambda r: self.fixed.get((number, r), 99))
        made_up = [r for t in taken if t.day != number for r in t.reeds if r in reeds]
        return insert_by_chance(self.protocol, number, fixed, made_up)

    def _widening_last(self, due: Sequence[Turn], mine: list[Turn], on: date, minutes: float) -> list[Turn]:
        """Put off the turns that could only widen the gap, where one way is further ahead than a day evens out.

        That happens where wear or a breakage has left one way alone in a set. Such a turn is taken out of `mine`: it
        is played only where no other can be.
        """
        stand = self.diary.stand
        behind = min(stand, key=lambda k: (stand[k], k))
        if max(stand.values()) - stand[behind] <= self._slack(minutes) or not self.both_go_on(on):
            return list(due)
        widens = {t for t in due if not any(self.diary.dealt[r] == behind and self._here(r, on) for r in t.reeds)}
        mine[:] = [t for t in mine if t not in widens]
        return sorted(due, key=lambda t: t in widens)

    def _tips(self, reeds: Sequence[str], more: Sequence[str], on: date, number: int, minutes: float) -> bool:
        """Say whether making up a missed turn today would leave one way too far ahead; then it waits."""
        if not self.both_go_on(on):
            return False
        before, after = (self._gap_after(rs, on, number, minutes) for rs in (reeds, [*reeds, *more]))
        return after > before and after > max(2 * SLOT, _SLACK * max(self.diary.stand.values()))

    def _gap_after(self, reeds: Sequence[str], on: date, number: int, minutes: float) -> float:
        """Return how far one way is ahead after a day of slots, if the rest of the day goes to the other."""
        stand = self.diary.stand
        for r in reeds:
            stand[str(self.diary.habit_of(r, number))] += SLOT
        behind = min(stand, key=lambda k: (stand[k], k))
        room = sum(self._room(r, on, number) - SLOT for r in reeds if self.diary.habit_of(r, number) == behind)
        return max(0.0, max(stand.values()) - stand[behind] - max(0.0, min(room, minutes - SLOT * len(reeds))))

    def _slack(self, minutes: float) -> float:
        """Return by how many minutes one way may be ahead before the other goes first."""
        return max(minutes / 2, _SLACK * max(self.diary.stand.values()))

    def _may(self, reed: str, on: date, number: int) -> bool:
        """Not kept for a concert, rested, and with minutes left."""
        rest = rest_of(self.protocol, self.diary.dealt[reed], self.usual.rest_days)
        return (not self.kept.rests(reed, on) and self._room(reed, on, number) >= SLOT
                and self.diary.rested(reed, on, rest))

    def _lost_cells(self, on: date, number: int) -> list[Unmet]:
        lost = sorted(r for u in self.protocol.units for r, d in u.cells if d == number and self._here(r, on))
        if not lost or on < self.today:
            return []
        said = tr("You do not play on {spoken}: the plan's ratings of {listed} on it are lost. Say so as \"Not playing "
                  "today\" instead, and the rest moves along.")
        return [Unmet("day_off_cell", said.format(spoken=date_month(on), listed=all_of(lost)), on, tuple(lost))]

    def both_go_on(self, on: date) -> bool:
        """Say whether both habits still have reeds to play."""
        left = {self.diary.dealt.get(r) for r in self.protocol.reeds if self.diary.needed(r, on)}
        return not self.diary.dealt or len(left) == 2

    # --- how many minutes --------------------------------------------------------------------------------

    def _minutes(self, on: date, number: int, reeds: Sequence[str], minutes: float) -> list[Line]:
        habit = {r: self.diary.habit_of(r, number) for r in reeds}
        high = {r: self._room(r, on, number) for r in reeds}
        low = {r: min(SLOT, high[r]) for r in reeds}
        new = self.protocol.from_new and any(
            self.diary.play_days(r, on) < len(RAMP) for r in reeds)
        if self.full or new:
            if not self.full:  # past its first days a reed has its slot only
                young = {r for r in reeds if self.diary.play_days(r, on) < len(RAMP)}
                high = {r: h if r in young else low[r] for r, h in high.items()}
            arm = self.diary.stand
            whole = self.ways is not None and self.ways.by_days
            slack = max(minutes if whole else 0.0, self._slack(minutes))
            if new:  # the habit sets the first days' minutes; what it puts ahead is evened out on the days left
                slack = max(slack, min(minutes, SLOT * (self.protocol.days - number)))
            if not self.both_go_on(on):  # nothing is left to even out
                slack = math.inf
            given = share(reeds, low, high, minutes, habit, arm, self.diary.total, slack)
        else:
            given = low
        kind = "play" if self.full or new else "slot"
        done = self.diary.today_done if on == self.today else set()
        return [Line(i, r, given[r], habit[r], kind, rate=True, done=r in done)
                for i, r in enumerate(reeds, start=1) if given[r] > 0]
