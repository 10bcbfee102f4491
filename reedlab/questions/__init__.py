"""The catalogue of trial questions: two ways each, what they allow and why, outcomes and traps.

>>> from reedlab.questions import CATALOGUE
>>> CATALOGUE["wetting"].ask
'Does a reed play better when I wet it in water or in my mouth?'
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from ._catalogue import QUESTIONS, WEARS_OFF
from ._own import check_habits, own_question
from ._question import DESIGN_WORDS, OVERRIDABLE, Question

__all__ = [
    "CATALOGUE", "DESIGN_WORDS", "OVERRIDABLE", "WEARS_OFF", "Question", "check_habits", "own_question",
]

#: Every question by key.
CATALOGUE: Final[Mapping[str, Question]] = MappingProxyType({q.key: q for q in QUESTIONS})
