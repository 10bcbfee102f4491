"""Playing hours until a reed is worn out, by the rule fixed before the start.

Only "worn out" is an event. A reed that was damaged, went mouldy, was lost, given away or retired by choice,
and one still going at the end or at the cap, is censored at the hours it had been played.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ...errors import InputError
from ...trial.arrays import BoolArray, FloatArray
from ...trial.outcomes import OUTCOMES
from ...wording import tr
from .blind import BlindTrial

__all__ = ["Ends", "Lives", "Rule", "ends_of", "life_values", "rule_index", "watched_hours"]

_ALIKE = 1.5  # times the hours of the least played reed of its set, up to which reeds were played alike


@dataclass(frozen=True)
class Lives:
    """Lives of n reeds, in the order of the plan's units.

    `hours` (n,) playing hours; `worn_out` (n,) whether the rule was met at that hour (False: censored);
    `damaged` (n,) censored by damage; `ended` why, in the words of the logbook or "still_going"; `done`
    (n,) the reed needs no more playing (worn out, retired or at the cap). `by_choice` are reeds retired
    as worn out before the rule was met; `unmarked` reeds that met it and were not retired. `watched` (n,) are the
    hours to which each reed was, or would have been, watched (`watched_hours`); None where the habit sets the hours
    and nothing else ends them.
    """

    outcome: str
    units: tuple[str, ...]
    blocks: tuple[str, ...]
    hours: FloatArray
    worn_out: BoolArray
    damaged: BoolArray
    ended: tuple[str, ...]
    done: BoolArray
    by_choice: tuple[str, ...]
    unmarked: tuple[str, ...]
    watched: FloatArray | None = None


def rule_index(ratings: npt.ArrayLike, below: float, in_a_row: int) -> npt.NDArray[np.int64]:
    """Return the sitting at which the rule is met: `in_a_row` rated sittings running below `below`.

    Parameters
    ----------
    ratings : array (..., s)
        Ratings in playing order; nan where a sitting was not rated (it neither counts nor breaks the run).
    below : float
        The mark; a rating equal to it is not below.
    in_a_row : int
        Rated sittings running.

    Returns
    -------
    ndarray (...,) of int, -1 where the rule is never met.
    """
    y = np.asarray(ratings, dtype=float)
    run = np.zeros(y.shape[:-1], dtype=np.int64)
    out = np.full(y.shape[:-1], -1, dtype=np.int64)
    for s in range(y.shape[-1]):
        now = y[..., s]
        run = np.where(np.isnan(now), run, np.where(now < below, run + 1, 0))
        out = np.where((out < 0) & (run >= in_a_row), s, out)
    return out


def watched_hours(hours: FloatArray, going: BoolArray, blocks: Sequence[str], *, same_days: bool,
                  cap_hours: float | None) -> FloatArray | None:
    """Return the hours to which each reed was watched, or would have been had it lasted.

    A reed still going was watched for the hours it was played. The others would have been played as long as the
    reeds of their matched set, which are played on the same days: as the longest of these still going, or of all
    reeds still going where the set has none left; without end where no reed is left. Nothing is read beyond the cap.
    Where those of a set that are still going were played one half as long again as another, the watching was not
    alike, whatever the plan said: then it has no common end, and the censored hours are scaled like all others.

    Parameters
    ----------
    hours : (k, n) float
    going : (k, n) bool
        Still going when the trial ended.
    blocks : (n,) labels
    same_days : bool
        The reeds of a set are played on the same days.
    cap_hours : float or None

    Returns
    -------
    (k, n) float; None where neither shared days nor a cap set an end that both habits share.
    """
    if not same_days and cap_hours is None:
        return None
    most = np.full(hours.shape, np.inf)
    if same_days:
        left = np.where(going, hours, -np.inf)
        every = left.max(axis=1, keepdims=True, initial=-np.inf)
        alike = np.ones((len(hours), 1), dtype=bool)
        label = np.asarray(blocks)
        for b in dict.fromkeys(blocks):
            mine = label == b
            here = left[:, mine].max(axis=1, keepdims=True)
            fewest = np.where(going[:, mine], hours[:, mine], np.inf).min(axis=1, keepdims=True)
            alike &= (here <= _ALIKE * fewest) | ~np.isfinite(here)
            here = np.where(np.isfinite(here), here, every)
            most[:, mine] = np.where(np.isfinite(here), here, np.inf)
    if cap_hours is not None:
        most = np.minimum(most, cap_hours)
    out: FloatArray = np.where(going, hours, np.maximum(most, hours))
    if same_days:
        out = np.where(alike, out, np.inf)
    return out


@dataclass(frozen=True)
class Ends:
    """How the lives of n units ended in k trials, (k, n) each; what is not told here is as in `Lives`.

    `reason` is in the words of the logbook; `told` is the reason before the rule was looked at, but "still_going" where
    a reed was played past the cap.
    """

    hours: FloatArray
    worn_out: BoolArray
    reason: npt.NDArray[np.str_]
    told: npt.NDArray[np.str_]
    done: BoolArray
    watched: FloatArray | None


def ends_of(reed: npt.NDArray[np.int_], after: FloatArray, overall: FloatArray | None, left: npt.NDArray[np.str_],
            blocks: Sequence[str], rule: Rule) -> Ends:
    """Return how the lives of k trials ended, by the rule fixed before the start.

    Parameters
    ----------
    reed : (s,) int
        The unit of each sitting, in playing order.
    after : (k, s) float
        Playing hours of its reed after it.
    overall : (k, s) float or None
        Ratings that the rule reads, nan where there is none; None: no ratings end a life.
    left : (k, n) str
        Why the reed left service, "still_going" where it did not.
    blocks : (n,) labels
    rule : Rule
    """
    k, n = left.shape
    hours, met = np.zeros((k, n)), np.zeros((k, n), dtype=bool)
    sittings = [np.flatnonzero(reed == i) for i in range(n)]
    for i, mine in enumerate(sittings):
        if len(mine):
            hours[:, i] = after[:, mine[-1]]
    if overall is not None and any(len(mine) for mine in sittings):
        index = rule_index(_by_reed(overall, sittings), rule.below, rule.in_a_row)
        met = index >= 0
        for i, mine in enumerate(sittings):
            at = np.flatnonzero(met[:, i])
            if len(at):
                hours[at, i] = after[at, mine[index[at, i]]]
    if rule.by_player:
        met |= left == "worn_out"
    capped = np.zeros((k, n), dtype=bool)
    if rule.cap_hours is not None:
        past = hours > rule.cap_hours  # played past the cap: both habits are read up to the same hour
        met, left = met & ~past, np.where(past, "still_going", left)
        hours = np.where(past, rule.cap_hours, hours)
        capped = hours >= rule.cap_hours - 1e-9
    reason = np.where(met, "worn_out", np.where(left == "worn_out", "by_choice", left))
    going: BoolArray = reason == "still_going"
    watched = watched_hours(hours, going, blocks, same_days=rule.same_days, cap_hours=rule.cap_hours)
    return Ends(hours, met, reason, left, met | ~going | capped, watched)


@dataclass(frozen=True)
class Rule:
    """When a life ends: `in_a_row` ratings running below `below`, or by the player's word; and how long it is read."""

    below: float
    in_a_row: int
    by_player: bool
    cap_hours: float | None
    same_days: bool


