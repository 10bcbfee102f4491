"""An old diary, read as a plan that nobody dealt: what was done stands where the deal would stand.

Only entries that belong to no trial of the logbook are read, so nothing of a sealed trial shows.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

import numpy as np
import pandas as pd

from ..analysis.verdicts.state import state_of
from ..errors import InputError
from ..questions import Question
from ..rows.tables import Frames
from ..trial.arrays import BoolArray
from ..trial.calendar import calendar_of
from ..trial.opened_boxes import plans_of
from ..trial.outcomes import OUTCOMES
from ..trial.practice import value
from ..trial.protocol import Protocol, Unit
from ..trial.result import Diary, DiaryWay
from ..wording import all_of, one_of, tr
from ._diary_ways import diary_question, question_of

__all__ = ["diary_frames", "diary_question_of", "free_of_trials", "old_diary"]

#: A reed kept to one way if at least this share of its entries name it, and a diary went reed by reed if at least
#: this share of its reeds did: our assumption.
KEPT: Final = 0.9
#: A reed played less than this share of the usual one's hours would cut the hours compared short: our assumption.
LITTLE: Final = 0.5
NAME: Final = "Old diary"


@dataclass
class _Read:
    """The entries that name one of the two ways, on the way to a plan."""

    question: Question
    frames: Frames
    free: pd.DataFrame  # every entry in no trial, of reeds that are sure
    rows: pd.DataFrame  # those of them that name one of the two ways
    rated: pd.DataFrame  # those of them whose rating counts
    left: dict[str, int] = field(default_factory=dict)

    def leave(self, why: str, how_many: int) -> None:
        """Count what is left out."""
        if how_many:
            self.left[why] = self.left.get(why, 0) + int(how_many)


def old_diary(frames: Frames, question: str | None = None, *, today: date, life: bool = False,
              lasts: bool = True) -> Diary:
    """Describe a diary whose ways were not shuffled.

    Parameters
    ----------
    frames : Frames
        The logbook. Read are the sittings with a habit, in no trial, up to `today`.
    question : str, optional
        Key of the catalogue; "own" takes the two ways that the diary names. If not given, the catalogue's
        question whose ways are there, else "own".
    today : date
        The day it is read on.
    life : bool
        Compare playing hours until worn out; else ratings.
    lasts : bool
        For a question of the player's own: its effect may still be there the next day.

    Returns
    -------
    Diary
        Its plan is reed by reed where nearly every reed kept to one way. Else it is day by day, with a unit for
        each reed and day and a block for each reed that served both ways.

    Raises
    ------
    InputError
        There is nothing to compare: no way is named, one only, or too many; or too few ratings.
    PlanRefused
        There is no such question, or a way can make ill.
    """
    read = _read(frames, question, today, lasts)
    kept = _kept(read.rows)
    reed_by_reed = _went_reed_by_reed(read.rows, kept)
    if life:
        return _lives(read, kept, reed_by_reed, today)
    if not len(read.rated):
        raise InputError(tr("No entry of your diary that names a way has a rating. Write one from 0 to 10 in the "
                            "column `overall`."))
    return _by_reed(read, kept) if reed_by_reed else _by_day(read)


def diary_question_of(diary: Diary, *, lasts: bool = True) -> Question:
    """Return the question of a diary, with its ways spelt as the diary spells them."""
    plan = diary.protocol
    counts = pd.Series({w.key: w.entries for w in diary.ways})
    return diary_question(plan.question, counts, lasts=lasts)


def free_of_trials(frames: Frames, today: date) -> BoolArray:
    """Say which sittings (n,) up to `today` may be read as a diary: those of no trial.

    While a trial runs, no entry from its first day on that names one of its ways is free either, whatever the reed.
    """
    s = frames.sittings
    when = s["date"].dt.date
    free: BoolArray = np.array(when <= today, dtype=bool)
    for plan in plans_of(frames).values():
        mine: BoolArray = np.array(s["reed"].isin(plan.reeds), dtype=bool)
        if not plan.from_new:
            mine &= (when >= plan.start).to_numpy()
        days = calendar_of(plan, frames)
        end = None if days.open_end else days.last
        if days.ended is not None:
            end = days.ended if end is None else min(end, days.ended)
        if end is not None:
            mine &= (when <= end).to_numpy()
        if state_of(plan, frames, today=today, open_early=False).state == "running":
            mine |= ((when >= plan.start) & s["habit"].isin([h.key for h in plan.habits])).to_numpy()
        free &= ~mine
    return free


def diary_frames(diary: Diary, frames: Frames, *, today: date) -> Frames:
    """Return the logbook as the diary's analysis reads it on the day it was described.

    Hours count as they were played. A rating counts only where the entry names the way that the diary's plan has
    for it. There are no trials, no early looks and no pauses.
    """
    plan = diary.protocol
    free = free_of_trials(frames, today)
    s = frames.sittings[free & frames.sittings["reed"].isin(plan.reeds).to_numpy()].reset_index(drop=True)
    by_day = plan.design == "day_by_day"
    done: dict[object, str] = {c: key for u, key in zip(plan.units, plan.dealt, strict=True)
                               for c in (u.cells if by_day else u.reeds)}
    places = [(r, (d - plan.start).days + 1) if by_day else r for r, d in zip(s["reed"], s["date"].dt.date,
                                                                              strict=True)]
    keys = np.array([done.get(place) for place in places], dtype=object)
    named = (s["habit"].to_numpy() == keys) & (keys != None)  # noqa: E711 - element by element
    columns = ["overall", "response", "tone", "stiffness"]
    s.loc[~named, columns] = np.nan
    s["habit"] = keys
    return replace(frames, sittings=s, days=frames.days.assign(pause=False), trials=frames.trials.iloc[:0],
                   looks=frames.looks.iloc[:0])


def _read(frames: Frames, question: str | None, today: date, lasts: bool) -> _Read:
    s = frames.sittings
    past = (s["date"].dt.date <= today).to_numpy()
    named = s["habit"].notna().to_numpy() & past
    free = free_of_trials(frames, today)
    if not named.any():
        raise InputError(tr("No entry says what was done: the column `habit` is empty. Write one short word for "
                            "the way in it, such as water or mouth."))
    if not (named & free).any():
        raise InputError(tr("Every entry that names a way belongs to a trial of this logbook. Its answer stands "
                            "on the page Answer."))
    counts = s.loc[named & free, "habit"].value_counts(sort=False).sort_index()
    asked = diary_question(question or question_of(counts), counts, lasts=lasts)
    keys = [h.key for h in asked.habits]
    ours = s["habit"].isin(keys).to_numpy()
    sure = ~s["unsure_reed"].to_numpy()
    practice = (s["where"].isna() | (s["where"] == "practice")).to_numpy()
    counts_as = s["overall"].notna().to_numpy() & practice
    rows = free & named & ours & sure
    out = _Read(asked, frames, s[free & sure], s[rows], s[rows & counts_as])
    out.leave("in_trials", (named & ours & ~free).sum())
    out.leave("other_ways", (free & named & ~ours).sum())
    out.leave("unsure", (free & named & ours & ~sure).sum())
    return out


def _kept(rows: pd.DataFrame) -> pd.Series:
    """Return the way each reed kept to, by reed; None where it served both."""
    shares = rows.groupby("reed")["habit"].value_counts(normalize=True)
    top = shares[shares >= KEPT - 1e-9].reset_index("habit")["habit"]
    return top.reindex(sorted(rows["reed"].unique())).astype(object)


def _went_reed_by_reed(rows: pd.DataFrame, kept: pd.Series) -> bool:
    if kept.nunique() < 2:
        return False
    sizes = rows.groupby("reed").size()
    judged = kept[sizes.reindex(kept.index) >= value("fewest_rated")]
    judged = judged if len(judged) else kept
    return bool(judged.notna().mean() >= KEPT - 1e-9)


def _instrument(read: _Read, reeds: Iterable[str]) -> str:
    box_of = dict(zip(read.frames.reeds["reed"], read.frames.reeds["box"], strict=True))
    boxes = {box_of.get(r) for r in reeds}
    kinds = sorted(set(read.frames.boxes.loc[read.frames.boxes["box"].isin(boxes), "instrument"]))
    if len(kinds) > 1:
        raise InputError(tr("The reeds of your diary are for {names}. Read one instrument at a time: keep a "
                            "logbook for each.").format(names=all_of(kinds)))
    return kinds[0] if kinds else "other"


def _made(read: _Read, used: pd.DataFrame, outcome: str, start: date, last: date, units: list[Unit],
          dealt: list[str]) -> Diary:
    q = read.question
    design = "reed_by_reed" if not units[0].cells else "day_by_day"
    plan = Protocol(
        trial=NAME, question=q.key, ask=q.ask_for(outcome), instrument=_instrument(read, used["reed"]),
        habits=q.habits, design=design, outcome=outcome, matters=q.matters[outcome], start=start,
        days=(last - start).days + 1, units=tuple(units), dealt=tuple(dealt), how_dealt="not",
        worn_out_rule="player" if OUTCOMES[outcome].by_word else "ratings", overrides=q.overrides)
    ways = []
    for habit in q.habits:
        mine = used[used["habit"] == habit.key]
        when = mine["date"].dt.date
        ways.append(DiaryWay(habit.key, len(mine), mine["reed"].nunique(), when.nunique(), when.min(), when.max()))
    return Diary(plan, (ways[0], ways[1]), tuple(read.left.items()))


def _blocks(read: _Read, way: pd.Series) -> list[str]:
    """Return a matched set for each reed: its box where each box served both ways, else one for all."""
    box = dict(zip(read.frames.reeds["reed"], read.frames.reeds["box"], strict=True))
    boxes = pd.Series([str(box.get(r) or r.rpartition("-")[0]) for r in way.index], index=way.index)
    both = way.groupby(boxes).nunique() == 2
    return list(boxes) if both.all() else ["1"] * len(way)


def _by_reed(read: _Read, kept: pd.Series) -> Diary:
    fewest = int(value("fewest_rated"))
    read.leave("switched", kept.isna().sum())
    way = kept.dropna()
    rated = read.rated[read.rated["reed"].isin(way.index)]
    rated = rated[(rated["habit"] == rated["reed"].map(way)).to_numpy()]
    enough = rated.groupby("reed").size().reindex(way.index, fill_value=0) >= fewest
    read.leave("few_ratings", (~enough).sum())
    way = way[enough]
    hours = read.free[read.free["reed"].isin(way.index)].groupby("reed")["play_min"].sum().reindex(way.index)
    short = hours < LITTLE * hours.median()
    if way[~short].nunique() == 2:
        read.leave("little_played", short.sum())
        way = way[~short]
    lacking = [h.key for h in read.question.habits if h.key not in set(way)]
    if lacking:
        raise InputError(tr("Your diary has too few ratings to compare: no reed with {ways} has {fewest} of "
                            "them.").format(ways=one_of(f"'{k}'" for k in lacking), fewest=fewest))
    used = rated[rated["reed"].isin(way.index)]
    read.leave("unrated", len(read.rows[read.rows["reed"].isin(way.index)]) - len(used))
    units = [Unit(r, b, (r,)) for r, b in zip(way.index, _blocks(read, way), strict=True)]
    outcome = next((o for o in read.question.outcomes_for("reed_by_reed") if not OUTCOMES[o].lives), "mean_rating")
    when = used["date"].dt.date
    return _made(read, used, outcome, when.min(), when.max(), units, list(way))


def _by_day(read: _Read) -> Diary:
    fewest = int(value("fewest_rated"))
    rated = read.rated
    read.leave("unrated", len(read.rows) - len(rated))
    cells = rated.groupby(["reed", "date"])["habit"].agg(["first", "nunique"])
    read.leave("both_ways", (cells["nunique"] > 1).sum())
    done = cells.loc[cells["nunique"] == 1, "first"]
    both = done.groupby("reed").nunique() == 2
    read.leave("one_way", (~both).sum())
    done = done[done.index.get_level_values("reed").isin(both.index[both])]
    counts = {h.key: int((done == h.key).sum()) for h in read.question.habits}
    if min(counts.values()) < fewest:
        raise InputError(tr("Your diary has too few ratings to compare. In reeds that served both ways, on days with "
                            "one way only, there are {counts}; wanted at least {fewest} of each.").format(
            counts=all_of(tr("{n} with '{way}'").format(n=n, way=k) for k, n in counts.items()), fewest=fewest))
    used = rated[pd.MultiIndex.from_frame(rated[["reed", "date"]]).isin(done.index)]
    when = used["date"].dt.date
    start, last = when.min(), when.max()
    units, dealt = [], []
    for reed, on, habit in done.reset_index().itertuples(index=False):
        day = (on.date() - start).days + 1
        units.append(Unit(f"{reed}/{day}", str(reed), (str(reed),), ((str(reed), day),)))
        dealt.append(str(habit))
    return _made(read, used, "day_rating", start, last, units, dealt)


def _lives(read: _Read, kept: pd.Series, reed_by_reed: bool, today: date) -> Diary:
    if "life_hours" not in read.question.outcomes:
        raise InputError(tr("This question is not asked of how long reeds last. Compare ratings instead."))
    if not reed_by_reed:
        raise InputError(tr("In your diary, reeds served both ways, so no life belongs to one of them. Compare "
                            "ratings instead."))
    read.leave("switched", kept.isna().sum())
    way = kept.dropna()
    tried = {r for plan in plans_of(read.frames).values() for r in plan.reeds}
    in_trial = way.index.isin(tried)
    read.leave("in_a_trial", in_trial.sum())
    way = way[~in_trial]
    gone = read.frames.retirements
    worn = set(gone.loc[gone["reason"] == "worn_out", "reed"]) & set(way.index)
    if way.nunique() < 2 or not worn:
        what = tr("has no reed that was worn out") if way.nunique() == 2 else tr("has reeds of one way only")
        raise InputError(tr("Your diary {what}, so it can't tell how long reeds last. A reed counts as worn out "
                            "if retirements.csv says so. Compare ratings instead.").format(what=what))
    used = read.rows[read.rows["reed"].isin(way.index)]
    every = read.free.loc[read.free["reed"].isin(way.index), "date"].dt.date
    left = gone.loc[gone["reed"].isin(way.index), "date"].dt.date
    last = max([every.max(), *(d for d in left if d <= today)])
    units = [Unit(r, b, (r,)) for r, b in zip(way.index, _blocks(read, way), strict=True)]
    return _made(read, used, "life_hours", every.min(), last, units, list(way))
