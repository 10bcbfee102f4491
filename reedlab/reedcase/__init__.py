"""The reed case: every reed as it stands, which are ready, how long they may last. Blind to the habits."""

from __future__ import annotations

from .both_ways import Against, against_each_other
from .lasting import LifeBelief, Span, belief, left, reserve
from .overview import CaseView, open_case
from .ready import ConcertPick, Turn, for_concert, turn
from .spent import BoxCost, Retired, box_costs, deaths, retired
from .states import ReedState, states

__all__ = ["Against", "BoxCost", "CaseView", "ConcertPick", "LifeBelief", "ReedState", "Retired", "Span",
           "Turn", "against_each_other", "belief", "box_costs", "deaths", "for_concert", "left", "open_case", "reserve",
           "retired", "states", "turn"]
