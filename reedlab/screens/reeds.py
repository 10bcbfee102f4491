"""New reeds, entered by mistake: what is taken back, as every face does it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

import pandas as pd

from ..rows.records import Reed
from ..rows.tables import TABLES, Frames

__all__ = ["Store", "reed_values", "take_back_box", "take_back_first_play"]


class Store(Protocol):
    """A logbook, as far as it is needed here."""

    def frames(self) -> Frames: ...  # noqa: D102
    def withdraw(self, table: str, entry_id: int) -> int: ...  # noqa: D102
    def put(self, record: Reed) -> int: ...  # noqa: D102


def take_back_box(logbook: Store, box: str) -> tuple[str, ...]:
    """Take a box and its reeds back, and return their codes; the history keeps them. Nothing if it is gone already.

    Raises EntryRefused where a reed of it has been played, or serves in a trial.
    """
    frames = logbook.frames()
    reeds = frames.reeds[frames.reeds["box"] == box]
    for entry in reeds["entry_id"]:
        logbook.withdraw("reeds", int(entry))
    for entry in frames.boxes.loc[frames.boxes["box"] == box, "entry_id"]:
        logbook.withdraw("boxes", int(entry))
    return tuple(sorted(reeds["reed"]))


def take_back_first_play(logbook: Store, before: Mapping[str, Any], sitting: int) -> bool:
    """Take a first play back: its sitting, and what it wrote of the reed, which is as `before` again.

    Returns False, with nothing changed, where the sitting has been taken back or changed since.
    """
    if sitting not in set(logbook.frames().sittings["entry_id"]):
        return False
    logbook.withdraw("sittings", sitting)
    logbook.put(Reed(**before))
    return True


def reed_values(frames: Frames, reed: str) -> dict[str, Any]:
    """Return the row of a reed as plain values."""
    row = frames.reeds[frames.reeds["reed"] == reed].iloc[0]
    return {c: None if pd.isna(row[c]) else (row[c].date() if isinstance(row[c], pd.Timestamp) else row[c])
            for c in TABLES["reeds"].columns}
