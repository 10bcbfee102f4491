"""The plan page as plain data: what may be chosen, what is refused and why, and what the plan in hand shows."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final

import pandas as pd

from ..errors import InputError
from ..plan.at_hand import reeds_serving
from ..plan.by_pair import TWO_REEDS, reeds_as_ways
from ..plan.draft import Draft
from ..plan.ranking import Ranked
from ..plan.weigh import changes_a_day
from ..plan.wish import LONGEST_EFFECT
from ..questions import CATALOGUE, DESIGN_WORDS, Question, own_question
from ..rows.tables import Frames
from ..trial.calendar import calendar_with
from ..trial.outcomes import OUTCOMES, Outcome
from ..trial.outlook import Advice, Option
from ..trial.pairs import HOW
from ..trial.practice import value
from ..trial.protocol import Habit, Protocol
from ..wording import spoken_date, tr, trn
from .questions import in_100, weeks_words
from .words import number_within

__all__ = ["DESIGN_WORDS", "GOES_ON", "STEPS", "Alternative", "ReedChoice", "Typed", "Use", "alternatives",
           "burden_of", "facts", "habit_key", "length_lines", "plan_wishes", "question_typed", "reed_choices",
           "reeds_first", "scale_words", "way_lines", "ways_to_expect"]

#: The three steps, as the page names them.
STEPS: Final = (tr("Question"), tr("Reeds and time"), tr("What it can show"))
#: What is asked where reeds have first one way, then the other.
GOES_ON: Final = tr("For how many days does a way go on after you stop?")
#: What is asked of an effect that lasts, of a question of the player's own.
GONE_AGAIN: Final = tr("If it lasts: gone again after how many days? (empty: not sure, or never)")
_NUMBERS: Final = (("days", tr("Days"), 1, 1000), ("matters", tr("Smallest difference that matters to you"), 0.01, 100),
                   ("reeds_a_day", tr("Reeds to rate a day (empty: as suits the plan)"), 1, 10),
                   ("minutes_a_day", tr("Minutes a day"), 5, 600), ("goes_on", GOES_ON, 1, LONGEST_EFFECT))


# --- step 2 --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class ReedChoice:
    """A reed that may be dealt, or `why` it may not just now."""

    reed: str
    first_play: float | None
    why: str = ""


def reed_choices(frames: Frames, today: date) -> tuple[ReedChoice, ...]:
    """Return every reed in service that is not set aside, by code; one that serves in a running trial says so."""
    r = frames.reeds
    here = r[~r["set_aside"] & ~r["reed"].isin(frames.retirements["reed"])].sort_values("reed")
    busy = reeds_serving(frames, today)
    return tuple(ReedChoice(str(reed), None if pd.isna(first) else float(first),
                            tr("in \"{busy}\" up to its end").format(busy=busy[reed]) if reed in busy else "")
                 for reed, first in zip(here["reed"], here["first_play"], strict=True))


def reeds_first(question: Question, choices: Sequence[ReedChoice]) -> tuple[str, ...]:
    """Return the reeds that are ticked when a question is chosen: all that are free, of two reeds the two best."""
    free = [c for c in choices if not c.why]
    if question.key == TWO_REEDS:
        free = sorted(free, key=lambda c: -1.0 if c.first_play is None else c.first_play, reverse=True)[:2]
    return tuple(c.reed for c in free)


def ways_to_expect(question: Question, reeds: Sequence[str]) -> tuple[tuple[str, str], ...]:
    """Return the names and keys of the two ways of which one may be expected to do better."""
    habits = reeds_as_ways(reeds) if question.key == TWO_REEDS and len(reeds) == 2 else question.habits
    return tuple((h.name, h.key) for h in habits)


def way_lines(question: Question, design: str, rows: Sequence[Ranked]) -> tuple[tuple[str, str, int | None], ...]:
    """Return what a question can be judged by in a design, in words, as it stands in the catalogue; `rows` are ranked.

    With each comes its best chance of a useful answer out of 100, None where it is not known.
    """
    best = {row.outcome: row for row in reversed(rows) if row.design == design}
    return tuple((o, _capital(OUTCOMES[o].asked_of), _chance(best.get(o)))
                 for o in (question.outcomes_for(design) if design in question.designs else ()))


def length_lines(rows: Sequence[Ranked], design: str | None, outcome: str | None,
                 weeks: Sequence[int]) -> tuple[tuple[int, int | None], ...]:
    """Return the lengths in weeks with the chance of each out of 100, None where it is not known or refused."""
    found = {round(r.weeks): r for r in rows if (r.design, r.outcome) == (design, outcome)}
    return tuple((n, _chance(found.get(n))) for n in weeks)


def _chance(row: Ranked | None) -> int | None:
    return None if row is None or row.refused else in_100(row.useful)


# --- what was typed ------------------------------------------------------------------------------


@dataclass(frozen=True, kw_only=True)
class Typed:
    """Everything that a player may say of a plan, as typed: numbers are text, None where nothing was said.

    `names`, `steps` and `ask` are the player's own words; `lasts` and `wears_off` (days after which an effect that
    lasts is gone again) are asked for a question of the player's own only; of others the number `goes_on` says it.
    `suggested_days` is the length that was filled in and may be made longer where the reeds need it.
    """

    question: str | None
    ask: str | None = None
    names: tuple[str | None, str | None] = (None, None)
    steps: tuple[str | None, str | None] = (None, None)
    lasts: bool | None = None
    wears_off: str | None = None
    sets_hours: bool = False
    from_new: bool = False
    confirmed: bool = False
    reeds: tuple[str, ...] = ()
    start: date | None = None
    design: str | None = None
    outcome: str | None = None
    expected: str | None = None
    setup: str | None = None
    helper: bool = False
    read_early: bool = False
    numbers: Mapping[str, str | None]
    suggested_days: str | None = None


def plan_wishes(typed: Typed) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return what `plan.draw_up` takes, and a line for everything that is to be put right first.

    Of a plan with faults nothing is drawn up.

    Raises
    ------
    PlanRefused
        One of the two ways can make ill, or the question contradicts itself.
    """
    if typed.question is None:
        return {}, (tr("Choose a question first."),)
    faults: list[str] = []
    numbers = {name: number_within(typed.numbers.get(name), words, low, high, faults)
               for name, words, low, high in _NUMBERS}
    if typed.start is None:
        faults.append(tr("First day: choose a date."))
    if typed.expected is None:
        faults.append(tr("Which way do you expect to do better? Choose one; \"I cannot say\" will do."))
    if typed.question == TWO_REEDS and len(typed.reeds) != 2:
        faults.append(tr("Reeds: tick the two reeds to try side by side; {n} are ticked.").format(n=len(typed.reeds)))
    elif not typed.reeds:
        faults.append(tr("Reeds: tick the reeds for the trial."))
    try:
        question = question_typed(typed)
    except InputError as err:
        return {}, (*faults, str(err))
    if numbers["goes_on"] is not None and typed.outcome is not None and OUTCOMES[typed.outcome].crossover:
        question = replace(question, wears_off=math.ceil(numbers["goes_on"]))
    expected = typed.expected
    if expected not in ("same", "none", None) and typed.question == "own":
        old = [h.key for h in CATALOGUE["own"].habits]
        expected = question.habits[old.index(expected)].key
    days = None if typed.numbers.get("days") == typed.suggested_days else numbers["days"]
    return {
        "question": question, "reeds": list(typed.reeds), "start": typed.start, "design": typed.design,
        "outcome": typed.outcome, "days": None if days is None else round(days), "matters": numbers["matters"],
        "reeds_a_day": None if numbers["reeds_a_day"] is None else round(numbers["reeds_a_day"]),
        "minutes_a_day": numbers["minutes_a_day"] or value("usual_practice_min"),
        "expected": None if expected == "none" else expected, "setup": typed.setup,
        "masked": "helper" if typed.helper else "none", "confirmed": typed.confirmed,
        "read_early": typed.read_early,
    }, tuple(faults)


