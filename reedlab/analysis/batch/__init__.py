"""Thousands of simulated trials of one plan judged at once, by the rules that judge a single one.

Outcome, adjustment, test, guards and verdict rule are those of `analysis.trial`: the functions are shared where
they take many rows, and held equal to it trial by trial in the tests where they are vectorised anew.
"""

from .judging import BatchVerdicts, judge_batch
from .looking import judge_with_looks
from .trials import BatchTrials

__all__ = ["BatchTrials", "BatchVerdicts", "judge_batch", "judge_with_looks"]
