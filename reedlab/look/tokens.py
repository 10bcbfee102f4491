"""One set of type, spacing and colours: for the pages, the phone, paper and figures, light and dark.

Colours of the two ways: Okabe and Ito 2008, "Color universal design". In light all text has at least the 4.5:1 that
WCAG 2.2 (1.4.3) asks on `paper`, and on its own tint where it has one; in dark too.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

__all__ = ["BAND", "DARK", "FONT", "LIGHT", "PRINT_FONT", "tokens", "variables"]

FONT: Final = 'system-ui, "DejaVu Sans", Verdana, sans-serif'
#: Printed sheets are measured beforehand, so they name a font that is there.
PRINT_FONT: Final = '"DejaVu Sans", Verdana, Arial, Helvetica, sans-serif'
#: The grey band "too small to matter".
BAND: Final = "#d9d9d9"

LIGHT: Final[Mapping[str, str]] = {
    "ink": "#1a1a1a", "paper": "#ffffff", "quiet": "#555555", "rule": "#c9c9c9", "edge": "#767676", "tint": "#eef4f9",
    "main": "#005a94", "on-main": "#ffffff", "a": "#0072b2", "b": "#d55e00", "band": BAND,
    "good": "#1b7837", "good-bg": "#eef7f0", "bad": "#a50f15", "bad-bg": "#fdf0ee", "ask": "#8a5a00",
    "ask-bg": "#fdf6e6"}
DARK: Final[Mapping[str, str]] = {
    "ink": "#ececec", "paper": "#14171a", "quiet": "#b4b8bc", "rule": "#3c4247", "edge": "#8b9197", "tint": "#1c262e",
    "main": "#7cc0ee", "on-main": "#0d1c27", "a": "#5ab4ec", "b": "#f28b4f", "band": "#3c4247",
    "good": "#7fcf98", "good-bg": "#15261a", "bad": "#ff9b93", "bad-bg": "#2e1716", "ask": "#e9bd6a",
    "ask-bg": "#2b2313"}
#: Sizes of type, and the spaces between things.
_SIZES: Final[Mapping[str, str]] = {
    "font": FONT, "text": "1rem", "small": ".9375rem", "head": "1.2rem", "gap": ".5rem", "round": ".3rem",
    "touch": "2.75rem"}


def variables(where: str, values: Mapping[str, str]) -> str:
    """Return a rule of CSS that sets these as variables on `where`; with dark ones the browser's controls are dark."""
    scheme = "dark" if values is DARK else "light"
    return f"{where}{{color-scheme:{scheme};" + ";".join(f"--{name}:{value}" for name, value in values.items()) + "}"


def tokens() -> str:
    """Return all of it as CSS variables, dark where the system is; a printer always gets the light ones."""
    return (variables(":root", {**_SIZES, **LIGHT})
            + "@media screen and (prefers-color-scheme:dark){" + variables(":root", DARK) + "}")
