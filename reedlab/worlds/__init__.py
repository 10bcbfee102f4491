"""Simulated players and reeds, for planning, tests and the demo: pure, seeded, vectorised over trials."""

from ..trial.world import World
from .diary import batch_trials, to_frames
from .simulate import BY_CHOICE, DAMAGED, GOING, WORN_OUT, Batch, simulate

__all__ = ["BY_CHOICE", "DAMAGED", "GOING", "WORN_OUT", "Batch", "World", "batch_trials", "simulate", "to_frames"]
