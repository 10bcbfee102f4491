"""What a plan can show, in plain words, before the start. Every number comes from the forecast."""

from __future__ import annotations

from typing import Final

from ...questions import DESIGN_WORDS
from ...trial.outlook import ENOUGH, Advice, LifeNeeds, Option, Outlook
from ...trial.protocol import Protocol
from ...wording import tr
from .. import numbers
from ..names import of_reeds, spoken

__all__ = ["advice_sentences", "can_show", "cannot_show", "forecast_sentences", "forecast_title", "gap_words",
           "how_often", "life_sentence", "option_sentence"]

_MONTH: Final = 30.44  # days
_YEARS_FROM: Final = 36  # months


def how_often(p: float) -> str:
    """Return a chance as "about 61 times in 100", "almost never", "almost always"."""
    if p < 0.005:
        return tr("almost never")
    if p > 0.985:
        return tr("almost always")
    return numbers.times_in_100(round(100 * p))


def gap_words(protocol: Protocol, gap: float | None = None) -> str:
    """Return a true gap as "1 point", "0.1 points an hour", "1.5 times the playing hours"."""
    card = protocol.card
    x = protocol.matters if gap is None else gap
    if card.lives:
        said = tr("{times} the good playing hours") if card.kind == "good" else tr("{times} the playing hours")
        return said.format(times=numbers.times(x))
    noun = "step" if protocol.rating == "stiffness" else "point"
    said = numbers.points(f"{x:.3g}", noun)
    return tr("{said} an hour").format(said=said) if card.per_hour else said


def forecast_title(outlook: Outlook) -> str:
    """Return the one sentence of the forecast figure."""
    return of_reeds(outlook.protocol, tr("If one way {is_better}, this plan names it {how_often}."),
                    tr("If one reed {is_better}, this plan names it {how_often}.")).format(
               is_better=_is_better(outlook.protocol), how_often=how_often(outlook.right))


def forecast_sentences(outlook: Outlook) -> list[str]:
    """Return what the plan says at what truth: a difference that matters, none, and how often it is wrong."""
    apart, alike = outlook.at(outlook.protocol.matters), outlook.at(outlook.alike)
    if outlook.protocol.of_boxes:
        return [forecast_title(outlook),
                tr("If the cuts are alike, it still names one of the boxes {how_often}, for the reeds of two boxes are "
                   "never quite alike.").format(how_often=how_often(alike.a_better + alike.b_better)),
                tr("So it tells of these two boxes, not of their cuts."),
                tr("Were all the reeds equal, it would name a box at most 5 times in 100.")]
    wrong = max(apart.a_better + apart.no_real_difference, alike.a_better + alike.b_better)
    out = [forecast_title(outlook),
           tr("If there is no difference, it says so {how_often}.").format(how_often=how_often(outlook.same)),
           tr("It is wrong {how_often}. All other times it ends with \"can't tell yet\".").format(
               how_often=how_often(wrong))]
    if outlook.least_p > 0.05 and outlook.protocol.card.lives:
        out.append(tr("In most such trials too few reeds wear out for even the clearest result to name a winner."))
    elif outlook.least_p > 0.05:
        out.append(tr("Even the clearest result could come about by chance too often, so it can never name a winner."))
    return out


def can_show(outlook: Outlook) -> str:
    """Return "you can learn whether ... , if the difference is 1 point or more", as strong as the chances are."""
    p = outlook.protocol
    said = (tr("you will most likely learn {whether}, if {or_more}") if outlook.useful >= 0.8 else
            tr("you can learn {whether}, if {or_more}"))
    return said.format(whether=_whether(p), or_more=_or_more(p))


def cannot_show(outlook: Outlook) -> str:
    """Return "you will very likely not learn whether ...", as strong as the chances are."""
    said = tr("you may not learn {whether}")
    if outlook.useful < 0.3:
        said = tr("you will most likely not learn {whether}")
    if outlook.useful < 0.1:
        said = tr("you will very likely not learn {whether}")
    return said.format(whether=_whether(outlook.protocol))


