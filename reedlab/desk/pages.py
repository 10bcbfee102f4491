"""The pages: their files, their names in the line at the top, and their order. The one home of that line."""

from __future__ import annotations

from typing import Final

from ..wording import tr

__all__ = ["LINE", "PAGES"]

#: Every page in the order a player meets it, with its name.
_NAMES: Final = {
    "start.ipynb": tr("Start"), "plan.ipynb": tr("New reeds and plan"), "today.ipynb": tr("Today"),
    "case.ipynb": tr("Reed case"),
    "paper.ipynb": tr("Paper"), "result.ipynb": tr("Answer"), "ear.ipynb": tr("Know your own ear"),
    "why.ipynb": tr("Why not just try it?"), "class.ipynb": tr("Class")}
PAGES: Final = tuple(_NAMES)
_SHORT: Final = {"plan.ipynb": tr("Plan"), "case.ipynb": tr("Case")}
#: File, name and short name of the pages that the line at the top leads to; the others are reached from a page.
LINE: Final = tuple((page, name, _SHORT.get(page, name)) for page, name in _NAMES.items()
                    if page not in ("ear.ipynb", "why.ipynb"))
