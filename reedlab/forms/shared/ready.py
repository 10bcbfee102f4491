"""All that a page may need, loaded while a kernel waits and nobody does."""

from __future__ import annotations

import gc
from functools import cache
from importlib import import_module
from pkgutil import walk_packages
from typing import Final

from .render import ready_templates

__all__ = ["load_all"]

_ROOMS: Final = ("forms", "summary", "analysis", "logbook")
#: Loaded by functions that seldom run elsewhere; on a page they run at once.
_LATE: Final = (
    "matplotlib.backends.backend_agg", "matplotlib.backends.backend_svg", "matplotlib.figure", "openpyxl", "pingouin",
    "scipy.optimize", "scipy.stats", "statsmodels.duration.survfunc", "statsmodels.regression.mixed_linear_model",
    "statsmodels.stats.meta_analysis", "statsmodels.stats.power",
)


@cache
def load_all() -> None:
    """Load the forms, whatever they use, and their templates, once."""
    for name in _ROOMS:
        room = import_module(f"...{name}", __package__)
        for module in walk_packages(room.__path__, f"{room.__name__}."):
            import_module(module.name)
    for late in _LATE:
        import_module(late)
    ready_templates()
    gc.collect()
    gc.freeze()  # what is loaded stays: looking through it for waste would hold up a page for a tenth of a second
