"""What all figures share: colours that differ in black and white too, wrapped text, no global state."""

from __future__ import annotations

import base64
import io
import textwrap
import warnings
from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import wraps
from typing import Any, Final, ParamSpec

import matplotlib
import numpy as np
import pandas as pd
import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from ...errors import InputError, SealedError
from ...result import Finding, TrialResult
from ..case import Case

__all__ = ["BAND", "COLOUR", "HATCH", "INK", "LINE", "MARKER", "NARROW", "SOFT", "WIDE", "data_uri", "name_of", "new_figure",
           "opened", "plain", "png", "styled", "title", "units_of", "wrap"]

# Okabe & Ito 2008; contrast on white 5.19:1 and 3.87:1, at least the 3:1 that WCAG 2.2 asks of figures.
COLOUR: Final = {"A": "#0072B2", "B": "#D55E00"}
MARKER: Final = {"A": "o", "B": "s"}
LINE: Final = {"A": "-", "B": "--"}
HATCH: Final = {"A": "", "B": "////"}
BAND: Final = "#D9D9D9"
INK: Final = "#222222"
SOFT: Final = "#6B6B6B"

WIDE: Final = 7.6  # inches; the column of a notebook or page
NARROW: Final = 3.7  # inches; a phone held upright

_RC: Final[dict[str, Any]] = {
    "font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans"], "font.size": 10, "axes.labelsize": 10,
    "xtick.labelsize": 10, "ytick.labelsize": 10, "legend.fontsize": 10, "axes.titlesize": 10,
    "text.color": INK, "axes.labelcolor": INK, "xtick.color": INK, "ytick.color": INK,
    "text.parse_math": False,  # a dollar sign in a player's words is a dollar sign
    "hatch.linewidth": 0.8, "hatch.color": "white", "figure.facecolor": "white", "savefig.facecolor": "white",
}

P = ParamSpec("P")


def _look() -> AbstractContextManager[None]:
    return matplotlib.rc_context({**sns.axes_style("whitegrid", {"grid.color": "#E6E6E6"}), **_RC})


def styled(draw: Callable[P, Figure]) -> Callable[P, Figure]:
    """Draw with the common look, leaving Matplotlib's own settings as they were."""

    @wraps(draw)
    def drawn(*args: P.args, **kwargs: P.kwargs) -> Figure:
        with _look():
            return draw(*args, **kwargs)

    return drawn


def wrap(text: str, inches: float, size: float = 10) -> str:
    """Break a text into lines that fit `inches` at a font size in points; long words are broken too."""
    per_line = max(8, int(inches * 72 / (size * 0.57)))
    return "\n".join(textwrap.wrap(text.lstrip("_"), per_line)) or " "


def title(text: str, width: float) -> tuple[str, float]:
    """Return the wrapped title and the height in inches it needs."""
    lines = wrap(text, width - 0.3, 12)
    return lines, 0.22 * (lines.count("\n") + 1) + 0.1


def new_figure(said: str, width: float, body: float, rows: int = 1, columns: int = 1,
               **grid: Any) -> tuple[Figure, np.ndarray]:
    """Return a figure titled `said` above `body` inches of axes, and its axes as an array."""
    lines, head = title(said, width)
    fig = Figure(figsize=(width, head + body), layout="constrained")
    FigureCanvasAgg(fig)
    fig.suptitle(lines, x=0.02, ha="left", fontsize=12, fontweight="bold", linespacing=1.15)
    axes = fig.subplots(rows, columns, squeeze=False, **grid)
    fig.get_layout_engine().set(w_pad=0.08, h_pad=0.06)  # type: ignore[union-attr]
    return fig, axes


def name_of(case: Case, side: str, inches: float) -> str:
    """Return a habit's name, wrapped."""
    return wrap(case.name(side), inches)


def opened(result: TrialResult) -> tuple[Case, Finding]:
    """Return the case and its main finding; raises SealedError while the trial is sealed."""
    if result.main is None:
        raise SealedError("This trial still runs. Its figures open with its answer.")
    return Case(result), result.main


def units_of(result: TrialResult) -> pd.DataFrame:
    """Return the used units; raises InputError if the result carries none."""
    if result.units is None or not len(result.units):
        raise InputError("This result has no reeds or days to draw.")
    return result.units[result.units["used"].astype(bool)]


def plain(ax: Axes, grid: str = "y") -> None:
    """Take away the frame and keep grid lines along one axis only."""
    sns.despine(ax=ax, left=True, bottom=grid == "x")
    ax.grid(axis=grid, visible=True)  # type: ignore[arg-type]
    ax.grid(axis="x" if grid == "y" else "y", visible=False)
    ax.set_axisbelow(True)


def png(fig: Figure, dpi: int = 160) -> bytes:
    """Return the figure as a PNG file."""
    out = io.BytesIO()
    with warnings.catch_warnings(), _look():
        # A letter the font lacks is drawn as a box; the words beside the figure still have it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        fig.savefig(out, format="png", dpi=dpi)
    return out.getvalue()


def data_uri(fig: Figure, dpi: int = 160) -> str:
    """Return the figure as text that a page can hold: ``data:image/png;base64,...``."""
    return "data:image/png;base64," + base64.b64encode(png(fig, dpi)).decode("ascii")
