"""Facts and defaults of the trade, each tagged with where it comes from.

Tags: ``CP`` common practice, no published source; ``P`` published, source given; ``A`` our own
assumption, used for defaults and simulation until the player's own numbers replace it.
Every default can be changed by the player before a trial starts.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from ..wording import tr

__all__ = ["ANCHORS", "CAUTIONS", "FACTS", "Caution", "Fact", "value"]


@dataclass(frozen=True)
class Fact:
    """One trade fact: `value` with `unit`, `tag` (CP, P or A) and `source` in words."""

    key: str
    value: float | tuple[float, ...]
    unit: str
    tag: str
    source: str


_CP: Final = tr("common practice, no published source")
_A: Final = tr("our assumption")

_FACTS = (
    Fact("break_in_ramp_min", (10, 25, 45), tr("min on first, second, third day of play"), "CP", _CP),
    Fact("daily_limit_min", 60, tr("min a day per reed, after break-in"), "CP", _CP),
    Fact("softening_after_min", 22, tr("min within one sitting"), "CP", _CP),
    Fact("best_day_of_play", (3, 4), tr("day of play"), "CP", _CP),
    Fact("rotation_size", (3, 5), tr("reeds kept on the go"), "CP", _CP),
    Fact("open_drying_min", (10, 15), tr("min, flat side up, before the case"), "CP", _CP),
    Fact("first_play_min", 4, tr("min a reed"), "CP", _CP),
    Fact("first_play_reeds_a_day", 5, tr("new reeds a day"), "CP", _CP),
    Fact("concert_reeds", 2, tr("reeds for a concert: one and a ready spare"), "CP", _CP),
    Fact("concert_rest_days", 1, tr("days of rest before a concert"), "A", _A),
    Fact("usual_practice_min", 60, tr("min of practice a day, until the player says otherwise"), "A", _A),
    Fact("slot_min", 10, tr("min a reed for the rating slot"), "A", _A),
    Fact("rate_after_min", 5, tr("min of playing before the rating"), "A", _A),
    Fact("worn_out_below", 4, tr("points (the 'practice only' mark), two sittings running"), "A", _A),
    Fact("good_below", 6, tr("points (the 'rehearsal' mark), two sittings running"), "A", _A),
    Fact("in_a_row", 2, tr("rated sittings"), "A", _A),
    Fact("fewest_rated", 3, tr("rated sittings a reed in the window, else it counts as missing"), "A", _A),
    Fact("life_median_h", 15, tr("h of playing"), "A",
         tr("our assumption; Payne, J. Acoust. Soc. Am. meeting abstract 2aMU4, 1996, gives about 10-20 h")),
    Fact("life_shape", 2, tr("Weibull shape"), "A", _A),
    Fact("damage_share", 0.15, tr("share of reeds chipped or cracked before they wear out"), "A", _A),
    Fact("stiffness_cv", 0.10, tr("within-box coefficient of variation"), "A", _A),
    Fact("rating_icc", 0.6, tr("repeatability of one player's ratings"), "A", _A),
)
FACTS: Final = MappingProxyType({f.key: f for f in _FACTS})


def value(key: str) -> float:
    """Return the single default value of a fact; raises KeyError for unknown or multi-valued facts."""
    v = FACTS[key].value
    if isinstance(v, tuple):
        raise KeyError(f"`{key}` has several values; read FACTS[{key!r}].value")
    return v


#: Usual minutes of the first days of play of a new reed.
RAMP: Final = tuple(float(m) for m in FACTS["break_in_ramp_min"].value)  # type: ignore[union-attr]

#: The anchored overall scale, 0 to 10; the player may reword it before the start.
ANCHORS: Final = MappingProxyType({
    2: tr("would not play"),
    4: tr("practice only"),
    6: tr("rehearsal"),
    8: tr("concert"),
    10: tr("best I have had"),
})


@dataclass(frozen=True)
class Caution:
    """A short safety sentence and where it belongs (`shown_with` are form or page keys)."""

    key: str
    text: str
    shown_with: tuple[str, ...]
    source: str


_CAUTIONS = (
    Caution("sharing", tr("Never share a reed."), ("first_play", "result", "today", "class"),
            tr("Marshall & Levy 2011, Int. J. Environ. Health Res. 21, 275-285: bacteria on all 20 instruments")),
    Caution("mould", tr("Throw a mouldy reed away and clean its case. A cough or short breath that stays: stop playing "
                        "and see a doctor."), ("retire", "result", "class"), _CP),
    Caution("cleaning", tr("Never mix cleaning agents. Rinse well, and write down any disinfectant: it is a habit of "
                           "its own."), ("plan",), _CP),
    Caution("dust", tr("Sand cane wet, with fresh air and a mask. Mind the knife."), ("worked_on",), _CP),
    Caution("pain", tr("Stop when it hurts. A day off is a day off, never a fault in the trial."),
            ("today", "plan"), _CP),
    Caution("defer", tr("Your teacher, your doctor and local rules come first."), ("plan", "result", "class"), _CP),
)
CAUTIONS: Final = MappingProxyType({c.key: c for c in _CAUTIONS})
