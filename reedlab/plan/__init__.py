"""Before the start: which reeds, in which matched sets, on which days, dealt how, and what that can show.

`draw_up` gives a `Draft` with the plan to freeze, `draw_up_standing` a trial that goes on until it is
settled; `first_play_order` shuffles the first play of a new box;
`forecast` plays a plan through in simulated worlds; `advise` weighs the plans within the player's means.
"""

from .advice import advise
from .draft import Draft
from .draw_up import draw_up
from .first_play import FIRST_PLAY_STEPS, first_play_order
from .forecast import forecast
from .standing import StandingDraft, draw_up_standing

__all__ = ["FIRST_PLAY_STEPS", "Draft", "StandingDraft", "advise", "draw_up", "draw_up_standing", "first_play_order",
           "forecast"]
