"""What all figures share: colours that differ in black and white too, wrapped text, no global state."""

from __future__ import annotations

import base64
import io
import warnings
from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import cache, wraps
from typing import Any, Final, ParamSpec

import matplotlib
import pandas as pd
import seaborn as sns
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg, RendererAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.ticker import MaxNLocator

from ...errors import InputError, SealedError
from ...look import BAND, DARK, LIGHT
from ...trial.result import Finding, TrialResult
from ...wording import tr
from ..case import Case

__all__ = ["BAND", "COLOUR", "HATCH", "INK", "LINE", "MARKER", "NARROW", "PAGE", "SOFT", "TEXT_COLOUR", "WIDE",
           "empty_figure", "new_figure", "opened", "plain", "styled", "svg_uri", "units_of", "whole_steps", "wrap"]

# Okabe & Ito 2008; contrast on white 5.19:1 and 3.87:1, at least the 3:1 that WCAG 2.2 asks of figures.
COLOUR: Final = {"A": LIGHT["a"], "B": LIGHT["b"]}
#: Their names in words, darker: text wants a contrast of 4.5:1 on white (WCAG 2.2), vermillion has 3.87:1.
TEXT_COLOUR: Final = {"A": "#005A8C", "B": "#A84A00"}
MARKER: Final = {"A": "o", "B": "s"}
LINE: Final = {"A": "-", "B": "--"}
HATCH: Final = {"A": "", "B": "////"}
INK: Final = LIGHT["ink"]
SOFT: Final = LIGHT["quiet"]

WIDE: Final = 7.6  # inches; the column of a notebook or page
PAGE: Final = 4.2  # inches; one drawing that reads well on a page and, shrunk to 90 %, on a phone
NARROW: Final = 3.7  # inches; a phone held upright

LINES: Final = 8  # of one label in a figure; past them an ellipsis

_RC: Final[dict[str, Any]] = {
    "font.family": "sans-serif", "font.sans-serif": ["DejaVu Sans"], "font.size": 10, "axes.labelsize": 10,
    "xtick.labelsize": 10, "ytick.labelsize": 10, "legend.fontsize": 10, "axes.titlesize": 10,
    "text.color": INK, "axes.labelcolor": INK, "xtick.color": INK, "ytick.color": INK,
    "text.parse_math": False,  # a dollar sign in a player's words is a dollar sign
    "hatch.linewidth": 0.8, "hatch.color": "white", "figure.facecolor": "white", "savefig.facecolor": "white",
}

#: The same drawing where the page around it is dark: ink, paper, band and the colours of the ways.
_DARK: Final = ("<style>@media (prefers-color-scheme: dark) {" + "".join(
    f"[style*='{what}: {light.lower()}'] {{ {what}: {dark} !important }}"
    for light, dark in (*((LIGHT[part], DARK[part]) for part in ("paper", "ink", "quiet", "band", "a", "b")),
                        ("#e6e6e6", "#2a2f34"), (TEXT_COLOUR["A"], "#7cc0ee"), (TEXT_COLOUR["B"], "#f2a173"))
    for what in ("fill", "stroke")) + "}</style>").encode()

P = ParamSpec("P")


def _look() -> AbstractContextManager[None]:
    rc: Any = {**sns.axes_style("whitegrid", {"grid.color": "#E6E6E6"}), **_RC}
    return matplotlib.rc_context(rc)


def styled(draw: Callable[P, Figure]) -> Callable[P, Figure]:
    """Draw with the common look, leaving Matplotlib's own settings as they were."""

    @wraps(draw)
    def drawn(*args: P.args, **kwargs: P.kwargs) -> Figure:
        with _look():
            return draw(*args, **kwargs)

    return drawn


@cache
def _wide(text: str, size: float, weight: str) -> float:
    """Return how wide a line of text is, in points."""
    font = FontProperties(family=_RC["font.sans-serif"], size=size, weight=weight)
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        return float(RendererAgg(1, 1, 72).get_text_width_height_descent(text, font, False)[0])


