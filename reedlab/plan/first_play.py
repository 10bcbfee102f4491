"""The first play of a new box: a few new reeds a day, short, in a shuffled order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from ..errors import InputError
from ..rows.tables import typed
from ..trial.practice import value
from ..wording import tr

__all__ = ["FIRST_PLAY_STEPS", "FirstPlayDay", "first_play_days"]

#: What to do; common practice, no published source.
FIRST_PLAY_STEPS: Final = (
    tr("Warm up on an old reed."),
    tr("Play each new reed of the day for 3 to 5 minutes, in the order given."),
    tr("Rate it at once: overall from 0 to 10, and stiffness from -3 (too soft) to +3 (too hard)."),
    tr("Set aside the reeds you would not play on, and those you want for a concert. You can take them back."),
)


@dataclass(frozen=True)
class FirstPlayDay:
    """One day of first plays: `reeds` in the order to play, `minutes` each."""

    day: int
    reeds: tuple[str, ...]
    minutes: float


def first_play_days(reeds: Sequence[str] | pd.DataFrame, *, seed: int, a_day: int | None = None,
                    minutes: float | None = None) -> tuple[FirstPlayDay, ...]:
    """Plan the first play of new reeds.

    Parameters
    ----------
    reeds : sequence of codes, or the logbook's table of reeds
        Of a table, only reeds without a first-play rating that are not set aside.
    seed : int
        Of the shuffled order.
    a_day : int, optional
        New reeds a day, 1 to 5 (common practice; default 5). The days are made as even as can be.
    minutes : float, optional
        A reed, 3 to 5 (common practice; default 4).

    Raises
    ------
    InputError
        More reeds a day, or more or fewer minutes, than that.
    """
    most = int(value("first_play_reeds_a_day"))
    a_day = most if a_day is None else a_day
    minutes = value("first_play_min") if minutes is None else minutes
    faults = []
    if not 1 <= a_day <= most:
        faults.append(tr("new reeds a day: {a_day}, wanted 1 to {most}").format(a_day=a_day, most=most))
    if not 3 <= minutes <= 5:
        faults.append(tr("`minutes` is {minutes}, wanted 3 to 5 for each new reed").format(minutes=minutes))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))
    if isinstance(reeds, pd.DataFrame):
        frame = typed("reeds", reeds)
        codes = frame.loc[frame["first_play"].isna() & ~frame["set_aside"], "reed"].tolist()
    else:
        codes = [str(r) for r in reeds]
    codes = sorted(dict.fromkeys(codes))
    if not codes:
        return ()
    order = np.random.default_rng([seed, 9]).permutation(codes)
    parts = np.array_split(order, -(-len(codes) // a_day))
    return tuple(FirstPlayDay(i + 1, tuple(map(str, p)), minutes) for i, p in enumerate(parts))
