"""One sentence or two for every remark: what it means for this player."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

from ...result import Remark
from .. import numbers
from ..case import Case

__all__ = ["ORDER", "SENTENCES", "remark_text", "sorted_remarks"]

Facts = Mapping[str, Any]
Sentence = Callable[[Facts, Case], str]

SENTENCES: Final[dict[str, Sentence]] = {}


def _writes(code: str) -> Callable[[Sentence], Sentence]:
    def keep(sentence: Sentence) -> Sentence:
        SENTENCES[code] = sentence
        return sentence

    return keep


def _list(names: Any, most: int = 6) -> str:
    """Return joined names as they were given, cut after `most` of them."""
    every = [n.strip() for n in str(names).split(",") if n.strip()]
    if len(every) > most:
        return ", ".join(every[:most]) + f" and {len(every) - most} more"
    return " and ".join(", ".join(every).rsplit(", ", 1)) if every else "not named"


def _num(value: Any, step: float = 0.1) -> str:
    x = float(value)
    return numbers.rounded(x, step) if math.isfinite(x) else "no end"


def _reeds(n: Any) -> str:
    return numbers.count(float(n), "reed")


def _sittings(n: Any) -> str:
    return numbers.count(float(n), "sitting")


def _do(n: Any, one: str, many: str) -> str:
    return one if round(float(n)) == 1 else many


# --- how the trial was made ---------------------------------------------------------------------


@_writes("not_randomised")
def _(f: Facts, c: Case) -> str:
    return ("The two ways were not shuffled. Weather, new music or a change of taste may have made the gap, "
            "so this is only a hint.")


@_writes("ratings_not_reeds")
def _(f: Facts, c: Case) -> str:
    return (f"You rated {numbers.times_over(float(f['ratings']))}, but on only {_reeds(f['reeds'])}. Many "
            "ratings of one reed are still one reed.")


@_writes("too_few_blocks")
def _(f: Facts, c: Case) -> str:
    return (f"With {numbers.count(f['blocks'], 'matched set')}, even the clearest result would come up by "
            f"shuffling alone {numbers.chance(float(f['least_p']))}. This plan can't name a winner.")


@_writes("box_is_arm")
def _(f: Facts, c: Case) -> str:
    return (f"Each box was used with one way only: {c.name('A')} with {_boxes(f['box_a'])}, and "
            f"{c.name('B')} with {_boxes(f['box_b'])}. A gap may come from the boxes.")


def _boxes(names: Any) -> str:
    return ("boxes " if "," in str(names) else "box ") + _list(names)


@_writes("one_box")
def _(f: Facts, c: Case) -> str:
    return f"All {_reeds(f['reeds'])} came from box {f['box']}. Another box may give another answer."


@_writes("knew_which")
def _(f: Facts, c: Case) -> str:
    known = ("A helper hid which way was which as far as could be." if f["masked"] == "helper"
             else "You knew which way was which when you rated, and hope can lift a rating.")
    expected = str(f["expected"] or "")
    if not expected:
        return known
    if expected == "same":
        return f"{known} You had expected no gap."
    return f"{known} You had expected {c.name_of(expected)} to do better."


# --- what happened on the way -------------------------------------------------------------------


@_writes("missing_days")
def _(f: Facts, c: Case) -> str:
    return (f"Of {numbers.count(f['planned'], 'planned rating')}, {round(float(f['missing']))} "
            f"{_do(f['missing'], 'is', 'are')} missing. If bad days were the ones left out, the answer may "
            "be off.")


@_writes("reeds_left_out")
def _(f: Facts, c: Case) -> str:
    what = {"reed": "reed", "diagonal": "pair of ratings", "sitting": "day of play"}[c.plan.unit_kind]
    plural = {"reed": "reeds", "diagonal": "pairs of ratings", "sitting": "days of play"}[c.plan.unit_kind]
    why = (f"with fewer than {numbers.count(f['fewest'], 'rating')}" if c.plan.unit_kind == "reed"
           else "without a rating")
    return f"Left out {why}: {numbers.count(f['units'], what, plural)} ({_list(f['names'])})."


@_writes("block_lost")
def _(f: Facts, c: Case) -> str:
    return (f"{numbers.count(f['lost'], 'matched set')} lost one of {_do(f['lost'], 'its', 'their')} two "
            "ways and could not count. "
            f"{numbers.count(f['left'], 'matched set').capitalize()} {_do(f['left'], 'is', 'are')} left.")


@_writes("window_short")
def _(f: Facts, c: Case) -> str:
    return (f"Matched set {f['block']} is read over its first {_hours(f['window_hours'])} only, for one reed "
            f"of the set got no further. Another reed of it went on to {_hours(f['longest_hours'])}.")


def _hours(h: Any) -> str:
    return numbers.hours(float(h))


@_writes("half_squares")
def _(f: Facts, c: Case) -> str:
    return (f"In {numbers.count(f['squares'], 'square')} of two reeds and two days, a rating is missing. "
            "Those tell a little less.")


@_writes("unplanned_ratings")
def _(f: Facts, c: Case) -> str:
    return (f"You rated a reed on a day that was not planned for it in {_sittings(f['sittings'])}. Those "
            "ratings do not count.")


@_writes("unsure_reed")
def _(f: Facts, c: Case) -> str:
    return f"You were not sure of the reed in {_sittings(f['sittings'])}. Left out here, but kept in the log."


@_writes("from_memory")
def _(f: Facts, c: Case) -> str:
    return (f"You wrote down {_sittings(f['sittings'])} later, from memory "
            f"({numbers.share(float(f['share']))}). Memory tends to smooth things out.")


@_writes("plan_not_followed")
def _(f: Facts, c: Case) -> str:
    return (f"In {round(float(f['sittings']))} of {_sittings(f['logged'])}, you used the other way than "
            "planned. That can make a true gap look smaller.")


@_writes("habit_not_logged")
def _(f: Facts, c: Case) -> str:
    return (f"In {_sittings(f['sittings'])}, you did not note which way you used. "
            f"{_do(f['sittings'], 'It is', 'They are')} read as done to plan.")


@_writes("overplayed")
def _(f: Facts, c: Case) -> str:
    return (f"On {_reeds(f['reeds'])} you played past the daily limit, "
            f"{numbers.times_over(float(f['reed_days']))} in all. The usual limit is "
            f"{round(float(f['limit_min']))} minutes, and less for a new reed.")


@_writes("weather_drifted")
def _(f: Facts, c: Case) -> str:
    unit = "%" if f["kind"] == "humidity" else " °C"
    return (f"The air changed on the way: {f['kind']} was about {_num(f['early'], 1)}{unit} at first and "
            f"{_num(f['late'], 1)}{unit} at the end. Shuffling guards against it, but the answer mixes both.")


@_writes("weather_uneven")
def _(f: Facts, c: Case) -> str:
    unit = "%" if f["kind"] == "humidity" else " °C"
    return (f"By chance, the days differed in {f['kind']}: about {_num(f['mean_a'], 1)}{unit} with "
            f"{c.name('A')} and {_num(f['mean_b'], 1)}{unit} with {c.name('B')}. Part of the gap may be the air.")


@_writes("hours_uneven")
def _(f: Facts, c: Case) -> str:
    return (f"The reeds were not played alike: {_hours(f['hours_a'])} each with {c.name('A')} and "
            f"{_hours(f['hours_b'])} with {c.name('B')}. Part of the gap may be the playing.")


@_writes("setup_changed")
def _(f: Facts, c: Case) -> str:
    return (f"Another mouthpiece or ligature was used in {_sittings(f['sittings'])} ({_list(f['setups'])}). "
            "It may have changed your ratings.")


@_writes("worked_on")
def _(f: Facts, c: Case) -> str:
    return (f"{_reeds(f['reeds']).capitalize()} {_do(f['reeds'], 'was', 'were')} sanded, scraped or clipped "
            f"({_list(f['names'])}). That may change how a reed plays more than the habit does.")


@_writes("mouldy")
def _(f: Facts, c: Case) -> str:
    return (f"Mould ended {_reeds(f['reeds'])} ({_list(f['names'])}). Throw a mouldy reed away and clean its "
            "case. A cough or short breath that stays: stop playing and see a doctor.")


_EVENED = {
    "day": "the day of the trial", "age_hours": "the age of the reeds", "humidity": "the humidity",
    "first_play": "the first-play rating", "order": "the order within the day",
}
_WHY_NOT = {
    "missing": "Half or more of it was not written down",
    "constant": "It was always the same",
    "too_few": "There are too few reeds or days for it",
    "tangled": "It can't be told apart from the matched sets",
    "not_allowed": "The habit itself may change it",
}


@_writes("adjust_left_out")
def _(f: Facts, c: Case) -> str:
    name, why = str(f["name"]), str(f["why"])
    return (f"The plan meant to even out {_EVENED.get(name, name)}, and that was not done. "
            f"{_WHY_NOT.get(why, 'It could not be used')}.")


# --- ratings ------------------------------------------------------------------------------------


@_writes("ceiling")
def _(f: Facts, c: Case) -> str:
    return (f"About {numbers.share(float(f['share']))} ratings sit at the {f['end']} of the scale. A gap can "
            "hide there, so no one can call the two ways the same.")


@_writes("all_alike")
def _(f: Facts, c: Case) -> str:
    used = numbers.count(f["values"], "value")
    return (f"The {numbers.count(f['ratings'], 'rating')} are all alike, with {used} used. So small a choice "
            "of points can hide a gap.")


# --- lives --------------------------------------------------------------------------------------


@_writes("few_worn_out")
def _(f: Facts, c: Case) -> str:
    return (f"Only {round(float(f['worn_out']))} of {_reeds(f['reeds'])} came to an end that counts, in "
            f"{_hours(f['hours'])}. With fewer than ten, lives can hardly be told apart.")


@_writes("worn_out_by_choice")
def _(f: Facts, c: Case) -> str:
    return (f"You retired {_reeds(f['reeds'])} as worn out before your own rule said so "
            f"({_list(f['names'])}). Here {_do(f['reeds'], 'it counts', 'they count')} as still going at "
            "that hour.")


@_writes("worn_out_unmarked")
def _(f: Facts, c: Case) -> str:
    return (f"By your own rule, {_reeds(f['reeds'])} {_do(f['reeds'], 'was', 'were')} worn out and still in "
            f"use ({_list(f['names'])}). Here {_do(f['reeds'], 'it counts', 'they count')} as worn out at "
            "that hour.")


@_writes("damage_uneven")
def _(f: Facts, c: Case) -> str:
    return (f"Breakage was uneven: {_reeds(f['damaged_a'])} broke with {c.name('A')}, and "
            f"{_reeds(f['damaged_b'])} with {c.name('B')}. If the habit breaks reeds, look at the reading that "
            "counts breakage.")


# --- looking early ------------------------------------------------------------------------------


@_writes("early_look")
def _(f: Facts, c: Case) -> str:
    looks = numbers.times_over(float(f["looks"]))
    if not float(f["can_claim"]):
        return (f"The answer was opened early, {looks}. With so few ways to shuffle, an early look can't "
                "name a winner.")
    return (f"The answer was opened early, {looks}. A trial read early may name a winner only if shuffling "
            f"alone would do it {numbers.chance(float(f['p_needed']))}.")


@_writes("looks_paid")
def _(f: Facts, c: Case) -> str:
    final = numbers.rounded(100 * float(f["p_final"]), 0.1)
    return (f"You looked early {numbers.times_over(float(f['looks']))}, and that has its price. A winner now "
            f"needs a gap that shuffling alone gives at most {final} times in 100.")


@_writes("ended_early")
def _(f: Facts, c: Case) -> str:
    why = str(f["why"] or "").strip().rstrip(".")
    reason = f" Your reason: {why}." if why else ""
    return (f"The trial was ended on day {round(float(f['day']))} of {round(float(f['days']))}, so it is "
            f"read as an early look.{reason}")


@_writes("stopped_before_cap")
def _(f: Facts, c: Case) -> str:
    return (f"The trial stopped too soon: {_reeds(f['reeds'])} {_do(f['reeds'], 'was', 'were')} not yet done "
            f"and had not reached {_hours(f['cap_hours'])}. So it can't tell.")


# --- the answer ---------------------------------------------------------------------------------


@_writes("could_never_tell")
def _(f: Facts, c: Case) -> str:
    if f["why"] == "no_worn_out":
        return "This trial could never have told: no reed came to the end that counts."
    if f["why"] == "early" or c.early:
        return "Read this early, the trial could not have told, whatever the result."
    return ("This trial could never have told. Even the clearest result would come up by shuffling alone "
            f"{numbers.chance(float(f['least_p']))}.")


@_writes("wide_range")
def _(f: Facts, c: Case) -> str:
    return "The range is wide: a gap that matters is possible both ways. Don't read this as no difference."


_HELD = {
    "ceiling": "too many ratings sit at an end of the scale",
    "all_alike": "the ratings are all alike",
    "as_done": "the reading by what you really did does not agree",
    "early": "the trial was read early",
}


@_writes("same_held_back")
def _(f: Facts, c: Case) -> str:
    return ("The range is narrow, but the two ways can't be called the same, because "
            f"{_HELD.get(str(f['why']), 'the ratings do not allow it')}.")


@_writes("as_done_differs")
def _(f: Facts, c: Case) -> str:
    return ("Read by what you really did, the answer comes out another way. Take it with care.")


ORDER: Final = (
    "not_randomised", "could_never_tell", "too_few_blocks", "ratings_not_reeds", "box_is_arm", "early_look",
    "ended_early", "stopped_before_cap", "same_held_back", "few_worn_out",
    "as_done_differs", "plan_not_followed", "ceiling", "all_alike",
    "missing_days", "block_lost", "damage_uneven", "hours_uneven", "weather_uneven", "wide_range", "looks_paid",
    "setup_changed", "worked_on", "reeds_left_out", "window_short", "knew_which", "one_box", "weather_drifted",
    "habit_not_logged", "from_memory", "unsure_reed", "unplanned_ratings", "half_squares", "overplayed",
    "worn_out_by_choice", "worn_out_unmarked", "adjust_left_out", "mouldy",
)


def remark_text(remark: Remark, case: Case) -> str:
    """Return the sentence of a remark. Raises KeyError for a code that has none."""
    text = SENTENCES[remark.code](dict(remark.facts), case)
    return text[0].upper() + text[1:]


def sorted_remarks(remarks: tuple[Remark, ...]) -> list[Remark]:
    """Return remarks with the gravest first; codes not in `ORDER` keep their place at the end."""
    return sorted(remarks, key=lambda r: ORDER.index(r.code) if r.code in ORDER else len(ORDER))
