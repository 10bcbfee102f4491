"""Remarks on how the trial was kept. None tells which habit does better: all may be shown while it runs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

import numpy as np
import pandas as pd

from ...questions import CATALOGUE
from ...rows.tables import Frames
from ...trial.practice import RAMP, value
from ...trial.protocol import Protocol
from ...trial.result import Remark
from ..units.blind import BlindTrial
from ..units.first_plays import first_plays
from ..units.life_values import Lives
from ..units.progress import due_cells, planned_cells
from ..units.shares import AsDone
from ..units.unit_values import UnitValues
from ..verdicts.scale_use import ScaleUse
from .catalogue import remark

__all__ = ["kept_remarks", "life_remarks", "made_remarks", "own_sittings", "rating_remarks"]

_MISSING = 0.30  # days off alone bring most trials above a tenth
_MEMORY = 0.10
_SILENT = 0.10
_OFF = 0.05
_OVER = 1.25  # the usual limit is given as about 60 to 75 minutes
_HUMIDITY_DRIFT, _TEMP_DRIFT = 15.0, 5.0
_LEAST_THIRD = 3  # days
_FEW_WORN = 10
_FEW_REEDS = 4
#: Top and bottom of the scale, by column where it is not 10 and 0: of the closeness to "just right", for instance.
_ENDS = {"stiffness": (0.0, -3.0), "preference": (5.0, -5.0)}


def made_remarks(protocol: Protocol, frames: Frames) -> Iterator[Remark]:
    """Yield remarks on how the trial was made: boxes, number of matched sets, whether it was shuffled."""
    if protocol.how_dealt == "not":
        yield remark("not_randomised")
    by_reed = protocol.design == "reed_by_reed"
    asked = CATALOGUE.get(protocol.question)
    lasting = asked is not None and not by_reed and protocol.design not in asked.designs
    layout = protocol.layout
    few = layout.least_p > (1 - protocol.level) + 1e-12 and not protocol.standing  # whose boxes come by and by
    if few and protocol.how_dealt != "not":  # no shuffle, no chance to tell of
        yield remark("too_few_blocks", blocks=len(layout.labels), units=len(protocol.units), least_p=layout.least_p,
                     arrangements=layout.count)
    if lasting or (by_reed and len(protocol.units) < _FEW_REEDS):
        ratings = int((frames.sittings["reed"].isin(protocol.reeds) & frames.sittings["overall"].notna()).sum())
        dealt = list(zip(protocol.units, protocol.arms, strict=True))
        of = {x: len({r for u, arm in dealt if arm == x for r in u.reeds}) for x in ("A", "B")}
        yield remark("ratings_not_reeds", reeds=len(protocol.reeds), ratings=ratings, reeds_a=of["A"],
                     reeds_b=of["B"])
    box_of = dict(zip(frames.reeds["reed"], frames.reeds["box"], strict=True))
    box = {r: box_of.get(r) or r.rpartition("-")[0] for r in protocol.reeds}
    boxes: dict[str, set[str]] = {"A": set(), "B": set()}
    for unit, arm in zip(protocol.units, protocol.arms, strict=True):
        boxes[arm].update(box[r] for r in unit.reeds)
    if not boxes["A"] & boxes["B"] and not (protocol.pairs or protocol.crossover):
        yield remark("box_is_arm", box_a=", ".join(sorted(boxes["A"])), box_b=", ".join(sorted(boxes["B"])))
    if not by_reed:
        return
    if not protocol.same_days and not protocol.card.lives:
        yield remark("days_apart", level=protocol.level)
    if len(boxes["A"] | boxes["B"]) == 1:
        yield remark("one_box", box=next(iter(boxes["A"])), reeds=len(protocol.reeds))


def kept_remarks(protocol: Protocol, frames: Frames, trial: BlindTrial, done: AsDone,
                 *, today: date) -> Iterator[Remark]:
    """Yield remarks on how the trial was kept: gaps, the plan, the reeds, the air, the set-up."""
    due, rated = due_cells(trial, today)
    if due and 1 - len(rated) / len(due) >= _MISSING - 1e-12:
        yield remark("missing_days", planned=len(due), rated=len(rated), missing=len(due) - len(rated),
                     share=1 - len(rated) / len(due))
    rows = trial.sittings
    if protocol.design == "day_by_day":
        planned = set(planned_cells(trial)) | {c for u in trial.units for c in u.cells}
        extra = [row for r, d, ok, row in zip(rows["reed"], rows["day"], rows["rated"], rows["row"], strict=True)
                 if ok and (r, d) not in planned]
        if extra:
            yield remark("unplanned_ratings", sittings=len(extra), confirmed=_confirmed(frames, extra))
    mine = own_sittings(protocol, frames, trial)
    unsure = int(mine["unsure_reed"].sum())
    if unsure:
        yield remark("unsure_reed", sittings=unsure)
    told = frames.sittings["from_memory"].to_numpy()[rows["row"].to_numpy()] & rows["rating"].notna().to_numpy()
    n_rated = int(rows["rating"].notna().sum())
    if n_rated and told.sum() / n_rated >= _MEMORY - 1e-12:
        yield remark("from_memory", sittings=int(told.sum()), share=float(told.sum() / n_rated))
    if done.logged and done.off / done.logged > _OFF + 1e-12:
        off = done.rows.loc[(done.rows["done"] != done.rows["dealt"]).to_numpy(), "row"]
        yield remark("plan_not_followed", sittings=done.off, logged=done.logged, share=done.off / done.logged,
                     confirmed=_confirmed(frames, off))
    if protocol.masked != "helper" and done.silent and done.silent / len(done.rows) >= _SILENT - 1e-12:
        yield remark("habit_not_logged", sittings=done.silent, share=done.silent / len(done.rows))
    yield from _overplayed(protocol, mine[~first_plays(frames)[mine.index]])
    yield from _drift(frames, trial)
    yield from _setups(protocol, mine)
    worked = frames.reeds[frames.reeds["reed"].isin(protocol.reeds) & frames.reeds["worked_on"].notna()]
    worked = worked[worked["worked_on"].dt.date <= trial.until]
    if len(worked):
        yield remark("worked_on", reeds=len(worked), names=", ".join(sorted(worked["reed"])))
    mouldy = sorted(r for r, (_, why) in trial.retired.items() if why == "mouldy")
    if mouldy:
        yield remark("mouldy", reeds=len(mouldy), names=", ".join(mouldy))


def own_sittings(protocol: Protocol, frames: Frames, trial: BlindTrial) -> pd.DataFrame:
    """Return every sitting of the trial's reeds in its time, uncertain ones included."""
    s = frames.sittings
    when = s["date"].dt.date
    keep = s["reed"].isin(protocol.reeds) & (when >= protocol.start) & (when <= trial.until)
    return s[keep.to_numpy()]