def advice_sentences(advice: Advice) -> list[str]:
    """Return the advice: what cannot be learnt, what can, what else could be done, what life needs."""
    means = tr("With your {reeds}, {minutes_a_day:g} minutes of playing a day and {length},").format(
                reeds=numbers.count(advice.reeds_at_hand, "reed"), minutes_a_day=advice.minutes_a_day,
                length=_length(advice.days_limit))
    out: list[str] = []
    asked, best = advice.asked, advice.best
    if asked is None and advice.refused is not None:
        out += [tr("{means} no fair plan can ask this the way you chose.").format(means=means), advice.refused]
    elif asked is not None and (asked is not best or not advice.can_answer):
        out += [f"{means} {cannot_show(asked.outlook) if asked.useful < ENOUGH else can_show(asked.outlook)}.",
                _in_numbers(asked)]
    if best is not None and advice.can_answer:
        start = means if not out else tr("With the same means,")
        out += [f"{start} {can_show(best.outlook)}.", _play_it(best), *forecast_sentences(best.outlook)]
    elif best is not None and best is not asked:
        out += [tr("The best plan within your means asks it {asked_of}.").format(
                    asked_of=best.outlook.protocol.card.asked_of),
                _in_numbers(best)]
    if best is not None and not advice.can_answer:
        out.append(tr("So none of your plans can be counted on to answer it."))
    if advice.nearby is not None:
        out += [tr("A question you can answer now: {ask}").format(ask=advice.nearby.outlook.protocol.ask),
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
    often = how_often(option.useful)
    if 0.005 <= option.useful < 0.1:
        often = tr("only {often}").format(often=often)
    if option.kind == "more_weeks":
        return tr("With {length} in place of {length2}, it would be useful {often}.").format(
                   length=_length(option.days), length2=_length(advice.days_limit), often=often)
    if option.kind == "more_reeds":
        return tr("With {reeds} and {length}, it would be useful {often}.").format(
                   reeds=numbers.count(option.more_reeds, "more reed"), length=_length(option.days), often=often)
    return tr("Asked {asked_of}, with {reeds} over {length}, it would be useful {often}.").format(
               asked_of=p.card.asked_of, reeds=numbers.count(option.reeds, "reed"), length=_length(option.days),
               often=often)


def life_sentence(life: LifeNeeds) -> str:
    """Return what it takes to learn about life, for the player's own hours."""
    gap = tr("{times} the playing hours").format(times=numbers.times(life.ratio))
    if life.reeds is None or life.days is None:
        return tr("Which way makes reeds last longer is out of reach: to find {gap}, more than {most} reeds would have "
                  "to wear out.").format(gap=gap, most=life.most)
    return tr("To learn which way makes reeds last longer, you need about {reeds} reeds and {long} at "
              "{minutes_a_day:g} minutes a day. That finds {gap} about {chance} times in 100.").format(
               reeds=life.reeds, long=_long(life.days), minutes_a_day=life.minutes_a_day, gap=gap,
               chance=round(100 * life.chance))


def _in_numbers(option: Option) -> str:
    o = option.outlook
    return of_reeds(option.outlook.protocol, tr("If one way {is_better}, such a plan names it {how_often}."),
                    tr("If one reed {is_better}, such a plan names it {how_often}.")).format(
               is_better=_is_better(o.protocol), how_often=how_often(o.right))


def _play_it(option: Option) -> str:
    p = option.outlook.protocol
    return tr("It takes {reeds} and {length}. {how}.").format(
               reeds=numbers.count(option.reeds, "reed"), length=_length(option.days), how=DESIGN_WORDS[p.design_name])


def _whether(p: Protocol) -> str:
    a, b = (spoken(h.name) for h in p.habits)
    said = tr("whether {a} or {b} plays better, one straight after the other") if p.two_reeds else p.card.whether
    return said.format(a=a, b=b)


def _is_better(p: Protocol) -> str:
    gap = gap_words(p)
    if p.card.lives:
        return tr("truly gives {gap}").format(gap=gap)
    if p.card.per_hour:
        return tr("truly keeps {gap} more").format(gap=gap)
    return tr("is truly {gap} better").format(gap=gap) if p.rating != "stiffness" else tr(
                           "is truly {gap} closer to just right").format(gap=gap)


def _or_more(p: Protocol) -> str:
    gap = gap_words(p)
    if p.card.lives:
        return tr("one way gives {gap} or more").format(gap=gap)
    one = not p.card.per_hour and p.rating != "stiffness" and f"{p.matters:.3g}" == "1"
    return tr("the difference is a point or more") if one else tr("the difference is {gap} or more").format(gap=gap)


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
    trials = tr("many")
    if told:
        trials = tr("at least {n:,}").format(n=min(o.outlook.odds[0].trials for o in told))
    guess = (tr("your own logbook, and our guesses where it is still thin") if advice.own_numbers else
             tr("our guesses about reeds, for want of your own numbers"))
    return tr("This comes from playing each plan through {trials} times on paper. It rests on {guess}. \"Useful\" "
              "means: the better way named if there is one, \"no difference that matters\" if there is none.").format(
               trials=trials, guess=guess)
