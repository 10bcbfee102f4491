"""What the player took each reed for, where a helper hid which way it had: asked after the end, before the answer.

A guess made once the answer is known says nothing, so it is asked before, once. Reed by reed only: nobody can
say weeks later which way a single day was.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Final

from ...rows.tables import Frames
from ...trial.protocol import Protocol
from ...trial.result import Guessed, Guesses

__all__ = ["SKIPPED", "guessed", "guesses_of", "to_ask"]

#: Stands in the place of a unit where the player skipped the guess. No unit can be called so: it is a reed.
SKIPPED: Final = "skipped"
_ENDED: Final = ("finished", "ended_early")


def to_ask(protocol: Protocol, frames: Frames, state: str) -> bool:
    """Say whether the player is to be asked now: the trial has ended, and the answer was never opened.

    Parameters
    ----------
    protocol, frames
        The plan and the logbook's rows.
    state : str
        As in `result.TrialResult`.
    """
    found = guesses_of(protocol, frames)
    return found is not None and found.asked == "not_asked" and state in _ENDED


def guesses_of(protocol: Protocol, frames: Frames) -> Guesses | None:
    """Return what was guessed, with the blinding index of each habit (Bang 2004); None where nothing was hidden.

    Guesses of units or habits that are not this trial's count nothing.
    """
    if protocol.masked != "helper" or protocol.how_dealt == "not":
        return None
    mine = frames.guesses[frames.guesses["trial"] == protocol.trial]
    said: dict[str, str | None] = dict(zip(mine["unit"], mine["habit"], strict=True))
    units, keys = {u.unit for u in protocol.units}, {h.key for h in protocol.habits}
    counted = {u: g for u, g in said.items() if u in units and (g is None or g in keys)}
    if protocol.unit_kind != "reed":
        return Guesses("not_reeds")
    if counted:
        return Guesses("guessed", (_told(protocol, 0, counted), _told(protocol, 1, counted)))
    if SKIPPED in said:
        return Guesses("skipped")
    looked = (frames.looks["trial"] == protocol.trial).any()
    return Guesses("opened_early" if looked else "not_asked")


def _told(protocol: Protocol, side: int, said: Mapping[str, str | None]) -> Guessed | None:
    key = protocol.habits[side].key
    mine = [said[u.unit] for u, k in zip(protocol.units, protocol.dealt, strict=True) if k == key and u.unit in said]
    right, unsure = mine.count(key), mine.count(None)
    return guessed(right, len(mine) - right - unsure, unsure) if mine else None


def guessed(right: int, wrong: int, unsure: int) -> Guessed:
    """Return the guesses about one habit's units, one at least, with their blinding index and its 95 % range.

    Parameters
    ----------
    right, wrong, unsure : int
        Units of this habit that were guessed right, wrong, or "don't know".

    Notes
    -----
    How far guesses beat a coin: 1 all right, 0 as by a coin, -1 all wrong. index = (right - wrong) / n; its variance is
    that of a difference of two shares of one sample. Source: Bang, Ni and Davis 2004, Control. Clin. Trials 25,
    143-156. With a handful of reeds the range is wide and only rough.
    """
    from scipy import stats

    n = right + wrong + unsure
    p, q = right / n, wrong / n
    reach = float(stats.norm.ppf(0.5 + 0.95 / 2)) * math.sqrt(max(0.0, p + q - (p - q) ** 2) / n)
    return Guessed(right, wrong, unsure, p - q, max(-1.0, p - q - reach), min(1.0, p - q + reach))