def question_typed(typed: Typed) -> Question:
    """Return the question in the player's words; InputError or PlanRefused where that can't be."""
    base = CATALOGUE[typed.question or ""]
    own = base.key == "own"
    habits = [Habit(habit_key(name or "") if own else old.key, name or "", steps or "")
              for old, name, steps in zip(base.habits, typed.names, typed.steps, strict=True)]
    if not own:
        if not all(h.name for h in habits):
            raise InputError(tr("Each way needs a name: a few words that fit after \"with\"."))
        return replace(base.with_habits(*habits), ask=typed.ask or base.ask)
    if typed.lasts is None:
        raise InputError(tr("Say whether the effect is still there the next day. Not sure? Choose yes."))
    faults: list[str] = []
    days = number_within(typed.wears_off, GONE_AGAIN, 1, LONGEST_EFFECT, faults)
    if faults:
        raise InputError(faults[0])
    return own_question(typed.ask or "", *habits, lasts=typed.lasts, sets_hours=typed.sets_hours,
                        from_new=typed.from_new, wears_off=None if days is None else math.ceil(days),
                        confirmed=typed.confirmed)


def habit_key(name: str) -> str:
    """Return a short key for a way named by the player: letters and digits, at most 24."""
    return "".join(c if c.isalnum() else "-" for c in name.strip().lower())[:24].strip("-")


