"""Before the start: which reeds, in which matched sets, on which days, dealt how, and what that can show.

`draw_up` gives a `Draft` with the plan to freeze, `draw_up_standing` a trial that goes on until it is
settled; `first_play_order` shuffles the first play of a new box;
`forecast` plays a plan through in simulated worlds, `forecast_grid` many plans on all cores;
`advise` weighs the plans within the player's means, `how_many` and `what_difference` size a trial both ways;
`arrangements` and `redeal` rebuild from a frozen plan every deal it could have made and the one it made.
"""

from .advice import advise
from .draft import Draft
from .draw_up import draw_up
from .first_play import FIRST_PLAY_STEPS, first_play_order
from .forecast import forecast
from .grids import Scenario, forecast_grid, grid_table
from .redeal import arrangements, redeal
from .sizes import how_many, what_difference
from .standing import StandingDraft, draw_up_standing

__all__ = ["FIRST_PLAY_STEPS", "Draft", "Scenario", "StandingDraft", "advise",
           "arrangements", "draw_up", "draw_up_standing", "first_play_order", "forecast", "forecast_grid", "grid_table",
           "how_many", "redeal", "what_difference"]