def wrap(text: str, inches: float, size: float = 10, weight: str = "normal") -> str:
    """Break a text into lines that fit `inches` at a font size in points; long words are broken too.

    Past `LINES` lines the text ends with an ellipsis: a figure has only so much room, and the page beside it holds
    the whole. The time it takes grows with what is shown, not with the length of the text.
    """
    room = 72 * max(inches, 0.4)
    lines: list[str] = []
    line = ""
    for word in text.lstrip("_").split():
        if line and not _fits(f"{line} {word}", room, size, weight):
            lines.append(line)
            line = ""
        line = f"{line} {word}" if line else word
        while len(lines) <= LINES and not _fits(line, room, size, weight):  # a word too long for any line
            cut = _cut(line, room, size, weight)
            lines.append(line[:cut])
            line = line[cut:]
        if len(lines) > LINES:
            break
    lines += [line] if line else []
    if len(lines) > LINES:
        last = f"{lines[LINES - 1]} …"
        while len(last) > 2 and not _fits(last, room, size, weight):
            last = f"{last[:-2].rstrip()}…"
        lines = [*lines[:LINES - 1], last]
    return "\n".join(lines) or " "


def _fits(text: str, room: float, size: float, weight: str) -> bool:
    """Say whether a text fits a line; one of 144 letters to the inch need not be measured."""
    return len(text) < 2 or (len(text) < 2 * room and _wide(text, size, weight) <= room)


def _cut(text: str, room: float, size: float, weight: str) -> int:
    """Return how many letters of a text fit a line: at least one."""
    low, high = 1, min(len(text), int(2 * room))
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if _fits(text[:middle], room, size, weight) else (low, middle)
    return low


def whole_steps(most: int = 6, integer: bool = False) -> MaxNLocator:
    """Return a tick locator that counts in ones, twos or fives."""
    return MaxNLocator(most, steps=[1, 2, 5, 10], integer=integer)


def empty_figure(said: str, width: float, body: float) -> Figure:
    """Return a figure titled `said` above `body` inches for axes."""
    lines = wrap(said, width - 0.35, 12, "bold") if said else ""
    head = 0.22 * (lines.count("\n") + 1) + 0.1 if said else 0.05
    layout = ConstrainedLayoutEngine(w_pad=0.08, h_pad=0.06)
    fig = Figure(figsize=(width, head + body), layout=layout)
    FigureCanvasAgg(fig)
    if said:
        fig.suptitle(lines, x=0.02, ha="left", fontsize=12, fontweight="bold", linespacing=1.15)
    return fig


def new_figure(said: str, width: float, body: float) -> tuple[Figure, Axes]:
    """Return a figure titled `said` above `body` inches, and the axes that fill them."""
    fig = empty_figure(said, width, body)
    return fig, fig.subplots()


def opened(result: TrialResult) -> tuple[Case, Finding]:
    """Return the case and its main finding; raises SealedError while the trial is sealed."""
    if result.main is None:
        raise SealedError(tr("This trial still runs. Its figures open with its answer."))
    return Case(result), result.main


def units_of(result: TrialResult) -> pd.DataFrame:
    """Return the used units; raises InputError if the result carries none."""
    if result.units is None or not len(result.units):
        raise InputError(tr("This result has no reeds or days to draw."))
    return result.units[result.units["used"].astype(bool)]


def plain(ax: Axes, grid: str = "y") -> None:
    """Take away the frame and keep grid lines along one axis only."""
    sns.despine(ax=ax, left=True, bottom=grid == "x")
    ax.grid(axis=grid, visible=True)  # type: ignore[arg-type]
    ax.grid(axis="x" if grid == "y" else "y", visible=False)
    ax.set_axisbelow(True)


def svg_uri(fig: Figure) -> str:
    """Return the figure as text that a page can hold: ``data:image/svg+xml;base64,...``.

    Letters stay letters, so the drawing is small and sharp at any size. The same figure gives the same text.
    """
    out = io.BytesIO()
    rc: Any = {"svg.fonttype": "none", "svg.hashsalt": "reedlab"}
    with warnings.catch_warnings(), _look(), matplotlib.rc_context(rc):
        # A letter the font lacks is drawn as a box; the words beside the figure still have it.
        warnings.filterwarnings("ignore", message="Glyph .* missing")
        fig.savefig(out, format="svg", metadata={"Date": None, "Creator": None})
    # Verdana is as wide as DejaVu Sans, and is there where that is not.
    drawn = out.getvalue().replace(b"'DejaVu Sans'", b"'DejaVu Sans', Verdana")
    drawn = drawn.replace(b"<defs>", _DARK + b"<defs>", 1)
    return "data:image/svg+xml;base64," + base64.b64encode(drawn).decode("ascii")
