"""What a plan can show, in plain words, before the start. Every number comes from the forecast."""

from __future__ import annotations

from typing import Final

from ...trial.outlook import ENOUGH, Advice, LifeNeeds, Option, Outlook
from ...trial.protocol import Protocol
from .. import numbers
from ..names import spoken

__all__ = ["advice_sentences", "can_show", "cannot_show", "forecast_sentences", "forecast_title", "gap_words",
           "how_often", "life_sentence", "option_sentence"]

_MONTH: Final = 30.44  # days
_YEARS_FROM: Final = 36  # months


def how_often(p: float) -> str:
    """Return a chance as "about 61 times in 100", "almost never", "almost always"."""
    if p < 0.005:
        return "almost never"
    if p > 0.985:
        return "almost always"
    n = round(100 * p)
    return f"about {n} time{'s' if n != 1 else ''} in 100"


def gap_words(protocol: Protocol, gap: float | None = None) -> str:
    """Return a true gap as "1 point", "0.1 points an hour", "1.5 times the playing hours"."""
    card = protocol.card
    x = protocol.matters if gap is None else gap
    if card.lives:
        return f"{numbers.times(x)} the {'good ' if card.kind == 'good' else ''}playing hours"
    noun = "step" if protocol.rating == "stiffness" else "point"
    said = numbers.points(f"{x:.3g}", noun)
    return f"{said} an hour" if card.per_hour else said


def forecast_title(outlook: Outlook) -> str:
    """Return the one sentence of the forecast figure."""
    return f"If one way {_is_better(outlook.protocol)}, this plan names it {how_often(outlook.right)}."


def forecast_sentences(outlook: Outlook) -> list[str]:
    """Return what the plan says at what truth: a difference that matters, none, and how often it is wrong."""
    apart, alike = outlook.at(outlook.protocol.matters), outlook.at(outlook.alike)
    if outlook.protocol.of_boxes:
        return [forecast_title(outlook),
                f"If the cuts are alike, it still names one of the boxes {how_often(alike.a_better + alike.b_better)}, "
                "for the reeds of two boxes are never quite alike.",
                "So it tells of these two boxes, not of their cuts.",
                "Were all the reeds equal, it would name a box at most 5 times in 100."]
    wrong = max(apart.a_better + apart.no_real_difference, alike.a_better + alike.b_better)
    out = [forecast_title(outlook),
           f"If there is no difference, it says so {how_often(outlook.same)}.",
           f"It is wrong {how_often(wrong)}. All other times it ends with \"can't tell yet\"."]
    if outlook.least_p > 0.05 and outlook.protocol.card.lives:
        out.append("In most such trials too few reeds wear out for even the clearest result to name a winner.")
    elif outlook.least_p > 0.05:
        out.append("Even the clearest result could come about by chance too often, so it can never name a winner.")
    return out


def can_show(outlook: Outlook) -> str:
    """Return "you can learn whether ... , if the difference is 1 point or more", as strong as the chances are."""
    p = outlook.protocol
    verb = "will most likely learn" if outlook.useful >= 0.8 else "can learn"
    return f"you {verb} {_whether(p)}, if {_or_more(p)}"


def cannot_show(outlook: Outlook) -> str:
    """Return "you will very likely not learn whether ...", as strong as the chances are."""
    strength = "very likely not" if outlook.useful < 0.1 else (
        "most likely not" if outlook.useful < 0.3 else "more likely not than")
    if strength.endswith("than"):
        return f"you may not learn {_whether(outlook.protocol)}"
    return f"you will {strength} learn {_whether(outlook.protocol)}"


