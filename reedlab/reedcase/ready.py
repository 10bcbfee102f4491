"""Which reeds to play today where no trial says so, and which are ready for a concert."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from ..trial.practice import FACTS, RAMP, value
from ..wording import tr, trn
from .lasting import Span
from .states import ReedState

__all__ = ["ON_THE_GO", "ConcertPick", "Turn", "for_concert", "turn"]

_size = FACTS["rotation_size"].value
#: Reeds kept on the go at least.
ON_THE_GO: Final = int(_size[0] if isinstance(_size, tuple) else _size)
_STEADY: Final = 1.5  # points between its best and worst of the last three: our assumption
_LEAST_H: Final = 1.0  # playing hours that a concert reed should have left nearly for sure: our assumption


@dataclass(frozen=True)
class Turn:
    """One reed to play today, for so many minutes, and why."""

    reed: str
    minutes: float
    why: str


@dataclass(frozen=True)
class ConcertPick:
    """One reed for a concert: `ready`, or what it lacks in `why`. `mean` of its last ratings, None if unknown."""

    reed: str
    ready: bool
    why: str
    mean: float | None


def turn(reeds: Sequence[ReedState], minutes: float) -> list[Turn]:
    """Return which reeds to play today: those that have rested longest, and the next steps of a break-in.

    Reeds of a running trial are left to its plan, and so are reeds set aside. At least three reeds are kept on the
    go where there are so many (common practice, no published source).
    """
    mine = [r for r in reeds if r.trial is None and not r.set_aside and r.room_min > 0]
    steps = [r for r in mine if not r.broken_in and r.play_days > 0]
    old = [r for r in mine if r.broken_in]
    new = [r for r in mine if not r.broken_in and r.play_days == 0]
    steps += new[: max(0, ON_THE_GO - len(old) - len(steps))]
    out = [Turn(r.reed, r.room_min, tr("break-in, day {step} of {n}").format(
                                        step=r.step, n=len(RAMP))) for r in steps[:ON_THE_GO]]
    rest = max(0.0, minutes - sum(t.minutes for t in out))
    order = sorted(old, key=lambda r: (r.today_min > 0, r.last_played or date.min, r.hours, r.reed))[:ON_THE_GO]
    for i, r in enumerate(order):
        each = min(r.room_min, 5 * round(rest / (len(order) - i) / 5))
        if each >= 5:
            out.append(Turn(r.reed, each, tr("its turn: it has rested longest") if i == 0 else tr("its turn next")))
            rest -= each
    return out


def for_concert(reeds: Sequence[ReedState], lives: Mapping[str, Span], on: date, today: date) -> list[ConcertPick]:
    """Return every reed for a concert on a date, those that are ready first, the best of them first.

    Ready: broken in, steady over its last two or three ratings and above the rehearsal mark, and able to rest
    before the day. A reed of a sealed trial cannot be judged.

    Parameters
    ----------
    lives : mapping of reed to Span
        Hours left, where they may be known.
    on, today : date
    """
    rest = int(value("concert_rest_days"))
    last_play = on - timedelta(days=rest + 1)
    picks = [_pick(r, lives.get(r.reed), last_play, today) for r in reeds if not r.set_aside]
    return sorted(picks, key=lambda p: (not p.ready, -(p.mean if p.mean is not None else -1), p.reed))


def _pick(r: ReedState, life: Span | None, last_play: date, today: date) -> ConcertPick:
    late = r.recent[-3:]
    mean = sum(late) / len(late) if late else None
    if r.sealed:
        return ConcertPick(r.reed, False, tr("in a trial: its ratings are sealed"), None)
    lacks = []
    open_days = (last_play - today).days + (0 if r.today_min > 0 else 1)
    todo = 0 if r.broken_in else len(RAMP) - r.step + 1
    if todo > max(open_days, 0):
        lacks.append(tr("cannot be broken in by then"))
    elif todo:
        lacks.append(trn("needs {n} more day of break-in first", "needs {n} more days of break-in first",
                         todo).format(n=todo))
    if r.last_played is not None and r.last_played > last_play:
        lacks.append(tr("has not rested"))
    if len(late) < 2:
        lacks.append(tr("too few ratings yet"))
    elif mean is not None and mean < value("good_below"):
        lacks.append(tr("below your rehearsal mark"))
    elif max(late) - min(late) > _STEADY:
        lacks.append(tr("not steady yet"))
    if r.trend == "down":
        lacks.append(tr("going down"))
    if life is not None and life.low < _LEAST_H:
        lacks.append(tr("may be near its end"))
    return ConcertPick(r.reed, not lacks, ", ".join(lacks) or tr("broken in and steady"), mean)
