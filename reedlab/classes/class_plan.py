"""One question for a whole class: the plan a teacher hands out, and what a pupil hands back.

Pure: records and frames in, plain data out. The plan fixes question, ways, outcome, scale and length; each
pupil's own reeds are dealt afresh from it. What a pupil hands back holds ratings, minutes and the deal, under
a code: no name, no date, no remark, no words of the pupil's own. Files are the business of
`reedlab.logbook.class_files`.
"""

from __future__ import annotations

import dataclasses
import hashlib
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import pandas as pd

from ..errors import ExchangeError, Fault, InputError, PlanRefused
from ..plan import Draft, draw_up
from ..questions import CATALOGUE, Question, check_habits, own_question
from ..rows.structure import Flag, Many, Maybe, Number, Text, Thing, be_like, read_json
from ..trial.outcomes import OUTCOMES
from ..trial.plan_shape import HABIT_KEY, SCALE
from ..trial.practice import ANCHORS
from ..trial.protocol import DESIGN_NAMES, Habit, Protocol
from ..wording import all_of, tr

__all__ = ["PLAN_FORMAT", "RATINGS", "ClassPlan", "class_plan", "deal_for", "marks", "misfits", "with_words"]

PLAN_FORMAT: Final = "reedlab class plan"
_VERSION: Final = 1
#: The columns of a sitting that a trial may be judged by.
RATINGS: Final = ("overall", "response", "tone", "stiffness", "preference")
_FILE: Final = Thing({
    "format": Text(), "version": Number(_VERSION, _VERSION, whole=True), "sha256": Text(), "question": Text(),
    "ask": Text(300),
    "habits": Many(Thing({"key": HABIT_KEY, "name": Text(120), "steps": Text(500)}), 2, 2),
    "design": Text(), "outcome": Text(), "matters": Number(0, 1000), "days": Maybe(Number(1, 1000, whole=True)),
    "rating": Text(), "reeds_a_day": Maybe(Number(1, 50, whole=True)), "minutes_a_day": Number(0, 1440),
    "cap_hours": Maybe(Number(0, 500)), "scale": SCALE, "lasts": Flag(), "sets_hours": Flag(), "from_new": Flag(),
})


@dataclass(frozen=True, kw_only=True)
class ClassPlan:
    """What every pupil's trial has in common.

    `lasts`, `sets_hours` and `from_new` describe a question of the teacher's own (key ``own``), as in
    `questions.own_question`; for the catalogue's questions they are not used.
    """

    question: str
    ask: str
    habits: tuple[Habit, Habit]
    design: str
    outcome: str
    matters: float
    days: int | None = None
    rating: str = "overall"
    reeds_a_day: int | None = None
    minutes_a_day: float = 60
    cap_hours: float | None = None
    scale: tuple[tuple[int, str], ...] = tuple(ANCHORS.items())
    lasts: bool = True
    sets_hours: bool = False
    from_new: bool = False

    def __post_init__(self) -> None:
        # one number, one fingerprint, whether it was typed as 60 or as 60.0
        for name, kind in (("matters", float), ("minutes_a_day", float), ("cap_hours", float), ("days", int),
                           ("reeds_a_day", int)):
            value = getattr(self, name)
            if value is not None and value == kind(value):
                object.__setattr__(self, name, kind(value))

    @property
    def sha256(self) -> str:
        """The fingerprint: SHA-256 of the plan's canonical JSON, as 64 hex digits."""
        return _fingerprint(dataclasses.asdict(self))

    def to_json(self) -> str:
        """Return the plan as the text of its file, with its fingerprint."""
        whole = {"format": PLAN_FORMAT, "version": _VERSION, **dataclasses.asdict(self), "sha256": self.sha256}
        return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"

    @classmethod
    def from_json(cls, text: str, name: str = "plan") -> ClassPlan:
        """Read a plan back; ExchangeError, naming the file, if it is none or was changed since."""
        try:
            raw = read_json(text)
        except ValueError as err:
            raise _refused(name, tr("no class plan that reedlab can read ({err})").format(err=err)) from err
        if not isinstance(raw, dict) or raw.get("format") != PLAN_FORMAT:
            raise _refused(name, tr("no class plan"))
        be_like(_FILE, raw, name)
        seal = raw["sha256"]
        held = {k: v for k, v in raw.items() if k not in ("format", "version", "sha256")}
        plan = cls(**{**held, "habits": tuple(Habit(**h) for h in raw["habits"]),
                      "scale": tuple((n, w) for n, w in raw["scale"])})
        if seal not in (plan.sha256, _fingerprint(held)):  # older plans told 60 from 60.0
            raise ExchangeError([Fault(name, None, "sha256", tr("a plan that was changed after it was made"),
                                       tr("the file just as the teacher handed it out"))])
        try:  # a plan that was written by hand must still be a fair one
            faults = _faults(plan, question_of(plan))
        except (InputError, PlanRefused) as err:
            raise _refused(name, tr("a class plan that asks what cannot be asked: {err}").format(err=err)) from err
        if faults:
            raise _refused(name, tr("a class plan with {faults}").format(faults="; ".join(faults)))
        return plan


