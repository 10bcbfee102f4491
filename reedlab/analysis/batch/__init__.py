"""Thousands of simulated trials of one plan judged at once, by the very code that judges a single one.

The other door to it is `analysis.trial`, for a trial kept in a logbook. Here sittings come as arrays of k trials; the
unit values (`units`), the tests (`shuffling`) and the judge (`verdicts.judge`) are shared.
"""

from .judging import BatchVerdicts, judge_batch
from .trials import BatchTrials

__all__ = ["BatchTrials", "BatchVerdicts", "judge_batch"]
