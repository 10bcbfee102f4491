"""Which reeds can be dealt, and in which order of first play."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from ..errors import InputError, PlanRefused
from ..rows.tables import typed
from ..wording import tr

__all__ = ["Usable", "usable_reeds"]


@dataclass(frozen=True)
class Usable:
    """Reeds that can be dealt: `table` has reed, box and first_play, by box, best first play first.

    With `by_break_in` its first_play holds the mean of each reed's ratings while it was broken in.
    """

    table: pd.DataFrame
    set_aside: tuple[str, ...]
    left_out: tuple[str, ...]
    unrated: tuple[str, ...]
    worked_on: tuple[str, ...]
    by_break_in: bool = False

    @property
    def reeds(self) -> tuple[str, ...]:
        """The reeds, by box, best first."""
        return tuple(self.table["reed"])

    def best_first(self) -> tuple[str, ...]:
        """Return the reeds of all boxes, best first."""
        return tuple(self.table.sort_values("first_play", ascending=False, kind="stable", na_position="last")["reed"])

    def by_box(self) -> dict[str, list[str]]:
        """Return the reeds of each box, best first."""
        return {str(box): part["reed"].tolist() for box, part in self.table.groupby("box", sort=True)}


def usable_reeds(reeds: pd.DataFrame, *, seed: int, left_out: Iterable[str] = (),
                 boxes: pd.DataFrame | None = None, instrument: str | None = None) -> Usable:
    """Take out the reeds that cannot be dealt and sort the others.

    Reeds set aside and those named in `left_out` (retired, or kept for a concert) leave. Within a box
    reeds are sorted by first-play rating, best first; equal ratings by stiffness, too hard first; what
    is still equal, and reeds without a rating (they come last), by a shuffle from the seed.

    Parameters
    ----------
    reeds : DataFrame
        Rows of the logbook's reeds. A further column `broken_in` (see `at_hand.with_break_in`) stands for the first
        play where every reed that may be dealt has it.
    seed : int
    left_out : iterable of str
        Codes of reeds that are not to be dealt.
    boxes : DataFrame, optional
        Rows of the logbook's boxes, to see that all are for `instrument`.

    Raises
    ------
    InputError
        A needed column is missing or a reed stands twice.
    PlanRefused
        A box is for another instrument (code ``instrument_mix``).
    """
    missing = [c for c in ("reed", "box") if c not in reeds.columns]
    if missing:
        raise InputError(tr("`reeds` has no column {missing}; wanted the logbook's table of reeds.").format(
                             missing=", ".join(missing)))
    frame = typed("reeds", reeds)
    double = frame.loc[frame["reed"].duplicated(), "reed"]
    if len(double):
        raise InputError(tr("`reeds` names {map} twice; give each reed one row.").format(
                             map=", ".join(map(str, double))))
    gone = set(left_out)
    aside = frame.loc[frame["set_aside"], "reed"].tolist()
    out = frame.loc[frame["reed"].isin(gone) & ~frame["set_aside"], "reed"].tolist()
    frame = frame[~frame["set_aside"] & ~frame["reed"].isin(gone)]
    if boxes is not None and instrument is not None and len(boxes):
        kinds = typed("boxes", boxes).set_index("box")["instrument"]
        other = [b for b in sorted(frame["box"].unique()) if kinds.get(b, instrument) not in (instrument, None)]
        if other:
            raise PlanRefused(
                tr("Box {names} is not for {instrument}. One trial is for one instrument.").format(
                    names=", ".join(other), instrument=instrument),
                tr("Leave out box {names}, or plan a trial for the other instrument.").format(
                    names=", ".join(other)), "instrument_mix")
    by_break_in = "broken_in" in frame and len(frame) > 0 and bool(frame["broken_in"].notna().all())
    if by_break_in:
        frame = frame.assign(first_play=frame["broken_in"])
    frame = frame.sort_values("reed")
    frame = frame.assign(
        _rating=-frame["first_play"], _hard=-frame["first_stiffness"],
        _chance=np.random.default_rng([seed, 1]).random(len(frame)),
    ).sort_values(["box", "_rating", "_hard", "_chance"], na_position="last")
    return Usable(
        table=frame[["reed", "box", "first_play"]].reset_index(drop=True),
        set_aside=tuple(aside), left_out=tuple(out),
        unrated=tuple(frame.loc[frame["first_play"].isna(), "reed"]),
        worked_on=tuple(frame.loc[frame["worked_on"].notna(), "reed"]), by_break_in=by_break_in)
