"""An old diary: what it holds and what was left out, why it is only a hint, and what the fair trial rests on."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from ...questions import CATALOGUE
from ...trial.instruments import INSTRUMENT_WORDS
from ...trial.result import Diary, DiaryWay
from ...wording import tr, trn
from .. import numbers
from ..case import Case, long_date
from ..names import spoken

__all__ = ["fair_trial", "held", "holds_sentences", "left_out_sentences", "next_sentences", "reeds_sentence",
           "rests_sentence", "why_hint"]


def held(case: Case) -> list[str]:
    """Return what the diary holds, and its plain averages where there are any."""
    p = case.result.progress
    return [tr("Your diary holds {ratings} of {reeds}, over {days}.").format(
                ratings=numbers.count(p.sittings_rated, "rating"), reeds=numbers.count(p.reeds, "reed"),
                days=numbers.count(p.days, "day")), *_averages(case)]


def _averages(case: Case) -> list[str]:
    found = case.main
    if found is None or found.means is None or case.is_ratio or any(math.isnan(m) for m in found.means):
        return []
    a, b = (numbers.rounded(case.unit_scale(found.outcome) * abs(m), 0.05) for m in found.means)
    one, two = case.name("A"), case.name("B")
    if case.kind == "stiffness":
        return [tr("On average your reeds were {points} off just right with {one}, and {b} with {two}.").format(
                    points=numbers.points(a, "step"), one=one, b=b, two=two)]
    if case.kind == "wear":
        if max(found.means) > 0:  # some got better with the hours: the gap alone is told
            return []
        return [tr("On average your reeds lost {points} in {hours} with {one}, and {b} with {two}.").format(
                    points=numbers.points(a), hours=numbers.hours(case.span), one=one, b=b, two=two)]
    return [tr("The plain averages are {a} with {one} and {b} with {two}.").format(a=a, one=one, b=b, two=two)]


def why_hint(case: Case) -> list[str]:
    """Return why a diary can only hint."""
    return [tr("You chose the way yourself, and nothing was shuffled."),
            tr("So the gap may come from the weather, new music, fresher reeds or a change of taste, and these could "
               "hide a gap as well."),
            tr("No one can say how often luck alone would do this.")]


def fair_trial(case: Case) -> list[str]:
    """Return the trial that would settle what the diary hints at: one that its question allows."""
    asked = CATALOGUE.get(case.plan.question)
    design = case.plan.design
    if asked is not None and design not in asked.designs:
        design = asked.design
    if design == "day_by_day":
        how = tr("Let each reed serve both ways, on days that are picked by chance.")
    elif asked is not None and not asked.same_days:
        how = tr("Match reeds of one box that play alike when new. Let chance deal them to the two ways, and play both "
                 "kinds side by side, for the same hours.")
    else:
        how = tr("Match reeds of one box that play alike when new. Let chance deal them to the two ways, and play both "
                 "kinds on the same days.")
    return [tr("A fair trial can settle it. {how} Keep the answer sealed to the end.").format(how=how)]


#: What was left out and why, with the noun that is counted; how many decides between one and many.
_LEFT: Final[dict[str, tuple[str, Callable[[int], str]]]] = {
    "in_trials": ("entry", lambda n: trn("{n} that names a way belongs to a trial of your logbook.",
                                         "{n} that name a way belong to a trial of your logbook.", n)),
    "other_ways": ("entry", lambda n: trn("{n} names some other way.", "{n} name some other way.", n)),
    "unsure": ("entry", lambda n: tr("In {n} you were not sure of the reed.")),
    "unrated": ("entry", lambda n: trn("{n} has no rating made in practice.", "{n} have no rating made in practice.",
                                       n)),
    "both_ways": ("reed and day", lambda n: trn("Once a reed had both ways on the same day.",
                                                    "{n} had both ways on the same day.", n)),
    "one_way": ("reed", lambda n: trn("{n} served one way only, so it can't be compared with itself.",
                                      "{n} served one way only, so they can't be compared with themselves.", n)),
    "switched": ("reed", lambda n: tr("{n} served both ways, while the others kept to one.")),
    "few_ratings": ("reed", lambda n: trn("{n} has fewer than 3 ratings with its way.",
                                          "{n} have fewer than 3 ratings with their way.", n)),
    "little_played": ("reed", lambda n: trn("{n} was played less than half as long as the usual one.",
                                            "{n} were played less than half as long as the usual one.", n)),
    "in_a_trial": ("reed", lambda n: tr("{n} also served in a trial.")),
}


def holds_sentences(diary: Diary) -> list[str]:
    """Return for each way its entries, reeds, days and dates, then how the two lie in time and over the reeds."""
    plan = diary.protocol
    said = [_way(spoken(plan.habit(w.key).name), w, plan.card.lives) for w in diary.ways]
    first, second = sorted(diary.ways, key=lambda w: w.first)
    if first.last < second.first:
        said.append(tr("One way came after the other, with no day in common. So weather, new music and the age of the "
                       "reeds went with the way."))
    else:
        said.append(tr("The two ways share a part of the time, but you chose the days."))
    if plan.design == "day_by_day":
        said.append(tr("These reeds served both ways, so the gap compares each reed with itself.")
                    if len(plan.reeds) > 1 else tr("This reed served both ways, so the gap compares it with itself."))
    else:
        said.append(tr("Each of these reeds kept to one way, so the gap compares whole reeds. You chose which."))
    if plan.design == "reed_by_reed" and plan.card.of_points:
        said.append(tr("Their averages are taken over the same playing hours."))
    return said


def next_sentences() -> list[str]:
    """Return what to do now, where the fair trial is told right below."""
    return [tr("A fair trial can settle it: it stands below."), tr("Meanwhile, use whichever is easier.")]


def _way(name: str, way: DiaryWay, life: bool) -> str:
    what = numbers.count(way.entries, "entry") if life else numbers.count(way.entries, "rating")
    when = (tr("on {date}").format(date=long_date(way.first)) if way.first == way.last else
            tr("from {first} to {last}").format(first=long_date(way.first), last=long_date(way.last)))
    return tr("With {name}: {what} of {reeds}, on {days} {when}.").format(
               name=name, what=what, reeds=numbers.count(way.reeds, "reed"), days=numbers.count(way.days, "day"),
               when=when)


def left_out_sentences(diary: Diary) -> list[str]:
    """Return what the description leaves out, each kind in a sentence."""
    said = []
    for why, n in diary.left_out:
        noun, text = _LEFT[why]
        said.append(text(n).format(n=numbers.count(n, noun)))
    first = [tr("Left out: {what}").format(what=f"{s[0].lower()}{s[1:]}") for s in said[:1]]
    return first + [f"{s[0].upper()}{s[1:]}" for s in said[1:]]


def reeds_sentence(*, imagined: bool, instrument: str) -> str:
    """Return on which reeds the advice is given."""
    if imagined:
        return tr("You have no reeds at hand for it. So this takes a new box of ten, made up for the purpose.")
    kind = "" if instrument == "other" else " " + tr("for {instrument}").format(instrument=INSTRUMENT_WORDS[instrument])
    return tr("This takes the reeds at hand{kind}: those in service, not set aside, and free of a running "
              "trial.").format(kind=kind)


def rests_sentence(diary: Diary, *, ratings: int, reeds: int, told: bool) -> str:
    """Return on how many ratings and reeds the forecast's spreads rest.

    Parameters
    ----------
    diary : Diary
    ratings, reeds : int
        Those of the logbook that the player's own spreads were taken from.
    told : bool
        False where they were too few to tell any spread.
    """
    own = tr("{what} of {reeds}").format(
        what=numbers.count(diary.entries, "entry" if diary.protocol.card.lives else "rating"),
        reeds=numbers.count(len(diary.protocol.reeds), "reed"))
    if not told:
        return tr("With {own}, your diary is too thin to tell how much your reeds, days and ear vary. The forecast "
                  "rests on our guesses.").format(own=own)
    return tr("How much your reeds, days and ear vary is taken from {ratings} of {reeds} in your logbook. This diary "
              "brings {own} to it. Our guesses fill in where that is thin.").format(
               ratings=numbers.count(ratings, "rating"), reeds=numbers.count(reeds, "reed"), own=own)
