"""What happened on the way: gaps in the log, the plan, the air, the reeds."""

from __future__ import annotations

import math

from ... import numbers
from ...case import Case
from ._tools import Facts, agree, confirmed, hours, listed, reeds, sittings, told, writes

__all__ = ["EVENED"]


@writes("uneven")
def _(f: Facts, c: Case) -> str:
    share = {x: float(f[f"count_{x}"]) / max(1.0, float(f[f"of_{x}"])) for x in "ab"}
    more, less = ("a", "b") if share["a"] > share["b"] else ("b", "a")
    name = {x: c.name(x.upper()) for x in "ab"}
    many, few = (f"{round(float(f[f'count_{x}']))} of {round(float(f[f'of_{x}']))}" for x in (more, less))
    often = f"Shuffling alone would do that {numbers.chance(float(f['p']))}."
    if f["kind"] == "given_up":
        said = f"You gave up {many} reeds by choice with {name[more]}, and {few} with {name[less]}. {often}"
        bent = f"A reed given up before its end can make {name[more]} look better than it is"
    elif f["kind"] == "memory":
        return (f"Written later, from memory: {many} ratings with {name[more]}, and {few} with {name[less]}. {often} "
                "Memory may lean to what you expect.")
    else:
        said = f"Missing: {many} ratings with {name[more]}, and {few} with {name[less]}. {often}"
        bent = f"If bad ratings were the ones left out, {name[more]} looks better than it is"
    return f"{said} {bent}{', so no answer is given.' if f['held'] else '.'}"


@writes("missing_days")
def _(f: Facts, c: Case) -> str:
    missing = f"{round(float(f['missing']))} {agree(f['missing'], 'is', 'are')} missing"
    if c.main is None:
        return (f"Of {numbers.count(f['planned'], 'rating')} due so far, {missing}. If bad days are the ones left "
                "out, the answer may come out wrong.")
    return f"Of {numbers.count(f['planned'], 'planned rating')}, {missing}. The answer rests on what is left."


@writes("reeds_left_out")
def _(f: Facts, c: Case) -> str:
    left_out = f"{c.counted_units(float(f['units']))} {agree(f['units'], 'was', 'were')} left out"
    if c.plan.unit_kind == "reed":
        return f"{left_out}, with fewer than {numbers.count(f['fewest'], 'rating')} ({listed(f['names'])})."
    return f"{left_out}, as {agree(f['units'], 'it was', 'they were')} not rated."


@writes("block_lost")
def _(f: Facts, c: Case) -> str:
    return (f"{c.sets(float(f['lost']))} lost one of {agree(f['lost'], 'its', 'their')} two ways and could not count. "
            f"{c.sets(float(f['left'])).capitalize()} {agree(f['left'], 'is', 'are')} left.")


@writes("window_short")
def _(f: Facts, c: Case) -> str:
    return (f"Matched set {f['block']} is read over its first {hours(f['window_hours'])} only, for one reed "
            f"of the set got no further. Another reed of it went on to {hours(f['longest_hours'])}.")


@writes("half_squares")
def _(f: Facts, c: Case) -> str:
    return (f"In {c.sets(float(f['squares']))} of two reeds over two days, a rating is missing. Such a "
            f"{c.set_noun} tells a little less.")


@writes("unplanned_ratings")
def _(f: Facts, c: Case) -> str:
    return (f"You rated a reed on a day that was not planned for it in {sittings(f['sittings'])}. Those "
            f"ratings do not count.{confirmed(f, 'sittings', c)}")


@writes("unsure_reed")
def _(f: Facts, c: Case) -> str:
    return f"You were not sure of the reed in {sittings(f['sittings'])}. Left out here, but kept in the log."


@writes("from_memory")
def _(f: Facts, c: Case) -> str:
    return (f"You wrote down {sittings(f['sittings'])} later, from memory "
            f"({numbers.share(float(f['share']))}). Memory tends to smooth things out.")


@writes("plan_not_followed")
def _(f: Facts, c: Case) -> str:
    return (f"In {round(float(f['sittings']))} of {sittings(f['logged'])}, you used the other way than "
            f"planned. That can make a true gap look smaller.{confirmed(f, 'sittings', c)}")


@writes("habit_not_logged")
def _(f: Facts, c: Case) -> str:
    return (f"In {sittings(f['sittings'])}, you did not note which way you used. "
            f"{agree(f['sittings'], 'It is', 'They are')} read as done to plan.")


@writes("overplayed")
def _(f: Facts, c: Case) -> str:
    return (f"On {reeds(f['reeds'])} you played past the daily limit, "
            f"{numbers.times_over(float(f['reed_days']))} in all. The usual limit is "
            f"{round(float(f['limit_min']))} minutes, and less for a new reed.{confirmed(f, 'reed_days', c)}")


@writes("weather_drifted")
def _(f: Facts, c: Case) -> str:
    unit = "%" if f["kind"] == "humidity" else " °C"
    return (f"The air changed on the way: {f['kind']} was about {told(f['early'], 1)}{unit} at first and "
            f"{told(f['late'], 1)}{unit} at the end. Shuffling guards against it, but the answer mixes both.")


@writes("weather_uneven")
def _(f: Facts, c: Case) -> str:
    unit = "%" if f["kind"] == "humidity" else " °C"
    return (f"By chance, the days differed in {f['kind']}: about {told(f['mean_a'], 1)}{unit} with "
            f"{c.name('A')} and {told(f['mean_b'], 1)}{unit} with {c.name('B')}. Part of the gap may be the air.")


@writes("hours_uneven")
def _(f: Facts, c: Case) -> str:
    said = (f"The reeds were not played alike: {hours(f['hours_a'])} each with {c.name('A')} and "
            f"{hours(f['hours_b'])} with {c.name('B')}.")
    told = c.main is not None and not math.isnan(c.main.estimate)
    return f"{said} Part of the gap may be the playing." if told else said


@writes("setup_changed")
def _(f: Facts, c: Case) -> str:
    return (f"Another mouthpiece or ligature was used in {sittings(f['sittings'])} ({listed(f['setups'])}). "
            "It may have changed your ratings.")


@writes("worked_on")
def _(f: Facts, c: Case) -> str:
    return (f"{reeds(f['reeds']).capitalize()} {agree(f['reeds'], 'was', 'were')} sanded, scraped or clipped "
            f"({listed(f['names'])}). That may change how a reed plays more than the habit does.")


@writes("mouldy")
def _(f: Facts, c: Case) -> str:
    return (f"Mould ended {reeds(f['reeds'])} ({listed(f['names'])}). Throw a mouldy reed away and clean its "
            "case. A cough or short breath that stays: stop playing and see a doctor.")


EVENED = {
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


@writes("adjust_left_out")
def _(f: Facts, c: Case) -> str:
    name, why = str(f["name"]), str(f["why"])
    return (f"The plan meant to even out {EVENED.get(name, name)}, and that was not done. "
            f"{_WHY_NOT.get(why, 'It could not be used')}.")
