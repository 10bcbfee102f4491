"""What happened on the way: gaps in the log, the plan, the air, the reeds."""

from __future__ import annotations

import math
from typing import Final

from ....wording import tr, trn
from ... import numbers
from ...case import Case
from ...names import of_reeds
from ..together_remarks import more_and_less
from ._tools import Facts, confirmed, hours, listed, reeds, sittings, told, writes

__all__ = ["EVENED"]

_AIR: Final = {"humidity": (tr("humidity"), "%"), "temperature": (tr("temperature"), " °C")}


@writes("uneven")
def _(f: Facts, c: Case) -> str:
    told = more_and_less(f, c.name("A"), c.name("B"))
    often = tr("Shuffling alone would do that {chance}.").format(chance=numbers.chance(float(f["p"])))
    if f["kind"] == "given_up":
        said = tr("You gave up {many} reeds by choice with {more}, and {few} with {less}. {often}")
        bent = tr("A reed given up before its end can make {more} look better than it is")
    elif f["kind"] == "memory":
        return tr("Written later, from memory: {many} ratings with {more}, and {few} with {less}. {often} Memory may "
                  "lean to what you expect.").format(often=often, **told)
    elif c.plan.pairs:
        n, of = (round(float(f[f"{x}_a"]) + float(f[f"{x}_b"])) for x in ("count", "of"))
        said = trn("On days of play, {n} of {of} pairs is missing.", "On days of play, {n} of {of} pairs are missing.",
                   n).format(n=n, of=of)
        bent = tr("If pairs were left out for how they went, the answer may lean")
    else:
        said = tr("Missing: {many} ratings with {more}, and {few} with {less}. {often}")
        bent = tr("If bad ratings were the ones left out, {more} looks better than it is")
    end = tr("{bent}, so no answer is given.") if f["held"] else "{bent}."
    return f"{said.format(often=often, **told)} {end.format(bent=bent.format(**told))}"


@writes("missing_days")
def _(f: Facts, c: Case) -> str:
    n = round(float(f["missing"]))
    if c.main is None:
        return trn("Of {ratings} due so far, {n} is missing.", "Of {ratings} due so far, {n} are missing.", n).format(
            ratings=numbers.count(f["planned"], "rating"), n=n) + " " + tr(
                "If bad days are the ones left out, the answer may come out wrong.")
    return trn("Of {ratings}, {n} is missing.", "Of {ratings}, {n} are missing.", n).format(
        ratings=numbers.count(f["planned"], "planned rating"), n=n) + " " + tr("The answer rests on what is left.")


@writes("reeds_left_out")
def _(f: Facts, c: Case) -> str:
    n = round(float(f["units"]))
    if c.plan.crossover:
        return trn("{reeds} was left out, as one of its two ways was not rated ({names}).",
                   "{reeds} were left out, as one of their two ways was not rated ({names}).", n).format(
            reeds=c.counted_units(n), names=listed(f["names"]))
    if c.plan.unit_kind == "reed":
        return trn("{reeds} was left out, with fewer than {ratings} ({names}).",
                   "{reeds} were left out, with fewer than {ratings} ({names}).", n).format(
            reeds=c.counted_units(n), ratings=numbers.count(f["fewest"], "rating"), names=listed(f["names"]))
    return trn("{units} was left out, as it was not rated.", "{units} were left out, as they were not rated.",
               n).format(units=c.counted_units(n))


@writes("block_lost")
def _(f: Facts, c: Case) -> str:
    lost, left = round(float(f["lost"])), round(float(f["left"]))
    return " ".join([trn("{sets} lost one of its two ways and could not count.",
                         "{sets} lost one of their two ways and could not count.", lost).format(sets=c.sets(lost)),
                     trn("{sets} is left.", "{sets} are left.", left).format(sets=c.sets(left).capitalize())])


@writes("window_short")
def _(f: Facts, c: Case) -> str:
    return tr("Matched set {block} is read over its first {hours} only, for one reed of the set got no further. "
              "Another reed of it went on to {hours2}.").format(block=f["block"], hours=hours(f["window_hours"]),
                                                                hours2=hours(f["longest_hours"]))


@writes("half_squares")
def _(f: Facts, c: Case) -> str:
    return tr("In {sets} of two reeds over two days, a rating is missing. Such a {set_noun} tells a little "
              "less.").format(sets=c.sets(float(f["squares"])), set_noun=c.set_noun)


@writes("unplanned_ratings")
def _(f: Facts, c: Case) -> str:
    return tr("You rated a reed on a day that was not planned for it in {sittings}. Those ratings do not "
              "count.{confirmed}").format(sittings=sittings(f["sittings"]), confirmed=confirmed(f, "sittings", c))


@writes("unsure_reed")
def _(f: Facts, c: Case) -> str:
    return tr("You were not sure of the reed in {sittings}. Left out here, but kept in the log.").format(
               sittings=sittings(f["sittings"]))