def advice_sentences(advice: Advice) -> list[str]:
    """Return the advice: what cannot be learnt, what can, what else could be done, what life needs."""
    means = (f"With your {numbers.count(advice.reeds_at_hand, 'reed')}, {advice.minutes_a_day:g} minutes of "
             f"playing a day and {_length(advice.days_limit)},")
    out: list[str] = []
    asked, best = advice.asked, advice.best
    if asked is None and advice.refused is not None:
        out += [f"{means} no fair plan can ask this the way you chose.", advice.refused]
    elif asked is not None and (asked is not best or not advice.can_answer):
        out += [f"{means} {cannot_show(asked.outlook) if asked.useful < ENOUGH else can_show(asked.outlook)}.",
                _in_numbers(asked)]
    if best is not None and advice.can_answer:
        start = means if not out else "With the same means,"
        out += [f"{start} {can_show(best.outlook)}.", _play_it(best), *forecast_sentences(best.outlook)]
    elif best is not None and best is not asked:
        out += ["The best plan within your means asks it " + best.outlook.protocol.card.asked_of + ".",
                _in_numbers(best)]
    if best is not None and not advice.can_answer:
        out.append("So none of your plans can be counted on to answer it.")
    if advice.nearby is not None:
        out += [f"A question you can answer now: {advice.nearby.outlook.protocol.ask}",
                _play_it(advice.nearby), *forecast_sentences(advice.nearby.outlook)[:2]]
    if advice.others:
        out += [option_sentence(o, advice) for o in advice.others]
    if advice.life is not None:
        out.append(life_sentence(advice.life))
    out.append(_rests_on(advice))
    return out


def option_sentence(option: Option, advice: Advice) -> str:
    """Return another plan with its cost and its chance of a useful answer, in one sentence."""
    p = option.outlook.protocol
    often = ("only " if 0.005 <= option.useful < 0.1 else "") + how_often(option.useful)
    if option.kind == "more_weeks":
        return f"With {_length(option.days)} in place of {_length(advice.days_limit)}, it would be useful {often}."
    if option.kind == "more_reeds":
        return (f"With {numbers.count(option.more_reeds, 'more reed')} and {_length(option.days)}, "
                f"it would be useful {often}.")
    return (f"Asked {p.card.asked_of}, with {numbers.count(option.reeds, 'reed')} over "
            f"{_length(option.days)}, it would be useful {often}.")


def life_sentence(life: LifeNeeds) -> str:
    """Return what it takes to learn about life, for the player's own hours."""
    gap = f"{numbers.times(life.ratio)} the playing hours"
    if life.reeds is None or life.days is None:
        return (f"Which way makes reeds last longer is out of reach: to find {gap}, more than {life.most} reeds "
                "would have to wear out.")
    return (f"To learn which way makes reeds last longer, you need about {life.reeds} reeds and "
            f"{_long(life.days)} at {life.minutes_a_day:g} minutes a day. That finds {gap} about "
            f"{round(100 * life.chance)} times in 100.")


def _in_numbers(option: Option) -> str:
    o = option.outlook
    return f"If one way {_is_better(o.protocol)}, such a plan names it {how_often(o.right)}."


def _play_it(option: Option) -> str:
    p = option.outlook.protocol
    how = ("Each reed serves both ways, on shuffled days" if p.design == "day_by_day" else
           "Each reed keeps to one way")
    return f"It takes {numbers.count(option.reeds, 'reed')} and {_length(option.days)}. {how}."


def _whether(p: Protocol) -> str:
    a, b = (spoken(h.name) for h in p.habits)
    return p.card.whether.format(a=a, b=b)


def _is_better(p: Protocol) -> str:
    gap = gap_words(p)
    if p.card.lives:
        return f"truly gives {gap}"
    if p.card.per_hour:
        return f"truly keeps {gap} more"
    return f"is truly {gap} better" if p.rating != "stiffness" else f"is truly {gap} closer to just right"


def _or_more(p: Protocol) -> str:
    gap = gap_words(p)
    if p.card.lives:
        return f"one way gives {gap} or more"
    return f"the difference is {'a point' if gap == '1 point' else gap} or more"


def _length(days: int) -> str:
    """Return "2 weeks", or days where it is not a round number of weeks under a month."""
    if days % 7 and days < 28:
        return numbers.count(days, "day")
    return numbers.weeks(days / 7)


def _long(days: int) -> str:
    months = days / _MONTH
    if months >= _YEARS_FROM:
        return numbers.count(months / 12, "year")
    return numbers.count(max(1.0, months), "month")


def _rests_on(advice: Advice) -> str:
    told = [o for o in (advice.asked, advice.best, advice.nearby, *advice.others) if o is not None]
    trials = f"at least {min(o.outlook.odds[0].trials for o in told):,}" if told else "many"
    guess = ("your own logbook, and our guesses where it is still thin" if advice.own_numbers else
             "our guesses about reeds, for want of your own numbers")
    return (f"This comes from playing each plan through {trials} times on paper. It rests on {guess}. \"Useful\" "
            "means: the better way named if there is one, \"no difference that matters\" if there is none.")