def _by_reed(ratings: FloatArray, sittings: list[npt.NDArray[np.intp]]) -> FloatArray:
    """Return ratings (k, s) as (k, reeds, sittings of a reed), nan beyond a reed's last."""
    longest = max(len(s) for s in sittings)
    # sittings first in memory: the rule walks along them
    out = np.full((longest, len(ratings), len(sittings)), np.nan)
    for i, mine in enumerate(sittings):
        out[:len(mine), :, i] = ratings[:, mine].T
    return np.moveaxis(out, 0, -1)


def life_values(trial: BlindTrial, outcome: str) -> Lives:
    """Return playing hours until so many rated sittings running lie below the outcome's mark.

    Under the rule "player" the player's own word is the event; a reed that the player calls worn out has no good
    hours left either, by whatever mark. InputError if the outcome has no mark.
    """
    card = OUTCOMES[outcome]
    if not card.mark:
        raise InputError(tr("`outcome` is {outcome!r}, which is no life: it has no mark that ends it.").format(
                             outcome=outcome))
    names = [u.reeds[0] for u in trial.units]
    rows = trial.sittings
    left = np.array([[trial.retired.get(r, (None, "still_going"))[1] for r in names]], dtype="U16")
    rule = Rule(float(getattr(trial, card.mark)), trial.in_a_row, trial.worn_out_rule == "player", trial.cap_hours,
                trial.same_days)
    by_ratings = trial.worn_out_rule == "ratings" or not card.by_word
    ends = ends_of(trial.unit_of_reed[rows["place"].to_numpy()], rows["hours_after"].to_numpy()[None],
                   rows["overall"].to_numpy(dtype=float)[None] if by_ratings else None, left, trial.blocks, rule)
    worn, told, reason = ends.worn_out[0], ends.told[0], tuple(map(str, ends.reason[0]))

    def named(which: BoolArray) -> tuple[str, ...]:
        return tuple(r for r, yes in zip(names, which, strict=True) if yes and card.by_word)

    return Lives(outcome, tuple(u.unit for u in trial.units), trial.blocks, ends.hours[0], worn,
                 np.array([r == "damaged" for r in reason], dtype=bool), reason, ends.done[0],
                 by_choice=named(~worn & (told == "worn_out")), unmarked=named(worn & (told == "still_going")),
                 watched=None if ends.watched is None else ends.watched[0])
