"""The questions as they read for each outcome: better play, slower fading, longer life."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from ..trial.outcomes import OUTCOMES
from ..wording import tr

__all__ = ["BREAK_IN", "CASES", "DRYING", "HOURS", "HUMIDITY", "LASTING", "LIMIT", "REST", "RINSE", "ROTATION",
           "WEARS_OFF", "WETTING"]

#: The outcomes of a habit that lasts, of one whose effect is gone again after days, and of one that sets the hours;
#: best first.
LASTING: Final = ("mean_rating", "wear_rate", "good_hours", "life_hours")
WEARS_OFF: Final = (*LASTING[:1], "crossover", *LASTING[1:])
HOURS: Final = ("wear_rate", "good_hours", "life_hours")


def _asks(question: str, outcomes: tuple[str, ...], **other: str) -> Mapping[str, str]:
    """Put what each outcome is about where the question has ``{do}``; `other` gives whole deeds of their own."""
    return MappingProxyType({o: question.format(do=other.get(o, OUTCOMES[o].deed)) for o in outcomes})


WETTING: Final = _asks(tr("Does a reed {do} when I wet it in water or in my mouth?"), ("day_rating", *LASTING))
ROTATION: Final = _asks(tr("Do reeds {do} when I take them in turn or play one until it is done?"), HOURS)
BREAK_IN: Final = _asks(tr("Do reeds {do} when I break them in slowly or play them fully from the start?"), LASTING,
                         mean_rating=tr("play better later"))
DRYING: Final = _asks(tr("Do reeds {do} when they dry in the open first or go wiped straight into an airy case?"),
                       LASTING)
CASES: Final = _asks(tr("Do reeds {do} when they live in my first case or in my second?"), WEARS_OFF)
HUMIDITY: Final = _asks(tr("Do reeds {do} when their case holds a humidity pack or none?"), WEARS_OFF)
LIMIT: Final = _asks(tr("Do reeds {do} when each has a daily limit or none?"), HOURS)
REST: Final = _asks(tr("Do reeds {do} with a day of rest between or played every day?"), HOURS)
RINSE: Final = _asks(tr("Do reeds {do} when I only wipe them or rinse and wipe them after playing?"), LASTING)
