"""reedlab: fair trials of reed habits for clarinet and saxophone players.

Plan a trial and learn what it could show, log ratings in under a minute a day, read a plain answer.
The names below are the public face; each is loaded on first use, so that importing reedlab costs
little more than importing NumPy.
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "CATALOGUE": "questions",
    "Comparison": "analysis.compare",
    "Finding": "result",
    "Followed": "analysis.follow",
    "Frames": "tables",
    "LifeComparison": "analysis.lives",
    "Logbook": "logbook",
    "Protocol": "protocol",
    "ReedlabError": "errors",
    "TrialResult": "result",
    "Verdict": "result",
    "analyse": "analysis.trial",
    "answer": "summary",
    "compare": "analysis.compare",
    "compare_lives": "analysis.lives",
    "draw_up": "plan",
    "follow": "analysis.follow",
    "follow_lives": "analysis.follow_lives",
    "read_trial": "read",
}

__all__ = [
    "CATALOGUE",
    "Comparison",
    "Finding",
    "Followed",
    "Frames",
    "LifeComparison",
    "Logbook",
    "Protocol",
    "ReedlabError",
    "TrialResult",
    "Verdict",
    "__version__",
    "analyse",
    "answer",
    "compare",
    "compare_lives",
    "draw_up",
    "follow",
    "follow_lives",
    "read_trial",
]

if TYPE_CHECKING:
    from .analysis.compare import Comparison as Comparison
    from .analysis.compare import compare as compare
    from .analysis.follow import Followed as Followed
    from .analysis.follow import follow as follow
    from .analysis.follow_lives import follow_lives as follow_lives
    from .analysis.lives import LifeComparison as LifeComparison
    from .analysis.lives import compare_lives as compare_lives
    from .analysis.trial import analyse as analyse
    from .errors import ReedlabError as ReedlabError
    from .logbook import Logbook as Logbook
    from .plan import draw_up as draw_up
    from .protocol import Protocol as Protocol
    from .questions import CATALOGUE as CATALOGUE
    from .read import read_trial as read_trial
    from .result import Finding as Finding
    from .result import TrialResult as TrialResult
    from .result import Verdict as Verdict
    from .summary import answer as answer
    from .tables import Frames as Frames


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        found = getattr(importlib.import_module(f"{__name__}.{_HOMES[name]}"), name)
        globals()[name] = found
        return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
