"""The remarks a trial can earn: every code, when it stands, and the facts its sentence needs.

This table is the contract between the analysis, which finds the remarks, and `summary`, which writes
their sentences. Nothing here is read by a player. `sealed_ok` marks those that tell nothing of the
two habits' ratings or lives, so that they may be shown while a trial runs.

Facts are numbers or short texts; names of reeds and blocks come joined by ", ". Shares run from 0 to 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from ...trial.result import Remark

__all__ = ["REMARKS", "RemarkKind", "remark"]


@dataclass(frozen=True)
class RemarkKind:
    """One code: the names of its facts, when it stands, and whether a running trial may show it."""

    code: str
    facts: tuple[str, ...]
    when: str
    sealed_ok: bool = False


_K = RemarkKind
_KINDS = (
    # --- how the trial was made -----------------------------------------------------------------
    _K("not_randomised", (), "the habits were not shuffled (old diary): only ever a hint", True),
    _K("ratings_not_reeds", ("reeds", "ratings", "reeds_a", "reeds_b"),
       "reed by reed with fewer than four reeds but many ratings, or a habit that lasts asked day by day: the "
       "ratings are many, but one reed is one reed", True),
    _K("too_few_blocks", ("blocks", "units", "least_p", "arrangements"),
       "even the clearest outcome could not pass: least_p > 1 - level", True),
    _K("box_is_arm", ("box_a", "box_b"),
       "no box has reeds of both habits: the habit and the box cannot be told apart (box names joined)", True),
    _K("one_box", ("box", "reeds"), "all reeds come from one box: the answer is about that box", True),
    _K("days_apart", ("level",),
       "the habit itself sets when a reed is played, and ratings are compared: drift of taste or of the air does not "
       "fall alike on both ways, so a plan asks for a clearer gap (`level` 0.97); at 0.95 a winner is named a little "
       "more often than promised", True),
    _K("knew_which", ("masked", "expected"),
       "a winner, or sameness, where the player knew which was which and had said what "
       "to expect, and the answer is what was expected; `expected` is a habit key or 'same'"),
    # --- what happened on the way ---------------------------------------------------------------
    _K("uneven", ("kind", "count_a", "of_a", "count_b", "of_b", "p", "held"),
       "one habit has more ratings missing (`kind` 'missing'), more written from memory ('memory') or more reeds given "
       "up by choice ('given_up') than shuffling explains; `held` is 1 where the answer was held back for it"),
    _K("missing_days", ("planned", "rated", "missing", "share"),
       "three in ten or more of the planned ratings are missing (`share` missing)", True),
    _K("reeds_left_out", ("units", "names", "fewest"),
       "units without enough ratings to count (fewer than `fewest` rated sittings, or no rated cell)", True),
    _K("block_lost", ("lost", "names", "left", "least_p"),
       "matched sets that lost all units of one habit and left the reckoning", False),
    _K("window_short", ("block", "window_hours", "longest_hours"),
       "a matched set is read over less than half the hours its longest-played reed has, because another reed "
       "of the set was played far less", True),
    _K("half_squares", ("squares",), "2 x 2 squares in which one or more of the four ratings are missing", True),
    _K("unplanned_ratings", ("sittings", "confirmed"),
       "day by day: rated sittings of a reed on a day it was not dealt; they do not count; `confirmed` of them were "
       "confirmed when they were entered", True),
    _K("unsure_reed", ("sittings",), "sittings marked 'not sure which reed': left out", True),
    _K("from_memory", ("sittings", "share"),
       "a tenth or more of the rated sittings were written down later from memory", True),
    _K("plan_not_followed", ("sittings", "logged", "share", "confirmed"),
       "more than one in twenty of the sittings with a logged habit used the other one (`share` off plan); "
       "`confirmed` of them were confirmed", True),
    _K("habit_not_logged", ("sittings", "share"),
       "a tenth or more of the sittings do not say which habit was used; read as done as dealt", True),
    _K("overplayed", ("reed_days", "reeds", "limit_min", "confirmed"),
       "reeds played past their daily limit (ramp for new reeds, the habit's own limit where it is the "
       "question): `reed_days` times, on `reeds` reeds; `limit_min` the usual limit; `confirmed` times it was "
       "confirmed", True),
    _K("weather_drifted", ("kind", "early", "late"),
       "air in the last third of the trial differs from the first third: `kind` 'humidity' (15 % or more) or "
       "'temperature' (5 degrees or more)", True),
    _K("weather_uneven", ("kind", "mean_a", "mean_b"),
       "day by day: the air differed between the two habits' days by 5 % humidity or 2 degrees or more"),
    _K("hours_uneven", ("hours_a", "hours_b"),
       "reed by reed, same days meant: the mean playing hours of the two habits' reeds differ by a fifth or more"),
    _K("setup_changed", ("setups", "sittings"),
       "more than one set-up was used, or not the planned one, in `sittings` sittings (`setups` are the names joined)",
       True),
    _K("worked_on", ("reeds", "names"), "reeds sanded, scraped or clipped before or during the trial", True),
    _K("mouldy", ("reeds", "names"), "reeds retired as mouldy (carries the safety caution)", True),
    _K("adjust_left_out", ("name", "why"),
       "something the plan meant to even out could not be: `name` is day, age_hours, humidity, first_play, break_in or "
       "order; `why` is 'missing' (half or more not written down), 'constant' or 'tangled' (cannot be told from "
       "the matched sets), 'too_few' (too few units for it) or 'not_allowed' (the habit may change it)", True),
    # --- ratings ---------------------------------------------------------------------------------
    _K("ceiling", ("share", "end", "own", "value"),
       "a quarter or more of the ratings are at an end of the scale, or pile up at an end of the part of it that "
       "the player uses (`own`): `end` is 'top' or 'bottom'", True),
    _K("all_alike", ("values", "ratings"), "fewer than three different rating values were used", True),
    # --- lives -----------------------------------------------------------------------------------
    _K("few_worn_out", ("worn_out", "reeds", "hours"),
       "fewer than ten reeds wore out (in all): lives can hardly be told apart; `hours` played in all", True),
    _K("worn_out_by_choice", ("reeds", "names"),
       "reeds retired as worn out before the rule said so: read as still going at that hour", True),
    _K("worn_out_unmarked", ("reeds", "names"),
       "reeds that met the worn-out rule but were not retired: read as worn out at that hour", True),
    _K("damage_uneven", ("damaged_a", "damaged_b"),
       "accidents fell on the two habits' reeds unevenly (differ by 3 or more)"),
    # --- looking early ---------------------------------------------------------------------------
    _K("early_look", ("looks", "p_needed", "least_p", "can_claim"),
       "the answer was opened early; a winner needs p <= `p_needed`; `can_claim` is 1 or 0: 0 where shuffling "
       "allows too few arrangements to ever get there"),
    _K("looks_paid", ("looks", "p_final"),
       "a finished trial that was looked at before: each look cost 0.001; a winner needs p <= `p_final`", True),
    _K("odds_on_the_way", ("looks", "odds", "most", "bar"),
       "a trial that may be read early, and is, or whose winner was named by the odds on the way: they stand at "
       "`odds`, reached `most`, and name a winner at `bar`"),
    _K("repeated", ("number", "p_needed"),
       "not the first trial of this question in the logbook: reading on after every answer is looking again, so a "
       "winner needs p <= `p_needed`", True),
    _K("ended_early", ("day", "days", "why"),
       "ended by hand before its last day: read as an early look", True),
    _K("stopped_before_cap", ("reeds", "cap_hours"),
       "the trial had to run until every reed was worn out or reached its cap; `reeds` had not when it was ended"),
    # --- the answer ------------------------------------------------------------------------------
    _K("could_never_tell", ("why", "least_p"),
       "this trial could never have told: `why` is 'too_few_blocks', 'no_worn_out', 'too_few_worn_out' or 'early'"),
    _K("wide_range", ("low", "high", "matters"),
       "can't tell, and a gap that matters is possible both ways"),
    _K("same_held_back", ("why",),
       "the range lies inside 'too small to matter' but the claim is held back: `why` is 'ceiling', "
       "'all_alike', 'as_done', 'early', 'leans' (ratings lean on the reed's rating before) or 'stays' (first one way, "
       "then the other: what stays for good would show as half of it, and the range does not lie within that)"),
    _K("carry_over", ("estimate", "low", "high", "p"),
       "first one way, then the other: by what the two orders' reeds were rated over both halves together, how much of "
       "the second way (below 0: of the first) may have stayed in the half after it; it decides nothing"),
    _K("as_done_differs", ("planned", "done"),
       "read as done, the gap changes sign or its verdict changes; both estimates"),
)
REMARKS: Final[Mapping[str, RemarkKind]] = MappingProxyType({k.code: k for k in _KINDS})


def remark(code: str, **facts: float | str) -> Remark:
    """Make a remark; raises KeyError for an unknown code and ValueError where the facts are not its own."""
    kind = REMARKS[code]
    if set(facts) != set(kind.facts):
        raise ValueError(f"`{code}` wants the facts {kind.facts}, got {tuple(facts)}")
    return Remark(code, tuple((name, facts[name]) for name in kind.facts))
