"""What is found of a player's own ear: plain data, no words. `summary/words` puts it into sentences."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = ["ENOUGH_REEDS", "EarResult", "Repeats"]

#: With fewer reeds rated twice the range of the noise is wider than about a factor of two and a half
#: from end to end; the result then says so. Our assumption.
ENOUGH_REEDS: Final = 8


@dataclass(frozen=True)
class EarResult:
    """How well one player's ratings repeat. Points unless said otherwise; nan where it cannot be read.

    Attributes
    ----------
    reeds, rounds : int
        Reeds rated in every round, and rounds.
    icc : float
        Repeatability: the share of the spread of single ratings that belongs to the reeds; 1 is perfect.
        It depends on how much these reeds differ. `icc_range` is its 95 % range.
    sem : float
        Typical noise of one rating, a drift from round to round included; `sem_range` as before.
    smallest_change : float
        1.96·√2·`sem`: two single ratings of one reed differ by less than this 95 times in 100 when nothing
        has changed. `smallest_change_range` likewise.
    shift, shift_range
        Mean of the last round minus the first.
    enough : bool
        False with fewer than `ENOUGH_REEDS` reeds, or when the ratings do not differ.
    remarks : tuple of str
        Codes: too_few_reeds, all_alike, same_each_time, round_shift, left_out (reeds without both ratings).
    """

    reeds: int
    rounds: int
    icc: float
    icc_range: tuple[float, float]
    sem: float
    sem_range: tuple[float, float]
    smallest_change: float
    smallest_change_range: tuple[float, float]
    shift: float
    shift_range: tuple[float, float]
    enough: bool
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Repeats:
    """What was said of pairs that were one reed twice, `same` of them, and of the `different` pairs among them.

    Attributes
    ----------
    called, called_range
        Same pairs in which a difference was named, of `same`; the share's range.
    told, told_range
        Different pairs in which one was named, of `different`; nan where there are none.
    spread, spread_range : float
        Standard deviation of the points said of same pairs.
    lean, lean_range : float
        Their mean: above 0 the first go is favoured, whatever it is.
    """

    same: int
    called: int
    called_range: tuple[float, float]
    different: int
    told: int
    told_range: tuple[float, float]
    spread: float
    spread_range: tuple[float, float]
    lean: float
    lean_range: tuple[float, float]
