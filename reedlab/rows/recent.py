"""The part of a logbook that says what a player and their reeds are like now; the rest is history."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import pandas as pd

from .tables import Frames

__all__ = ["REEDS_GONE", "SITTINGS", "recent", "recent_days"]

#: Sittings that count as lately, and reeds that left service lately. Our assumption: what a player does now matters
#: more (a thousand are two thirds of a year at four a day), and it keeps the pages quick after ten years.
SITTINGS: Final = 1000
REEDS_GONE: Final = 100


def recent(frames: Frames) -> Frames:
    """Return the boxes whose reeds are in service, left it lately or were played lately, with all about them.

    A box is taken whole, with the whole life of each of its reeds. The other tables stay as they are.
    """
    sittings, gone = frames.sittings, frames.retirements
    lately = sittings["reed"][sittings["date"] >= _first(sittings)].dropna()
    last = gone.sort_values(["date"], kind="stable")["reed"].tail(REEDS_GONE)
    reeds = frames.reeds
    here = ~reeds["reed"].isin(gone["reed"]) | reeds["reed"].isin(last) | reeds["reed"].isin(lately)
    if here.all():
        return frames
    kept = reeds[reeds["box"].isin(reeds.loc[here, "box"])]
    return replace(frames, reeds=kept.reset_index(drop=True), **{
        name: rows[rows[column].isin(kept[column])].reset_index(drop=True)
        for name, column, rows in (("boxes", "box", frames.boxes), ("sittings", "reed", sittings),
                                   ("retirements", "reed", gone))})


def recent_days(frames: Frames) -> Frames:
    """Return the sittings and days since the day of the first of the last `SITTINGS`; all if there are fewer."""
    first = _first(frames.sittings)
    return replace(frames, sittings=frames.sittings[frames.sittings["date"] >= first].reset_index(drop=True),
                   days=frames.days[frames.days["date"] >= first].reset_index(drop=True))


def _first(sittings: pd.DataFrame) -> pd.Timestamp:
    last = sittings["date"].nlargest(SITTINGS)
    return last.min() if len(last) == SITTINGS else pd.Timestamp.min
