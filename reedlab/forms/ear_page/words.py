"""The double rating: what it tells, and what is written down at the end. Plain functions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd

from ...analysis.player.ear import EarResult, know_your_ear
from ...rows.records import Sitting
from ...rows.tables import Frames
from ...summary.words.ear import ear_sentences
from ...wording import tr
from ..shared.render import render

__all__ = ["EAR_STEPS", "FEWEST", "MOST", "ear_html", "ear_result", "ear_sittings", "free_reeds"]

FEWEST, MOST = 3, 12  # reeds: below, nothing can be read; above, the lip tires
EAR_STEPS = (
    tr("Put the reeds in your case in any order, best by a helper. Slots count from 1."),
    tr("Hide the codes: turn the reeds round, or look away. A helper may hand you each reed."),
    tr("Play each reed for about two minutes: soft attack, long tone, staccato, high notes. Rate it, then take the "
       "next."),
    tr("Put each reed back into its own slot. Each comes up twice. Your first rating stays hidden."),
)


def free_reeds(frames: Frames, busy: Sequence[str]) -> list[str]:
    """Return the reeds in service that serve in no running trial."""
    reeds = frames.reeds
    gone = set(frames.retirements["reed"]) | set(busy)
    return sorted(str(r) for r in reeds.loc[reeds["first_play"].notna() & ~reeds["reed"].isin(gone), "reed"])


def ear_result(order: pd.DataFrame, ratings: Sequence[float]) -> EarResult:
    """Return what ratings, given in an `ear_order`, say of the player's ear."""
    slots = [tr("slot {slot:02d}").format(slot=n) for n in order["slot"]]
    return know_your_ear(order.assign(reed=slots, rating=ratings))


def ear_html(ear: EarResult) -> str:
    """Return the result in sentences, its numbers folded below."""
    rows = [] if ear.sem != ear.sem else [
        (tr("Reeds, rounds"), f"{ear.reeds}, {ear.rounds}"),
        (tr("Repeatability, ICC(2,1)"), tr("{icc:.2f} ({icc_range:.2f} to {icc_range2:.2f})").format(
                                            icc=ear.icc, icc_range=ear.icc_range[0], icc_range2=ear.icc_range[1])),
        (tr("Noise of one rating, SEM"), tr("{sem:.2f} ({sem_range:.2f} to {sem_range2:.2f})").format(
                                             sem=ear.sem, sem_range=ear.sem_range[0], sem_range2=ear.sem_range[1])),
        (tr("1.96 × √2 × SEM"), f"{ear.smallest_change:.2f}"),
        (tr("Second round less first"), tr("{shift:+.2f} ({shift_range:+.2f} to {shift_range2:+.2f})").format(
                                            shift=ear.shift, shift_range=ear.shift_range[0],
                                            shift_range2=ear.shift_range[1]))]
    return render("ear", said=ear_sentences(ear), rows=rows)


def ear_sittings(order: pd.DataFrame, ratings: Sequence[float], slots: Mapping[int, Any], first: int,
                 **of_all: Any) -> list[Sitting]:
    """Return the ratings as sittings of the reeds that lay in the slots, numbered from `first`; each with `of_all`.

    Slots without a reed, and turns not rated yet, are left out.
    """
    rated = [(slots[n], rating) for n, rating in zip(order["slot"], ratings, strict=False) if n in slots]
    return [Sitting(reed=reed, order=n, overall=rating, remark=tr("double rating"), **of_all)
            for n, (reed, rating) in enumerate(rated, first)]
