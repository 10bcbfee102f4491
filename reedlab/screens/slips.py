"""A box, a reed or a first play that was entered by mistake: what may still be taken back, and taking it back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from ..analysis.units.first_plays import first_plays
from ..rows.records import Reed
from ..rows.tables import Frames
from ..rows.values import as_it_stands
from ..trial.protocol import Protocol as Plan
from ..wording import tr
from .saving import Store, Written, take_back

__all__ = ["Slip", "slips", "take_back_first_play", "undo"]


@dataclass(frozen=True)
class Slip:
    """`kind` is "first_play", "reed" or "box", `code` its reed or box, `words` what the player is asked about."""

    kind: str
    code: str
    words: str


def slips(frames: Frames, plans: dict[str, Plan]) -> list[Slip]:
    """Return what may be taken back, the newest first: nothing that an entry or a plan rests on.

    Parameters
    ----------
    frames : Frames
        With all sittings of the reeds in it.
    plans : dict
        The plan of every trial in `frames`, by name.
    """
    s = frames.sittings
    first = first_plays(frames)
    played = set(s.loc[~first, "reed"].dropna())
    bound = played | set(frames.retirements["reed"]) | {r for p in plans.values() for r in p.reeds}
    tried = set(s.loc[first, "reed"])
    out = []
    for row in frames.reeds.sort_values("entry_id", ascending=False).to_dict("records"):
        reed = str(row["reed"])
        if reed in bound:
            continue
        if pd.notna(row["first_play"]):
            out.append(Slip("first_play", reed, tr("the first play of {reed}, {first_play:g} points").format(
                                                    reed=reed, first_play=row["first_play"])))
        elif reed not in tried:
            out.append(Slip("reed", reed, tr("the reed {reed}").format(reed=reed)))
    firm = bound | tried | set(frames.reeds.loc[frames.reeds["first_play"].notna(), "reed"])
    for box in frames.boxes.sort_values("entry_id", ascending=False)["box"]:
        mine = set(frames.reeds.loc[frames.reeds["box"] == box, "reed"])
        if not mine & firm:
            out.append(Slip("box", str(box), tr("box {box} with its {n} reeds").format(box=box, n=len(mine)) if mine
                            else tr("box {box}").format(box=box)))
    return out


def undo(logbook: Store, kind: str, code: str) -> bool:
    """Take it back, all of it or nothing; False where it is no longer there. The history keeps it.

    Raises EntryRefused if something rests on it by now.
    """
    with logbook.together():
        frames = logbook.frames_since(logbook.today)
        if kind == "first_play":
            return _untried(logbook, frames, code)
        if kind == "reed":
            return _gone(logbook, "reeds", frames.reeds[frames.reeds["reed"] == code])
        _gone(logbook, "reeds", frames.reeds[frames.reeds["box"] == code])
        return _gone(logbook, "boxes", frames.boxes[frames.boxes["box"] == code])


def _gone(logbook: Store, table: str, rows: pd.DataFrame) -> bool:
    for number in rows["entry_id"]:
        logbook.withdraw(table, int(number))
    return bool(len(rows))


def _untried(logbook: Store, frames: Frames, reed: str) -> bool:
    old = as_it_stands("reeds", frames.reeds, reed=reed)
    if not old or old["first_play"] is None:
        return False
    mine = frames.sittings[first_plays(frames) & (frames.sittings["reed"] == reed).to_numpy()]
    _gone(logbook, "sittings", mine)
    logbook.put(Reed(**{**old, "first_play": None, "first_stiffness": None, "first_played": None, "set_aside": False}))
    return True


def take_back_first_play(logbook: Store, before: Mapping[str, Any], sitting: int) -> bool:
    """Take a first play back: its sitting, and what it wrote of the reed, which is as `before` again.

    Returns False, with nothing changed, where the sitting has been taken back or changed since.
    """
    if take_back(logbook, sitting) != Written(None):
        return False
    logbook.put(Reed(**before))
    return True
