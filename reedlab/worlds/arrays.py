"""From simulated trials to the arrays the batch analysis reads: what the player would have written down."""

from __future__ import annotations

import numpy as np

from ..analysis.batch import BatchTrials
from .simulate import BY_CHOICE, DAMAGED, GOING, WORN_OUT, Batch

__all__ = ["batch_trials"]


def batch_trials(batch: Batch) -> BatchTrials:
    """Return every run of a batch as `to_frames` would write it, all at once."""
    plan = batch.plan
    words = np.empty(4, dtype="U16")
    words[GOING], words[WORN_OUT], words[DAMAGED] = "still_going", "worn_out", "damaged"
    words[BY_CHOICE] = "by_choice"
    counted = batch.logged & ~batch.unsure_reed
    return BatchTrials(
        protocol=batch.protocol, reed=plan.slot_reed, day=plan.slot_day, order=plan.slot_order,
        unit=plan.slot_unit, rating=batch.rating, play_min=batch.play_min, counted=counted, used_b=batch.used_b,
        humidity=np.where(batch.days.off, np.nan, np.round(batch.days.humidity_pct)).T,
        first_play=batch.reeds.first_play.T, dealt_b=batch.dealt_b, left_day=batch.left_day,
        left_why=words[batch.left_why])
