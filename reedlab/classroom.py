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

from .errors import ExchangeError, Fault, InputError
from .plan import Draft, draw_up
from .practice import ANCHORS
from .protocol import OUTCOMES, Habit, Protocol
from .questions import CATALOGUE, Question, check_habits, own_question

__all__ = ["PLAN_FORMAT", "ClassPlan", "class_plan", "deal_for", "marks", "misfits", "with_words"]

PLAN_FORMAT: Final = "reedlab class plan"
_VERSION: Final = 1
_RATINGS: Final = ("overall", "response", "tone", "stiffness")


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

    @property
    def sha256(self) -> str:
        """The fingerprint: SHA-256 of the plan's canonical JSON, as 64 hex digits."""
        return hashlib.sha256(_canonical(dataclasses.asdict(self)).encode()).hexdigest()

    def to_json(self) -> str:
        """Return the plan as the text of its file, with its fingerprint."""
        whole = {"format": PLAN_FORMAT, "version": _VERSION, **dataclasses.asdict(self), "sha256": self.sha256}
        return json.dumps(whole, indent=2, ensure_ascii=False) + "\n"

    @classmethod
    def from_json(cls, text: str, name: str = "plan") -> ClassPlan:
        """Read a plan back; ExchangeError, naming the file, if it is none or was changed since."""
        try:
            raw = json.loads(text)
            kind, version, seal = raw.pop("format"), raw.pop("version"), raw.pop("sha256")
            if kind != PLAN_FORMAT or version != _VERSION:
                raise ValueError(f"it is of the kind {kind!r}, version {version!r}")
            raw["habits"] = tuple(Habit(**h) for h in raw["habits"])
            raw["scale"] = tuple((int(n), str(w)) for n, w in raw["scale"])
            plan = cls(**raw)
        except (ValueError, KeyError, TypeError, AttributeError) as err:
            raise ExchangeError([Fault(name, None, None, f"no class plan that reedlab can read ({err})",
                                       "the file that the teacher made")]) from err
        if plan.sha256 != seal:
            raise ExchangeError([Fault(name, None, "sha256", "a plan that was changed after it was made",
                                       "the file just as the teacher handed it out")])
        question_of(plan)  # a plan that was written by hand must still be a fair one
        return plan


def _canonical(raw: Any) -> str:
    return json.dumps(raw, sort_keys=True, separators=(",", ":"), ensure_ascii=False)


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
    from .plan.wish import settle_design, settle_question

    asked = settle_question(question, habits, confirmed=False)
    design, outcome = settle_design(asked, design, outcome)
    size = asked.matters[outcome] if matters is None else matters
    faults = []
    if rating not in _RATINGS:
        faults.append(f"`rating` is {rating!r}, wanted one of {', '.join(_RATINGS)}")
    if not size > (1 if OUTCOMES[outcome].scale == "ratio" else 0):
        faults.append(f"`matters` is {size!r}; the smallest difference that matters must be more")
    if days is not None and not 1 <= days <= 1000:
        faults.append(f"`days` is {days}, wanted 1 to 1000")
    if faults:
        raise InputError("Please put this right: " + "; ".join(faults) + ".")
    return ClassPlan(
        question=asked.key, ask=asked.ask, habits=asked.habits, design=design, outcome=outcome,
        matters=float(size), days=asked.days[outcome] if days is None else days, rating=rating, reeds_a_day=reeds_a_day,
        minutes_a_day=minutes_a_day, cap_hours=cap_hours, scale=tuple(sorted(scale.items())),
        lasts=asked.lasts, sets_hours=asked.sets_hours and not asked.from_new, from_new=asked.from_new)


def question_of(plan: ClassPlan) -> Question:
    """Return the question a plan asks; InputError if it asks none that reedlab knows."""
    one, two = plan.habits
    if plan.question == "own":
        return own_question(plan.ask, one, two, lasts=plan.lasts, sets_hours=plan.sets_hours,
                            from_new=plan.from_new)
    if plan.question not in CATALOGUE:
        raise InputError(f"The plan asks `{plan.question}`, which is no question of this reedlab. "
                         f"There is: {', '.join(CATALOGUE)}.")
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
        raise InputError(f"The plan fixes {', '.join(sorted(set(more) - own))} for all pupils.")
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
        ("question", plan.question, protocol.question),
        ("ways", " and ".join(sorted(h.key for h in plan.habits)), " and ".join(h.key for h in protocol.habits)),
        ("way of dealing", plan.design, protocol.design), ("outcome", plan.outcome, protocol.outcome),
        ("rating", plan.rating, protocol.rating), ("gap that matters", plan.matters, protocol.matters))
    out = [f"its {what} is {here}, and the class's plan says {there}" for what, there, here in pairs
           if here != there]
    # a shared trial holds the marks of its words already
    if marks(plan.scale) not in (protocol.scale, marks(protocol.scale)):
        out.append("its rating scale has other words than the class's plan")
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
