"""What an old diary holds: which way when, what was left out, and what the forecast of the fair trial rests on."""

from __future__ import annotations

from typing import Final

from ...trial.result import Diary, DiaryWay
from .. import numbers
from ..case import long_date
from ..names import spoken

__all__ = ["holds_sentences", "left_out_sentences", "next_sentences", "reeds_sentence", "rests_sentence"]

#: What was left out and why; the noun is counted.
_LEFT: Final = {
    "in_trials": ("entry", "{n} that {name} a way {belong} to a trial of your logbook."),
    "other_ways": ("entry", "{n} {name} some other way."),
    "unsure": ("entry", "In {n} you were not sure of the reed."),
    "unrated": ("entry", "{n} {have} no rating made in practice."),
    "both_ways": ("reed and day", "{n} had both ways on the same day."),
    "one_way": ("reed", "{n} served one way only, so {they} can't be compared with {self}."),
    "switched": ("reed", "{n} served both ways, while the others kept to one."),
    "few_ratings": ("reed", "{n} {have} fewer than 3 ratings with {their} way."),
    "little_played": ("reed", "{n} {were} played less than half as long as the usual one."),
    "in_a_trial": ("reed", "{n} also served in a trial."),
}
_PLURALS: Final = {"entry": "entries", "reed and day": "times a reed", "reed": "reeds"}


def holds_sentences(diary: Diary) -> list[str]:
    """Return for each way its entries, reeds, days and dates, then how the two lie in time and over the reeds."""
    plan = diary.protocol
    said = [_way(spoken(plan.habit(w.key).name), w, plan.card.lives) for w in diary.ways]
    first, second = sorted(diary.ways, key=lambda w: w.first)
    if first.last < second.first:
        said.append("One way came after the other, with no day in common. So weather, new music and the age of the "
                    "reeds went with the way.")
    else:
        said.append("The two ways share a part of the time, but you chose the days.")
    if plan.design == "day_by_day":
        said.append("These reeds served both ways, so the gap compares each reed with itself."
                    if len(plan.reeds) > 1 else "This reed served both ways, so the gap compares it with itself.")
    else:
        said.append("Each of these reeds kept to one way, so the gap compares whole reeds. You chose which.")
    if plan.design == "reed_by_reed" and plan.card.of_points:
        said.append("Their averages are taken over the same playing hours.")
    return said


def next_sentences() -> list[str]:
    """Return what to do now, where the fair trial is told right below."""
    return ["A fair trial can settle it: it stands below.", "Meanwhile, use whichever is easier."]


def _way(name: str, way: DiaryWay, life: bool) -> str:
    what = numbers.count(way.entries, "entry", "entries") if life else numbers.count(way.entries, "rating")
    when = (f"on {long_date(way.first)}" if way.first == way.last
            else f"from {long_date(way.first)} to {long_date(way.last)}")
    return f"With {name}: {what} of {numbers.count(way.reeds, 'reed')}, on {numbers.count(way.days, 'day')} {when}."


def left_out_sentences(diary: Diary) -> list[str]:
    """Return what the description leaves out, each kind in a sentence."""
    said = []
    for why, n in diary.left_out:
        noun, text = _LEFT[why]
        one = n == 1
        count = numbers.count(n, noun, _PLURALS[noun])
        if why == "both_ways":
            count = "Once a reed" if one else f"{count[0].upper()}{count[1:]}"
        said.append(text.format(
            n=count, name="names" if one else "name", belong="belongs" if one else "belong",
            have="has" if one else "have", were="was" if one else "were", they="it" if one else "they",
            their="its" if one else "their", self="itself" if one else "themselves"))
    return ["Left out: " + s[0].lower() + s[1:] if not k else s for k, s in enumerate(said)]


def reeds_sentence(*, imagined: bool, instrument: str) -> str:
    """Return on which reeds the advice is given."""
    if imagined:
        return "You have no reeds at hand for it. So this takes a new box of ten, made up for the purpose."
    kind = "" if instrument == "other" else f" for {instrument}"
    return f"This takes the reeds at hand{kind}: those in service, not set aside, and free of a running trial."


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
    life = diary.protocol.card.lives
    own = (f"{numbers.count(diary.entries, 'entry', 'entries') if life else numbers.count(diary.entries, 'rating')} of "
           f"{numbers.count(len(diary.protocol.reeds), 'reed')}")
    if not told:
        return (f"With {own}, your diary is too thin to tell how much your reeds, days and ear vary. The forecast "
                "rests on our guesses.")
    return (f"How much your reeds, days and ear vary is taken from {numbers.count(ratings, 'rating')} of "
            f"{numbers.count(reeds, 'reed')} in your logbook. This diary brings {own} to it. Our guesses fill in where "
            "that is thin.")