def _refused(name: str, found: str) -> ExchangeError:
    return ExchangeError.of(name, found, tr("the file that the teacher made"))


def _fingerprint(raw: Any) -> str:
    text = json.dumps(raw, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(text.encode()).hexdigest()


def class_plan(
    question: str | Question, *, design: str | None = None, outcome: str | None = None, days: int | None = None,
    matters: float | None = None, rating: str = "overall", reeds_a_day: int | None = None,
    minutes_a_day: float = 60, cap_hours: float | None = None, habits: Sequence[Habit] | None = None,
    scale: Mapping[int, str] = ANCHORS,
) -> ClassPlan:
    """Make a plan for a class.

    Parameters
    ----------
    question : str or Question
        A key of the catalogue, or a question of the teacher's own (`questions.own_question`).
    design, outcome, days, matters, rating, reeds_a_day, minutes_a_day, cap_hours, habits
        As in `plan.draw_up`; defaults are the question's.
    scale : mapping of points to words
        The words on the rating scale, the same for all.

    Raises
    ------
    InputError, PlanRefused
        As `plan.draw_up` does.
    """
    from ..plan.wish import settle_design, settle_question

    asked = settle_question(question, habits, confirmed=False)
    design, outcome = settle_design(asked, design, outcome)
    size = asked.matters[outcome] if matters is None else matters
    plan = ClassPlan(
        question=asked.key, ask=asked.ask, habits=asked.habits, design=design, outcome=outcome,
        matters=float(size), days=asked.days[outcome] if days is None else days,
        rating="preference" if OUTCOMES[outcome].pairs else rating, reeds_a_day=reeds_a_day,
        minutes_a_day=minutes_a_day, cap_hours=cap_hours, scale=tuple(sorted(scale.items())),
        lasts=asked.lasts, sets_hours=asked.sets_hours and not asked.from_new, from_new=asked.from_new)
    faults = _faults(plan, asked)
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))
    return plan


def _faults(plan: ClassPlan, asked: Question) -> list[str]:
    """Return in words what no class can be asked to do."""
    out = [tr("a question about two reeds of one player's own; a class has no two reeds in common")] if (
        plan.question == "two_reeds") else []
    known = OUTCOMES.get(plan.outcome)
    if known is None or plan.design not in known.designs or plan.design not in asked.designs or (
            plan.outcome not in asked.outcomes):
        out.append(tr("`outcome` {outcome} asked {design}, which this question is not").format(
                       outcome=plan.outcome, design=DESIGN_NAMES.get(plan.design, plan.design)))
    elif known.crossover:
        out.append(tr("reeds that have first one way, then the other: the days that a way goes on are each player's "
                      "own, so a class is not asked so"))
    elif not known.none < plan.matters <= 1000:
        out.append(tr("`matters` is {matters!r}; the smallest difference that matters must be more, at most "
                      "1000").format(matters=plan.matters))
    if known is not None and known.pairs != (plan.rating == "preference"):
        out.append(tr("`rating` is {rating!r}; back to back, and only there, it is preference").format(
                       rating=plan.rating))
    elif plan.rating not in RATINGS:
        out.append(tr("`rating` is {rating!r}, wanted one of {names}").format(
                       rating=plan.rating, names=', '.join(RATINGS)))
    if plan.days is not None and not 1 <= plan.days <= 1000:
        out.append(tr("`days` is {days}, wanted 1 to 1000").format(days=plan.days))
    if plan.reeds_a_day is not None and not 1 <= plan.reeds_a_day <= 50:
        out.append(tr("reeds rated a day: {reeds_a_day}, wanted 1 to 50").format(reeds_a_day=plan.reeds_a_day))
    if not 0 < plan.minutes_a_day <= 1440:
        out.append(tr("minutes of play a day: {minutes_a_day}, wanted more than 0 and at most 1440").format(
                       minutes_a_day=plan.minutes_a_day))
    if plan.cap_hours is not None and not 0 < plan.cap_hours <= 500:
        out.append(tr("most hours of a reed: {cap_hours}, wanted more than 0 and at most 500").format(
                       cap_hours=plan.cap_hours))
    return out