def _confirmed(frames: Frames, rows: Iterable[int]) -> int:
    """Return how many of these sittings the player confirmed when the form asked."""
    return int(frames.sittings["confirmed"].to_numpy()[list(rows)].sum())


def _overplayed(protocol: Protocol, mine: pd.DataFrame) -> Iterator[Remark]:
    usual = value("daily_limit_min")
    own = {(habit, fact): v for habit, fact, v in protocol.overrides}
    key_of = {u.reeds[0]: k for u, k in zip(protocol.units, protocol.dealt, strict=True) if not u.cells}
    sure = mine[~mine["unsure_reed"].to_numpy()]
    played: dict[str, dict[pd.Timestamp, tuple[float, bool]]] = {}
    for reed, day, minutes, said in zip(sure["reed"], sure["date"], sure["play_min"].fillna(0), sure["confirmed"],
                                        strict=True):
        of_reed = played.setdefault(reed, {})
        so_far, before = of_reed.get(day, (0.0, False))
        of_reed[day] = so_far + minutes, before or said
    times, confirmed, reeds = 0, 0, set()
    for reed, days in played.items():
        habit = key_of.get(reed, "")
        limit = own.get((habit, "daily_limit_min"), usual)
        steps = RAMP if protocol.from_new else ()
        if own.get((habit, "break_in_ramp_min")) == 0:
            steps = ()
        for nth, (_, (minutes, said)) in enumerate(sorted(days.items())):
            allowed = min(limit, steps[nth]) if nth < len(steps) else limit
            if minutes > allowed * _OVER + 1e-9:
                times += 1
                confirmed += bool(said)
                reeds.add(reed)
    if times:
        yield remark("overplayed", reed_days=times, reeds=len(reeds), limit_min=usual, confirmed=confirmed)


