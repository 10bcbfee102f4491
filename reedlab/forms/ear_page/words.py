"""The double rating: whose turn it is, and what is written down at the end. Plain functions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from ...analysis.player.ear import EarResult, ear_order, know_your_ear
from ...rows.records import Sitting
from ...rows.tables import Frames
from ...summary.words.ear import ear_sentences
from ...wording import tr
from ..shared.render import render

__all__ = ["EAR_STEPS", "FEWEST", "MOST", "EarTurn", "ear_html", "ear_result", "ear_sittings", "ear_turns",
           "free_reeds"]

FEWEST, MOST = 3, 12  # reeds: below, nothing can be read; above, the lip tires
EAR_STEPS = (
    tr("Put the reeds in your case in any order, best by a helper. Slots count from 1."),
    tr("Hide the codes: turn the reeds round, or look away. A helper may hand you each reed."),
    tr("Play each reed for about two minutes: soft attack, long tone, staccato, high notes. Rate it, then take the "
       "next."),
    tr("Put each reed back into its own slot. Each comes up twice. Your first rating stays hidden."),
)


@dataclass(frozen=True)
class EarTurn:
    """One rating to give: the `step` in all, the `round` and the `slot` of the case."""

    step: int
    round: int
    slot: int


def ear_turns(reeds: int, seed: int) -> tuple[EarTurn, ...]:
    """Return the shuffled turns of a double rating."""
    return tuple(EarTurn(int(r["step"]), int(r["round"]), int(r["slot"]))
                 for r in ear_order(reeds, seed).to_dict("records"))


def free_reeds(frames: Frames, busy: Sequence[str]) -> list[str]:
    """Return the reeds in service that serve in no running trial."""
    reeds = frames.reeds
    gone = set(frames.retirements["reed"]) | set(busy)
    return sorted(str(r) for r in reeds.loc[reeds["first_play"].notna() & ~reeds["reed"].isin(gone), "reed"])


def ear_result(turns: Sequence[EarTurn], ratings: Mapping[int, float]) -> EarResult:
    """Return what the ratings, by step, say of the player's ear."""
    return know_your_ear(pd.DataFrame(
        [{"reed": tr("slot {slot:02d}").format(
                      slot=t.slot), "round": t.round, "rating": ratings.get(t.step)} for t in turns]))


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


def ear_sittings(turns: Sequence[EarTurn], ratings: Mapping[int, float], slots: Mapping[int, str], on: date,
                 minutes: float, first_order: int = 1) -> list[Sitting]:
    """Return the ratings as sittings of the reeds that lay in the slots; slots without a reed are left out."""
    return [Sitting(date=on, reed=slots[t.slot], order=first_order + i, play_min=minutes, overall=ratings[t.step],
                    remark=tr("double rating"))
            for i, t in enumerate(t for t in turns if t.slot in slots and t.step in ratings)]