def question_of(plan: ClassPlan) -> Question:
    """Return the question a plan asks; InputError if it asks none that reedlab knows."""
    one, two = plan.habits
    if plan.question == "own":
        return own_question(plan.ask, one, two, lasts=plan.lasts, sets_hours=plan.sets_hours,
                            from_new=plan.from_new)
    if plan.question not in CATALOGUE:
        raise InputError(tr("The plan asks `{question}`, which is no question of this reedlab. There is: "
                            "{names}.").format(question=plan.question, names=', '.join(CATALOGUE)))
    check_habits(plan.habits)
    return CATALOGUE[plan.question].with_habits(one, two)


def deal_for(plan: ClassPlan, reeds: pd.DataFrame, *, start: date, seed: int, instrument: str, trial: str,
             boxes: pd.DataFrame | None = None, **more: Any) -> Draft:
    """Deal one pupil's own reeds afresh from the class's plan.

    Parameters
    ----------
    plan : ClassPlan
    reeds, start, seed, instrument, trial, boxes
        As in `plan.draw_up`: the pupil's own. The seed must be the pupil's own too.
    **more
        What else is the pupil's own to say: expected, expected_gap, masked, setup, left_out, played, world,
        simulations, reeds_in_trial.

    Raises
    ------
    PlanRefused, InputError
        As in `plan.draw_up`.
    """
    own = {"expected", "expected_gap", "masked", "setup", "left_out", "played", "world", "simulations",
           "reeds_in_trial"}
    if set(more) - own:
        raise InputError(tr("The plan fixes {names} for all pupils.").format(
                             names=', '.join(sorted(set(more) - own))))
    draft = draw_up(
        question_of(plan), reeds, start=start, seed=seed, instrument=instrument, design=plan.design,
        outcome=plan.outcome, days=plan.days, matters=plan.matters, reeds_a_day=plan.reeds_a_day,
        minutes_a_day=plan.minutes_a_day, cap_hours=plan.cap_hours, rating=plan.rating, trial=trial, boxes=boxes,
        **more)
    return replace(draft, protocol=replace(draft.protocol, scale=plan.scale, ask=plan.ask))


def marks(scale: Sequence[tuple[int, str]]) -> tuple[tuple[int, str], ...]:
    """Return a scale with its words turned into fingerprints, unless they are the usual ones.

    So that two pupils' scales can be told alike or not without handing on anybody's words.
    """
    return tuple((n, w if ANCHORS.get(n) == w else hashlib.sha256(w.encode()).hexdigest()[:12]) for n, w in scale)


def misfits(plan: ClassPlan, protocol: Protocol) -> list[str]:
    """Return in words what a pupil's trial does otherwise than the class's plan; empty if nothing."""
    pairs = (
        (tr("question"), plan.question, protocol.question),
        (tr("ways"), all_of(sorted(h.key for h in plan.habits)), all_of(h.key for h in protocol.habits)),
        (tr("way of dealing"), plan.design, protocol.design), (tr("outcome"), plan.outcome, protocol.outcome),
        (tr("rating"), plan.rating, protocol.rating), (tr("gap that matters"), plan.matters, protocol.matters))
    out = [tr("its {what} is {here}, and the class's plan says {there}").format(what=what, here=here, there=there)
           for what, there, here in pairs if here != there]
    # a shared trial holds the marks of its words already
    if marks(plan.scale) not in (protocol.scale, marks(protocol.scale)):
        out.append(tr("its rating scale has other words than the class's plan"))
    return out


def with_words(protocol: Protocol, plan: ClassPlan | None) -> Protocol:
    """Give a trial that came without words the class plan's or the catalogue's, where its ways are theirs."""
    ask, habits = protocol.ask, protocol.habits
    known = CATALOGUE.get(protocol.question)
    for source_ask, source in ((None, None) if plan is None else (plan.ask, plan.habits),
                               (None, None) if known is None else (known.ask, known.habits)):
        if source is not None and source_ask is not None and {h.key for h in source} == {h.key for h in habits}:
            by = {h.key: h for h in source}
            habits = (by[habits[0].key], by[habits[1].key])
            ask = source_ask
            break
    return replace(protocol, ask=ask, habits=habits)