# --- step 3 --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Use:
    """What has to be chosen to get a plan; `reeds` is None where all that are ticked stay."""

    question: str
    design: str
    outcome: str
    days: int
    cap_hours: float | None = None
    reeds: tuple[str, ...] | None = None


@dataclass(frozen=True)
class Alternative:
    """One plan of the table: in words, its chance of a useful answer out of 100 and its cost.

    `use` is None for the plan in hand, and for one that needs reeds that the player does not have.
    """

    words: str
    chance: int
    length: str
    reeds: int
    changes: int
    use: Use | None


def alternatives(advice: Advice) -> tuple[Alternative, ...]:
    """Return the plan in hand first, then the others that advice knows, the most useful first."""
    mine = [] if advice.asked is None else [_alternative(advice.asked, tr("This plan"), None)]
    others = [] if advice.best is None or advice.best is advice.asked else [advice.best]
    others += [o for o in advice.others if o not in others]
    rows = sorted((_alternative(o, _words(o, advice), _use(o)) for o in others), key=lambda a: -a.chance)
    near = [] if advice.nearby is None else [_alternative(
        advice.nearby, tr("Another question: {title}").format(
                           title=CATALOGUE[advice.nearby.outlook.protocol.question].title),
        _use(advice.nearby))]
    return (*mine, *rows, *near)


def _alternative(option: Option, words: str, use: Use | None) -> Alternative:
    plan = option.outlook.protocol
    return Alternative(words, in_100(option.useful), _length(plan.days), option.reeds, round(changes_a_day(plan)), use)


def _words(option: Option, advice: Advice) -> str:
    if option.kind == "more_weeks":
        return tr("Longer")
    if option.kind == "more_reeds":
        return tr("With {more_reeds} more reeds").format(more_reeds=option.more_reeds)
    plan = option.outlook.protocol
    if advice.asked is not None and advice.asked.outlook.protocol.outcome == plan.outcome:
        return tr("Longer") if plan.days > advice.asked.days else tr("Shorter")
    return tr("Judged {asked_of}").format(asked_of=plan.card.asked_of)


def _use(option: Option) -> Use | None:
    if option.more_reeds:
        return None
    p = option.outlook.protocol
    return Use(p.question, p.design, p.outcome, p.days, p.cap_hours, p.reeds if p.cap_hours is not None else None)


def _length(days: int) -> str:
    return tr("{days} days").format(days=days) if days % 7 and days < 28 else weeks_words(days / 7)


def burden_of(plan: Protocol, minutes_a_day: float, break_in: int) -> tuple[str, ...]:
    """Return what a plan asks of a player, in plain words, before the start."""
    n = round(changes_a_day(plan))
    reeds = tr("one reed, no change") if n == 0 else trn(
        "{reeds} reeds, {n} change", "{reeds} reeds, {n} changes", n).format(reeds=n + 1, n=n)
    rated_only = plan.same_days and not plan.card.hours_matter
    slots = value("slot_min") * (n + 1)
    minutes = (tr("about {slots:.0f} of your {minutes_a_day:g} minutes belong to the trial").format(
                   slots=slots, minutes_a_day=minutes_a_day) if rated_only else
               tr("all of your {minutes_a_day:g} minutes count").format(minutes_a_day=minutes_a_day))
    if plan.from_new:
        before = tr("The reeds start new.")
    elif break_in:
        before = trn("Before that, {n} day to break these reeds in.", "Before that, {n} days to break these reeds in.",
                     break_in).format(n=break_in)
    else:
        before = tr("These reeds are broken in.")
    if plan.two_reeds:
        reeds = trn("{n} pair of goes", "{n} pairs of goes", n + 1).format(n=n + 1)
    return (tr("{n} reeds over {length}, from {spoken_date} to {spoken_date2}. {before}").format(
                n=len(plan.reeds), length=_length(plan.days), spoken_date=spoken_date(plan.start),
                spoken_date2=spoken_date(calendar_with(plan).last), before=before),
            (tr("On a day of play: {reeds}; {minutes}.") if plan.two_reeds else
             tr("On a day of play: {reeds} of reed; {minutes}.")).format(reeds=reeds, minutes=minutes))


