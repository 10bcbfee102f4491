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
    "Comparison": "analysis.shuffling.compare",
    "Finding": "trial.result",
    "Followed": "analysis.shuffling.follow",
    "Frames": "rows.tables",
    "LifeComparison": "analysis.shuffling.lives",
    "Logbook": "logbook",
    "Protocol": "trial.protocol",
    "ReedlabError": "errors",
    "TrialResult": "trial.result",
    "Verdict": "trial.result",
    "analyse": "analysis.trial",
    "answer": "summary",
    "compare": "analysis.shuffling.compare",
    "compare_lives": "analysis.shuffling.lives",
    "draw_up": "plan",
    "follow": "analysis.shuffling.follow",
    "follow_lives": "analysis.shuffling.follow_lives",
    "read_trial": "errands.read_trial",
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
    from .analysis.shuffling.compare import Comparison, compare
    from .analysis.shuffling.follow import Followed, follow
    from .analysis.shuffling.follow_lives import follow_lives
    from .analysis.shuffling.lives import LifeComparison, compare_lives
    from .analysis.trial import analyse
    from .errands.read_trial import read_trial
    from .errors import ReedlabError
    from .logbook import Logbook
    from .plan import draw_up
    from .questions import CATALOGUE
    from .rows.tables import Frames
    from .summary import answer
    from .trial.protocol import Protocol
    from .trial.result import Finding, TrialResult, Verdict


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        found = getattr(importlib.import_module(f"{__name__}.{_HOMES[name]}"), name)
        globals()[name] = found
        return found
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted(__all__)
