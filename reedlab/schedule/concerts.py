"""Reeds for a concert: ready on the day, rested before it, and the trial no worse for it."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta

from ..trial.practice import RAMP, value
from ..trial.protocol import Protocol
from ..wording import all_of, date_month, tr
from .chance import draw
from .days import Unmet
from .diary import Diary
from .limits import SLOT
from .own_ways import OwnWays
from .parts_of_day import STEP
from .usual import Concert, Usual

__all__ = ["Kept", "days_to_break_in", "keep_for_concerts"]

_SETTLED = 3  # days before the concert after which ratings no longer change the choice: our assumption
_NEAR = 7  # days before a concert in which its reeds get no free play: our assumption
_SHORTEST = 10.0  # min of a break-in that is worth a day: common practice
_LAST = 3  # sittings that say whether a reed is steady (common practice: the last two or three)


@dataclass
class Kept:
    """What the concerts ask for: `reeds` by concert date, who is `resting` when, and `break_in` days.

    The reeds of concerts `elsewhere` were named by another trial.
    """

    reeds: dict[date, tuple[str, ...]] = field(default_factory=dict)
    resting: dict[date, dict[str, date]] = field(default_factory=dict)
    break_in: dict[date, list[tuple[str, float]]] = field(default_factory=dict)
    elsewhere: frozenset[date] = frozenset()
    unmet: list[Unmet] = field(default_factory=list)

    def rests(self, reed: str, on: date) -> bool:
        """Say whether a reed is kept still on a date, or on its own concert day."""
        return reed in self.resting.get(on, {}) or reed in self.reeds.get(on, ())

    def kept(self, reed: str, on: date) -> bool:
        """Say whether a reed is named for a concert within a week: no long play on it meanwhile."""
        return any(reed in reeds for day, reeds in self.reeds.items() if 0 <= (day - on).days <= _NEAR)


def keep_for_concerts(diary: Diary, usual: Usual, ways: OwnWays | None, today: date,
                      named: Mapping[date, tuple[str, ...]], unready: Mapping[date, Collection[str]]) -> Kept:
    """Name the reeds for each concert from today on.

    Reeds that no trial needs come first, the best and steadiest over their last sittings (set-aside ones too, if
    they are good enough). Reeds of the trial are taken only where those do not reach: then one of each habit,
    chosen by their first play, never by how they were rated since. Of the concerts in `named` another trial has
    named the reeds; they are only kept out of the way. `unready` are reeds of the trial that the coming days will
    not have broken in by a concert's date.
    """
    kept = Kept(elsewhere=frozenset(named))
    for concert in usual.concerts:
        if concert.on < today:
            continue
        if not diary.protocol.reeds:
            continue
        if concert.on in named:
            kept.reeds[concert.on] = named[concert.on]
            continue
        wanted = max(int(value("concert_reeds")), math.ceil(concert.minutes / value("daily_limit_min") - 1e-9))
        rest = [concert.on - timedelta(days=i) for i in range(1, int(value("concert_rest_days")) + 1)]
        names: list[str] = []
        while len(names) < wanted:
            found = _outside(diary, usual, kept, concert, rest, today, names)
            if found is None:
                break
            names.append(found[0])
            for day, minutes in found[1]:
                kept.break_in.setdefault(day, []).append((found[0], minutes))
        names += _of_the_trial(diary, usual, kept, ways, concert, rest, wanted - len(names), today,
                               unready.get(concert.on, ()))
        if len(names) < wanted:
            short = tr("No reed") if not names else tr("Only {listed}").format(listed=all_of(names))
            kept.unmet.append(Unmet(
                "concert_short", tr("{short} can be ready and rested for the concert on {spoken}; {wanted} are wanted. "
                                    "Break in another reed soon.").format(
                                     short=short, spoken=date_month(concert.on), wanted=wanted),
                concert.on, tuple(names)))
        kept.reeds[concert.on] = tuple(names)
        for day in rest:
            if day >= today:
                kept.resting.setdefault(day, {}).update(dict.fromkeys(names, concert.on))
    return kept


def days_to_break_in(protocol: Protocol, on: date) -> int:
    """Return on how many days a reed of the trial must have been played before a concert on a date.

    None where the reeds are broken in before the start and the date comes after it.
    """
    ready = not protocol.from_new and on > protocol.start
    return 0 if ready else len(RAMP)


def _free_then(kept: Kept, gap: int, reed: str, on: date) -> bool:
    """Say whether another concert leaves a reed so many days of rest."""
    return all(reed not in reeds or abs((on - day).days) > gap for day, reeds in kept.reeds.items())


def _outside(diary: Diary, usual: Usual, kept: Kept, concert: Concert, rest: Sequence[date],
             today: date, named: Sequence[str]) -> tuple[str, list[tuple[date, float]]] | None:
    """Return the best reed of no trial that can be ready, with the break-in it still needs; None if none can."""
    out = []
    last = min([concert.on, *rest]) - timedelta(days=1)
    days = [d for d in usual.days_between(today, last)
            if d not in diary.dates_off and d not in diary.calendar.paused] if last >= today else []
    for reed in diary.others:
        if reed in named or not diary.in_service(reed, concert.on):
            continue
        if not _free_then(kept, len(rest), reed, concert.on):
            continue
        settled = concert.on - timedelta(days=_SETTLED)
        late = [s for d, s in diary.scores[reed] if d < settled][-_LAST:]
        score = (sum(late) / len(late) - (max(late) - min(late)) / 2) if late else diary.first_play.get(reed)
        if score is not None and score < value("good_below"):
            continue
        already = sum(reed == r for steps in kept.break_in.values() for r, _ in steps)
        steps = RAMP[diary.play_days(reed, today) + already:]
        room = {d: _room(kept, usual, diary, d) for d in days}
        on = _last_days([d for d in days if room[d] >= _SHORTEST], len(steps), usual.rest_days,
                        max(diary.played[reed], default=None))
        if on is None or any(diary.played[reed].get(d, 0) > 0 for d in rest):
            continue
        ramp = [(d, min(m, room[d])) for d, m in zip(on, steps, strict=True)]
        out.append((-(score if score is not None else value("good_below")), reed, ramp))
    return min(out)[1:] if out else None


def _room(kept: Kept, usual: Usual, diary: Diary, on: date) -> float:
    """Return the minutes that a day has left for a break-in: the trial's own ten minutes a reed stay."""
    there, most = kept.break_in.get(on, []), usual.reeds_at_most
    number = diary.number(on)
    slots = diary.slots_on[number] if number is not None else 0
    if most is not None and len(there) + min(slots, most) >= most:
        return 0.0
    return STEP * ((usual.minutes_on(on) - SLOT * slots - sum(m for _, m in there)) // STEP)


def _last_days(days: Sequence[date], wanted: int, rest: int, played: date | None) -> list[date] | None:
    """Return the last so many days with rest between them and after the last play, or None."""
    out: list[date] = []
    for d in reversed(days):
        if len(out) < wanted and (not out or (out[0] - d).days > rest):
            out.insert(0, d)
    if len(out) < wanted or (out and played is not None and (out[0] - played).days <= rest):
        return None
    return out


def _of_the_trial(diary: Diary, usual: Usual, kept: Kept, ways: OwnWays | None, concert: Concert,
                  rest: Sequence[date], wanted: int, today: date, unready: Collection[str]) -> list[str]:
    if wanted <= 0:
        return []
    protocol: Protocol = diary.protocol
    until = min([concert.on, *rest]) - timedelta(days=1)
    open_ = sum(d not in diary.dates_off and d not in diary.calendar.paused for d in usual.days_between(today, until))
    fit = [r for r in protocol.reeds
           if diary.in_service(r, concert.on) and r not in diary.worn
           and not any(diary.played[r].get(d, 0) > 0 for d in rest)
           and r not in unready and diary.play_days(r, today) + open_ >= days_to_break_in(protocol, concert.on)
           and _free_then(kept, len(rest), r, concert.on)]
    days = {diary.number(d) for d in [*rest, concert.on]}
    planned = {(s.reed, s.day) for s in protocol.slots if s.day in days}

    def fitness(reed: str) -> tuple[float, float, float]:
        clash = sum((reed, d) in planned for d in days) if ways is None else -ways.place(reed)  # the last in turn
        return (clash, -diary.first_play.get(reed, 0.0),
                draw(protocol, "concert", concert.on, reed))

    order = sorted(fit, key=fitness)
    if not diary.dealt or wanted < 2:
        return order[:wanted]
    by_habit = [[r for r in order if diary.dealt[r] == h.key] for h in protocol.habits]
    block = {u.reeds[0]: u.block for u in protocol.units}
    out: list[str] = []
    while len(out) + 1 < wanted and all(by_habit):
        a = by_habit[0].pop(0)
        b = next((r for r in by_habit[1] if block[r] == block[a]), by_habit[1][0])
        by_habit[1].remove(b)
        out += [a, b]
    rest_of_them = [r for r in order if r not in out]
    return [*out, *rest_of_them][:wanted]
