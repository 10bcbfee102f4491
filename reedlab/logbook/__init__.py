"""The logbook on disk: the SQLite store, and the tidy CSV folder as a way in and out."""

from .store import Logbook

__all__ = ["Logbook"]
