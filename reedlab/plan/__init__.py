"""Before the start: which reeds, in which matched sets, on which days, dealt how, and what that can show.

`draw_up` gives a `Draft` with the plan to freeze; `first_play_days` plans the first play of a new box;
`forecast` plays a plan through in simulated worlds, `forecast_grid` many plans on all cores;
`arrangements` and `redeal` rebuild from a frozen plan every deal it could have made and the one it made.
"""

from .draft import Draft
from .draw_up import draw_up
from .first_play import FIRST_PLAY_STEPS, FirstPlayDay, first_play_days
from .forecast import Forecast, forecast
from .grids import Scenario, forecast_grid, grid_table
from .redeal import arrangements, redeal

__all__ = ["FIRST_PLAY_STEPS", "Draft", "FirstPlayDay", "Forecast", "Scenario", "arrangements", "draw_up",
           "first_play_days", "forecast", "forecast_grid", "grid_table", "redeal"]
