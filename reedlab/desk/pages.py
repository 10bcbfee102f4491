"""The pages: their files, their names in the line at the top, and their order. The one home of that line."""

from __future__ import annotations

from typing import Final

__all__ = ["LINE", "PAGES"]

#: Every page in the order a player meets it, with its name.
_NAMES: Final = {
    "start.ipynb": "Start", "plan.ipynb": "New reeds and plan", "today.ipynb": "Today", "case.ipynb": "Reed case",
    "paper.ipynb": "Paper", "result.ipynb": "Answer", "ear.ipynb": "Know your own ear",
    "why.ipynb": "Why not just try it?", "class.ipynb": "Class"}
PAGES: Final = tuple(_NAMES)
#: File and name of the pages that the line at the top leads to; the others are reached from a page.
LINE: Final = tuple((page, name) for page, name in _NAMES.items() if page not in ("ear.ipynb", "why.ipynb"))
