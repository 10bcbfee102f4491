"""The figures. Each answers one question and carries its sentence as its title; none uses global state."""

from __future__ import annotations

from ._style import NARROW, PAGE, WIDE, svg_uri
from .curves import curves_figure
from .forecast import forecast_figure
from .gap import gap_figure
from .joined import joined_figure
from .lives import lives_figure
from .odds import odds_figure
from .ratings import ratings_figure
from .together import together_figure

__all__ = ["NARROW", "PAGE", "WIDE", "curves_figure", "forecast_figure", "gap_figure", "joined_figure",
           "lives_figure", "odds_figure", "ratings_figure", "svg_uri", "together_figure"]
