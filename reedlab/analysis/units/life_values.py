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
from ...trial.outcomes import OUTCOMES
from ...wording import tr
from .blind import BlindTrial

__all__ = ["Lives", "life_values", "rule_index", "watched_hours"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]
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
    (k, n) float, (n,) for k = 1; None where neither shared days nor a cap set an end that both habits share.
    """
    if not same_days and cap_hours is None:
        return None
    most = np.full(hours.shape, np.inf)
    if same_days:
        left = np.where(going, hours, -np.inf)
        every = left.max(axis=1, keepdims=True)
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
    return out[0] if len(out) == 1 else out


def life_values(trial: BlindTrial, outcome: str) -> Lives:
    """Return playing hours until so many rated sittings running lie below the outcome's mark.

    Under the rule "player" the player's own word is the event; a reed that the player calls worn out has no good
    hours left either, by whatever mark. InputError if the outcome has no mark.
    """
    card = OUTCOMES[outcome]
    if not card.mark:
        raise InputError(tr("`outcome` is {outcome!r}, which is no life: it has no mark that ends it.").format(
                             outcome=outcome))
    below, by_ratings = float(getattr(trial, card.mark)), trial.worn_out_rule == "ratings" or not card.by_word
    place = {r: i for i, r in enumerate(trial.reeds)}
    where = trial.sittings["place"].to_numpy()
    after = trial.sittings["hours_after"].to_numpy()
    overall = trial.sittings["overall"].to_numpy(dtype=float)
    n = len(trial.units)
    hours, worn, damaged, done = np.zeros(n), np.zeros(n, bool), np.zeros(n, bool), np.zeros(n, bool)
    ended: list[str] = []
    by_choice, unmarked = [], []
    for i, unit in enumerate(trial.units):
        reed = unit.reeds[0]
        mine = where == place[reed]
        played = after[mine]
        total = float(played[-1]) if len(played) else 0.0
        reason = trial.retired.get(reed, (None, "still_going"))[1]
        index = int(rule_index(overall[mine], below, trial.in_a_row)) if by_ratings and len(played) else -1
        met, at = index >= 0, float(played[index]) if index >= 0 else total
        if not met and trial.worn_out_rule == "player":
            met = reason == "worn_out"
        if trial.cap_hours is not None and at > trial.cap_hours:
            # played past the cap: both habits are read up to the same hour
            met, at, reason = False, trial.cap_hours, "still_going"
        if met:
            if reason == "still_going" and card.by_word:
                unmarked.append(reed)
            reason = "worn_out"
        elif reason == "worn_out":
            if card.by_word:
                by_choice.append(reed)
            reason = "by_choice"
        hours[i], worn[i], damaged[i] = at, met, reason == "damaged"
        capped = trial.cap_hours is not None and at >= trial.cap_hours - 1e-9
        done[i] = met or reason != "still_going" or capped
        ended.append(reason)
    going = np.array([reason == "still_going" for reason in ended], dtype=bool)
    return Lives(outcome, tuple(u.unit for u in trial.units), trial.blocks, hours, worn, damaged, tuple(ended),
                 done, tuple(by_choice), tuple(unmarked),
                 watched_hours(hours[None, :], going[None, :], trial.blocks, same_days=trial.same_days,
                               cap_hours=trial.cap_hours))