@writes("from_memory")
def _(f: Facts, c: Case) -> str:
    return tr("You wrote down {sittings} later, from memory ({share}). Memory tends to smooth things out.").format(
               sittings=sittings(f["sittings"]), share=numbers.share(float(f["share"])))


@writes("plan_not_followed")
def _(f: Facts, c: Case) -> str:
    if c.plan.pairs:
        return of_reeds(c.plan,
                        tr("In {n} of {sittings}, you began with the other way than planned. That can make a true "
                           "gap look smaller.{confirmed}"),
                        tr("In {n} of {sittings}, you began with the other reed than planned. That can make a true "
                           "gap look smaller.{confirmed}")).format(
            n=round(float(f["sittings"])), sittings=sittings(f["logged"]), confirmed=confirmed(f, "sittings", c))
    return tr("In {sittings} of {sittings2}, you used the other way than planned. That can make a true gap look "
              "smaller.{confirmed}").format(sittings=round(float(f["sittings"])), sittings2=sittings(f["logged"]),
                                            confirmed=confirmed(f, "sittings", c))


@writes("habit_not_logged")
def _(f: Facts, c: Case) -> str:
    return trn("In {sittings}, you did not note which way you used. It is read as done to plan.",
               "In {sittings}, you did not note which way you used. They are read as done to plan.",
               round(float(f["sittings"]))).format(sittings=sittings(f["sittings"]))


@writes("overplayed")
def _(f: Facts, c: Case) -> str:
    return tr("On {reeds} you played past the daily limit, {times_over} in all. The usual limit is {limit_min} "
              "minutes, and less for a new reed.{confirmed}").format(
               reeds=reeds(f["reeds"]), times_over=numbers.times_over(float(f["reed_days"])),
               limit_min=round(float(f["limit_min"])), confirmed=confirmed(f, "reed_days", c))


@writes("weather_drifted")
def _(f: Facts, c: Case) -> str:
    kind, unit = _AIR[str(f["kind"])]
    return tr("The air changed on the way: {kind} was about {early}{unit} at first and {late}{unit} at the end. "
              "Shuffling guards against it, but the answer mixes both.").format(
               kind=kind, early=told(f["early"], 1), unit=unit, late=told(f["late"], 1))


@writes("weather_uneven")
def _(f: Facts, c: Case) -> str:
    kind, unit = _AIR[str(f["kind"])]
    return tr("By chance, the days differed in {kind}: about {mean}{unit} with {name} and {mean2}{unit} with {name2}. "
              "Part of the gap may be the air.").format(kind=kind, mean=told(f["mean_a"], 1), unit=unit,
                                                        name=c.name("A"), mean2=told(f["mean_b"], 1), name2=c.name("B"))


@writes("hours_uneven")
def _(f: Facts, c: Case) -> str:
    said = tr("The reeds were not played alike: {hours} each with {name} and {hours2} with {name2}.").format(
               hours=hours(f["hours_a"]), name=c.name("A"), hours2=hours(f["hours_b"]), name2=c.name("B"))
    told = c.main is not None and not math.isnan(c.main.estimate)
    return tr("{said} Part of the gap may be the playing.").format(said=said) if told else said


@writes("setup_changed")
def _(f: Facts, c: Case) -> str:
    return tr("Another mouthpiece or ligature was used in {sittings} ({listed}). It may have changed your "
              "ratings.").format(sittings=sittings(f["sittings"]), listed=listed(f["setups"]))


@writes("worked_on")
def _(f: Facts, c: Case) -> str:
    return " ".join([trn("{reeds} was sanded, scraped or clipped ({names}).",
                         "{reeds} were sanded, scraped or clipped ({names}).", round(float(f["reeds"]))).format(
                             reeds=reeds(f["reeds"]).capitalize(), names=listed(f["names"])),
                     tr("That may change how a reed plays more than the habit does.")])


@writes("mouldy")
def _(f: Facts, c: Case) -> str:
    return tr("Mould ended {reeds} ({listed}). Throw a mouldy reed away and clean its case. A cough or short breath "
              "that stays: stop playing and see a doctor.").format(reeds=reeds(f["reeds"]), listed=listed(f["names"]))


EVENED = {
    "day": tr("the day of the trial"), "age_hours": tr("the age of the reeds"), "humidity": tr("the humidity"),
    "first_play": tr("the first-play rating"),
    "break_in": tr("the ratings before the start"), "order": tr("the order within the day"),
}
_WHY_NOT = {
    "missing": tr("Half or more of it was not written down"),
    "constant": tr("It was always the same"),
    "too_few": tr("There are too few reeds or days for it"),
    "tangled": tr("It can't be told apart from the matched sets"),
    "not_allowed": tr("The habit itself may change it"),
}


@writes("adjust_left_out")
def _(f: Facts, c: Case) -> str:
    name, why = str(f["name"]), str(f["why"])
    return tr("The plan meant to even out {evened}, and that was not done. {why_not}.").format(
               evened=EVENED.get(name, name), why_not=_WHY_NOT.get(why, tr("It could not be used")))
