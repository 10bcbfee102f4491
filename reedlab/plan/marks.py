"""How the ratings of a trial are read: what the marks of the scale mean, and when a reed is worn out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from ..errors import InputError
from ..trial.practice import ANCHORS, value
from ..wording import tr

__all__ = ["FEWEST_ANCHORS", "LONGEST_ANCHOR", "Marks"]

FEWEST_ANCHORS = 3  # with fewer words beside the scale, its numbers drift: our assumption
LONGEST_ANCHOR = 30  # characters; more do not fit beside the scale on a phone or on the sheet


@dataclass(frozen=True, kw_only=True)
class Marks:
    """The player's own marks, frozen with the plan.

    Attributes
    ----------
    scale : tuple of (int, str)
        What some of the points from 0 to 10 mean, in rising order.
    worn_out_rule : {"ratings", "player"}
        "ratings": worn out once rated below `worn_out_below` so often in a row; "player": the player's word.
    worn_out_below, good_below : float
        Points; below the second a reed's good hours end.
    in_a_row : int
        Rated sittings running.
    """

    scale: tuple[tuple[int, str], ...] = tuple(ANCHORS.items())
    worn_out_rule: str = "ratings"
    worn_out_below: float = value("worn_out_below")
    good_below: float = value("good_below")
    in_a_row: int = int(value("in_a_row"))

    def __post_init__(self) -> None:
        faults = list(self._faults())
        if faults:
            raise InputError("\n".join(faults))

    def fields(self) -> dict[str, Any]:
        """Return them as the plan's own fields."""
        return {**vars(self), "worn_out_below": float(self.worn_out_below), "good_below": float(self.good_below)}

    def _faults(self) -> Iterator[str]:
        points = [p for p, _ in self.scale]
        if len(self.scale) < FEWEST_ANCHORS:
            yield tr("The scale has words for {n} points; wanted words for at least {fewest_anchors}.").format(
                      n=len(self.scale), fewest_anchors=FEWEST_ANCHORS)
        if points != sorted(set(points)) or not all(0 <= p <= 10 for p in points):
            yield tr("The scale wants each point from 0 to 10 once, in rising order.")
        words = [w.strip() for _, w in self.scale]
        if any(not w or len(w) > LONGEST_ANCHOR for w in words):
            yield tr("The words beside the scale: wanted 1 to {longest_anchor} letters for each point.").format(
                      longest_anchor=LONGEST_ANCHOR)
        if len({w.casefold() for w in words}) < len(words):
            yield tr("The words beside the scale: wanted different words for each point.")
        if self.worn_out_rule not in ("ratings", "player"):
            yield tr("How worn out is told: {worn_out_rule!r}, wanted ratings or player.").format(
                      worn_out_rule=self.worn_out_rule)
        if not 0 < self.worn_out_below <= self.good_below <= 10:
            yield tr("A reed is worn out below {worn_out_below:g} and no longer good below {good_below:g}; wanted "
                     "points from 0.5 to 10, the first no more than the second.").format(
                      worn_out_below=self.worn_out_below, good_below=self.good_below)
        if not 1 <= self.in_a_row <= 10:
            yield tr("Worn out after {in_a_row} ratings in a row; wanted 1 to 10.").format(in_a_row=self.in_a_row)
