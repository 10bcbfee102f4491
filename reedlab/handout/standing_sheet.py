"""A week of a standing trial for the music stand: one line a reed in service, its minutes, and whether it is done."""

from __future__ import annotations

from typing import Final

from ..errors import InputError
from ..trial.protocol import Protocol
from ..wording import short_day, tr
from .sheet import MARGIN, environment, on_paper, paper_called, way_of
from .week import Week

__all__ = ["SPARE", "standing_sheet"]

_REST: Final = 62.0  # mm: all that is not a row
_LOWEST, _HIGHEST = 5.5, 11.0
#: Empty rows, for reeds dealt in the week.
SPARE: Final = 3


def standing_sheet(protocol: Protocol, week: Week, *, paper: str = "a4") -> str:
    """Return a week as a page of HTML that prints in black on white, one sheet for about 35 reeds.

    Parameters
    ----------
    protocol : Protocol
        With a helper, the page leaves out which way a reed is dealt.
    week : Week
    paper : {"a4", "letter"}

    Raises
    ------
    InputError
        The paper is not known, or more reeds serve than two pages hold.
    """
    size = paper_called(paper)
    served = {x.reed: x.habit for d in week.days for x in d.lines if x.habit is not None}
    rows = [(reed, *way_of(protocol, key)) for reed, key in sorted(served.items())]
    room = size.height - 2 * MARGIN - _REST
    most = int(room // _LOWEST) - SPARE
    if len(rows) > 2 * most:
        raise InputError(tr("{n} reeds are in service: too many for two pages.").format(n=len(rows)))
    pages = [rows] if len(rows) <= most else [rows[:(len(rows) + 1) // 2], rows[(len(rows) + 1) // 2:]]
    high = min(_HIGHEST, room / (max(map(len, pages)) + SPARE))
    return environment().get_template("standing_sheet.html.j2").render(
        **on_paper(protocol, size), pages=pages, row_mm=round(high, 2), spare=range(SPARE),
        days=[(short_day(d.on.weekday()), d.on.day) for d in week.days], first=week.days[0].on, last=week.days[-1].on)