def _drift(frames: Frames, trial: BlindTrial) -> Iterator[Remark]:
    air = frames.days
    when = air["date"].dt.date
    run = [d for d in trial.calendar if d <= trial.until]
    third = len(run) // 3
    if third < _LEAST_THIRD:
        return
    first, last = set(run[:third]), set(run[-third:])
    kinds = (("humidity", "humidity_pct", _HUMIDITY_DRIFT), ("temperature", "temp_c", _TEMP_DRIFT))
    for kind, column, most in kinds:
        early = air.loc[when.isin(first).to_numpy(), column].dropna()
        late = air.loc[when.isin(last).to_numpy(), column].dropna()
        if len(early) and len(late) and abs(late.mean() - early.mean()) >= most:
            yield remark("weather_drifted", kind=kind, early=float(early.mean()), late=float(late.mean()))


def _setups(protocol: Protocol, mine: pd.DataFrame) -> Iterator[Remark]:
    used = mine["setup"].dropna()
    if not len(used):
        return
    usual = protocol.setup or str(used.mode().iloc[0])
    other = used[used != usual]
    if len(other):
        yield remark("setup_changed", setups=", ".join(sorted(map(str, used.unique()))), sittings=len(other))


def rating_remarks(values: UnitValues, scale_use: ScaleUse, hours: Sequence[float],
                   not_allowed: Sequence[str], column: str = "overall") -> Iterator[Remark]:
    """Yield remarks on the ratings of an outcome: ends of the scale, units left out, short windows."""
    if scale_use.at_an_end:
        top = scale_use.top + scale_use.own_top >= scale_use.bottom + scale_use.own_bottom
        own = bool(scale_use.own_top if top else scale_use.own_bottom)
        yield remark("ceiling", share=scale_use.squeezed, end="top" if top else "bottom", own=own,
                     value=_ENDS.get(column, (10.0, 0.0))[not top])
    if scale_use.ratings and scale_use.alike:
        yield remark("all_alike", values=scale_use.values, ratings=scale_use.ratings)
    gone = [u for u, here in zip(values.units, values.present, strict=True) if not here]
    if gone:
        yield remark("reeds_left_out", units=len(gone), names=", ".join(gone), fewest=value("fewest_rated"))
    seen = {b for b, there in zip(values.blocks, values.present, strict=True) if there}
    half = len([b for b in values.gaps if b in seen])  # one never rated at all is left out, not half
    if half:
        yield remark("half_squares", squares=half)
    by_block: dict[str, list[float]] = {}
    for block, h in zip(values.blocks, hours, strict=True):
        by_block.setdefault(block, []).append(h)
    for block, window in values.windows:
        longest = max(by_block[block])
        if window < longest / 2:
            yield remark("window_short", block=block, window_hours=window, longest_hours=longest)
    for name, why in [*((n, "not_allowed") for n in not_allowed), *values.left_out]:
        if why != "matched":  # the matched sets have evened it out already: nothing to say
            yield remark("adjust_left_out", name=name, why=why)


def life_remarks(lives: Lives) -> Iterator[Remark]:
    """Yield remarks on lives: too few worn out, retired by choice, worn out but not retired."""
    worn = int(np.sum(lives.worn_out))
    if worn < _FEW_WORN:
        yield remark("few_worn_out", worn_out=worn, reeds=len(lives.units), hours=float(lives.hours.sum()))
    if lives.by_choice:
        yield remark("worn_out_by_choice", reeds=len(lives.by_choice), names=", ".join(lives.by_choice))
    if lives.unmarked:
        yield remark("worn_out_unmarked", reeds=len(lives.unmarked), names=", ".join(lives.unmarked))
