"""Plans that cannot give a fair answer: the reason, and the nearest plan that can. Said in more than one place."""

from __future__ import annotations

from collections.abc import Iterable

from ..errors import PlanRefused
from ..questions import CATALOGUE, Question
from ..trial.outcomes import OUTCOMES
from ..wording import tr

__all__ = ["design_not_allowed", "one_reed", "outcome_not_allowed", "too_few_reeds", "too_short", "unknown_question"]

_WORDS = {"reed_by_reed": tr("reed by reed"), "day_by_day": tr("day by day")}


def unknown_question(key: str) -> PlanRefused:
    """The catalogue has no such question."""
    return PlanRefused(tr("There is no question `{key}`.").format(key=key),
                       tr("Choose one of: {catalogue}. With `own` you ask your own.").format(
                           catalogue=", ".join(CATALOGUE)), "unknown_question")


def one_reed() -> PlanRefused:
    """Only one reed can be used."""
    return PlanRefused(
        tr("One reed cannot answer: it may chip tomorrow, and other reeds may behave in another way."),
        tr("Take at least two reeds for a day-by-day trial, or eight from one box for a reed-by-reed trial."),
        "one_reed")


def design_not_allowed(question: Question, design: str) -> PlanRefused:
    """The question does not allow the design."""
    nearest = _WORDS[question.design]
    if design == "day_by_day":
        return PlanRefused(
            tr("This cannot be asked day by day: what one day does to a reed is still there the next. {why}").format(
                why=question.why),
            tr("Ask it {nearest}, with eight or more reeds of one box.").format(nearest=nearest), "lasting_day_by_day")
    if design not in _WORDS:
        return PlanRefused(tr("There is no design `{design}`.").format(design=design),
                           tr("Ask it {nearest}.").format(nearest=nearest), "design_not_allowed")
    return PlanRefused(tr("This question is not asked {words}. {why}").format(words=_WORDS[design], why=question.why),
                       tr("Ask it {nearest}.").format(nearest=nearest),
                       "design_not_allowed")


def outcome_not_allowed(question: Question, design: str, outcome: str) -> PlanRefused:
    """The outcome does not fit the question or the design."""
    allowed = question.outcomes_for(design)
    if OUTCOMES[outcome].crossover:
        return _no_crossover(question, design)
    others = [d for d in question.designs if outcome in question.outcomes_for(d)]
    instead = tr("Choose one of: {allowed}.").format(allowed=", ".join(allowed))
    if others:
        instead += " " + tr("Or ask it {words}: there `{outcome}` works.").format(
                             words=_WORDS[others[0]], outcome=outcome)
    return PlanRefused(tr("`{outcome}` cannot be the outcome of this question asked {words}.").format(
                           outcome=outcome, words=_WORDS[design]), instead,
                       "outcome_not_for_design")


def _no_crossover(question: Question, design: str) -> PlanRefused:
    """A reed cannot have first one way, then the other."""
    code = "no_crossover"
    if not question.lasts:
        return PlanRefused(
            tr("What a way does here is gone by the next day, so a reed need not keep to it for weeks."),
            tr("Ask it {nearest}: that shows more in less time.").format(nearest=_WORDS[question.design]), code)
    if design != "reed_by_reed" or question.wears_off:
        return PlanRefused(tr("First one way, then the other, is dealt reed by reed."),
                           tr("Ask it {nearest}.").format(nearest=_WORDS["reed_by_reed"]), code)
    return PlanRefused(
        tr("A reed cannot have first one way, then the other, here: what the first way did stays, and would be counted "
           "for the second. {why}").format(why=question.why),
        tr("Ask it by the mean rating of each reed. If you know that what your way does is gone again after some days, "
           "ask it as a question of your own and say after how many."), code)


def too_few_reeds(usable: int, sizes: Iterable[tuple[str, int]], least: float | None, lives: bool,
                  day_by_day: bool) -> PlanRefused:
    """No layout of these reeds can reach p <= 0.05."""
    boxes = ", ".join(tr("box {b}: {n}").format(b=b, n=n) for b, n in sizes)
    reason = tr("You have {usable} reeds to deal ({boxes}).").format(usable=usable, boxes=boxes)
    if least is not None:
        reason += " " + tr("Even the clearest result could come about by chance {least} times in 100. At most 5 in 100 "
                           "is fair.").format(least=round(100 * least))
    else:
        reason += " " + tr("That is too few to shuffle.")
    if lives:
        reason += " " + tr("For life, matched sets need four reeds or more.")
    instead = tr("Add reeds: eight usable reeds of one box can do it, four for each way. More are better, and a second "
                 "box helps.")
    if day_by_day:
        instead += " " + tr("Or ask for ratings day by day, with two to four reeds.")
    return PlanRefused(reason, instead, "too_few_reeds")


def too_short(have: int, need: int, why: str, more: str = "") -> PlanRefused:
    """The trial is too short to give enough ratings or hours."""
    return PlanRefused(tr("{have} days are too short: {why}").format(
                           have=have, why=why), tr("Plan at least {need} days.{more}").format(
                                                    need=need, more=more), "too_short")
