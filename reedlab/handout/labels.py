"""Labels for the slots of a reed case: codes only, never which way a reed is dealt."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from ..errors import InputError
from ..rows.tables import Frames
from ..wording import tr
from .sheet import environment, paper_called, style

__all__ = ["codes_in_use", "labels"]

_MARGIN: Final = 11.0
_WIDE, _HIGH = 30.0, 12.0  # mm; our assumption of what a slot of a reed case takes


def codes_in_use(frames: Frames, today: date) -> list[str]:
    """Return the codes of all reeds that have not left service by `today`, sorted."""
    left = frames.retirements
    gone = set(left.loc[left["date"].dt.date <= today, "reed"])
    return [r for r in sorted(frames.reeds["reed"]) if r not in gone]


def labels(codes: Sequence[str], *, paper: str = "a4") -> str:
    """Return a page of HTML with one label for each reed, to cut out and stick to the slots of the case.

    Raises InputError if there is no reed, more than fill one page, or the paper is not known.
    """
    size = paper_called(paper)
    across = int((size.width - 2 * _MARGIN) // _WIDE)
    down = int((size.height - 2 * _MARGIN - 25.0) // _HIGH)
    if not codes:
        raise InputError(tr("There are no reeds to label yet. Write your box down first."))
    if len(codes) > across * down:
        raise InputError(tr("{n} labels do not fit on one page; it takes {across}.").format(
                             n=len(codes), across=across * down))
    return environment().get_template("labels.html.j2").render(
        css=style(), paper=size, margin=_MARGIN,
        codes=list(codes), across=across, wide=_WIDE, high=_HIGH)
