"""What a page shows and what may be done on it, as plain data: the notebook's and the phone's pages stand on it."""

from __future__ import annotations

from .saving import Asked, Entry, Refused, Written, entry_of, look_over, save, take_back
from .start import Start, start
from .today import Line, Saved, Today, Way, rated_in, today

__all__ = ["Asked", "Entry", "Line", "Refused", "Saved", "Start", "Today", "Way", "Written", "entry_of", "look_over",
           "rated_in", "save", "start", "take_back", "today"]