def facts(draft: Draft) -> tuple[tuple[str, str], ...]:
    """Return a plan in full, line by line: what it asks, how, of which reeds, what counts, and its rules."""
    p, card = draft.protocol, draft.protocol.card
    gap = tr("{matters:g} times as many {unit}").format(
              matters=p.matters, unit=card.unit) if card.lives else _points(p.matters, card)
    lost = tr("a pair") if p.design == "day_by_day" else tr("a matched set")
    return (
        (tr("Question"), p.ask), (tr("How"), DESIGN_WORDS[p.design_name] + "."),
        *_changes(p), (tr("Reeds"), ", ".join(p.reeds) + (" " + tr("(spare: {spare})").format(
                                                      spare=", ".join(draft.spare)) if draft.spare else "")),
        (tr("What counts"), tr("{title}; a difference of {gap} matters to you").format(title=card.title, gap=gap)),
        (tr("If all goes one way"),
         tr("Shuffling alone would give the clearest result {times_by_chance}; after losing {lost}, "
            "{times_by_chance2}.").format(times_by_chance=times_by_chance(draft.least_p), lost=lost,
                                          times_by_chance2=times_by_chance(draft.least_p_after_loss))),
        (tr("Your ratings"), HOW if p.pairs else scale_words(p.scale)), *_rules(p))


def scale_words(scale: Sequence[tuple[int, str]]) -> str:
    """Return the words of a scale in one line: 2 would not play · 4 practice only."""
    return " · ".join(f"{points} {words}" for points, words in scale)


def _changes(p: Protocol) -> tuple[tuple[str, str], ...]:
    """Return when the reeds of a crossover change ways, and what is not rated."""
    if p.halves is None:
        return ()
    return ((tr("Change of ways"), trn(
        "On day {day}. The first day of each half is not rated.", "On day {day}. The first {n} days of each half are "
        "not rated.", p.effect_days).format(day=p.halves.change, n=p.effect_days)),)


def _rules(p: Protocol) -> tuple[tuple[str, str], ...]:
    """Return when a reed is done with, where the plan says."""
    runs = tr("one rating") if p.in_a_row == 1 else tr("{in_a_row} ratings in a row").format(in_a_row=p.in_a_row)
    out = []
    if p.read_early:
        out.append((tr("Read early"), tr("You may open the answer on any day, and it costs nothing.")))
    if p.card.kind == "good":
        out.append((tr("Good"),
                    tr("Up to {runs} below {good_below:g} points.").format(runs=runs, good_below=p.good_below)))
    if p.card.kind == "life":
        out.append((tr("Worn out"), tr("After {runs} below {worn_out_below:g} points.").format(
                                        runs=runs, worn_out_below=p.worn_out_below)
                        if p.worn_out_rule == "ratings" else tr("When you retire it as worn out.")))
    if p.cap_hours is not None:
        out.append((tr("Most hours"), tr("A reed is done after {cap_hours:g} playing hours.").format(
                                          cap_hours=p.cap_hours)))
    return tuple(out)


def _points(size: float, outcome: Outcome) -> str:
    return f"{size:g} {outcome.unit.replace('points', 'point', 1) if size == 1 else outcome.unit}"


def times_by_chance(p: float) -> str:
    """Return how often shuffling alone does something: about 3 times in 100."""
    if p >= 1:
        return tr("every time (it could no longer tell)")
    return tr("about {p:.0f} times in 100").format(p=100 * p) if p >= 0.015 else (
        tr("about 1 time in 100") if p >= 0.0095 else tr("less than 1 time in 100"))


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
