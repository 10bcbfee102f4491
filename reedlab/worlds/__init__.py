"""Simulated players and reeds, for planning, tests and the demo: pure, seeded, vectorised over trials."""

from .diary import to_frames
from .parameters import World
from .simulate import DAMAGED, GOING, WORN_OUT, Batch, simulate

__all__ = ["DAMAGED", "GOING", "WORN_OUT", "Batch", "World", "simulate", "to_frames"]
