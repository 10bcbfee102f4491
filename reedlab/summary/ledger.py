"""The numbers below the sentence: as a table for those who want them, and as plain data for JSON."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import fields, is_dataclass
from datetime import date
from typing import Any, Final

from ..trial.outcomes import OUTCOMES
from ..trial.protocol import Protocol
from ..trial.result import Finding, Guesses, OnTheWay, StandingOdds
from ..wording import tr
from . import numbers
from .case import Case
from .words.lives import too_few_ends
from .words.ranges import Range
from .words.standing import bar_words, odds_words

__all__ = [
    "finding_dict", "guesses_dict", "numbers_table", "odds_dict", "on_the_way_dict", "plain", "reading_dict",
    "sealed_dict", "second_opinion_table",
]


def _show(x: float, step: float = 0.001) -> str:
    if math.isnan(x):
        return tr("none")
    if math.isinf(x):
        return tr("no end")
    text = numbers.rounded(x, step)
    return (tr("just over 0") if x > 0 else tr("just under 0")) if text == "0" and x != 0 else text


def _probability(p: float) -> str:
    return f"{p:.4f}" if p >= 0.001 else f"{p:.1g}" if p >= 1e-4 else tr("below 0.0001")


def plain(x: Any, without: Collection[str] = ()) -> Any:
    """Return a record (or what is in one) as plain data for JSON: dates as text, None for what is no finite number."""
    if is_dataclass(x):
        return {f.name: plain(getattr(x, f.name)) for f in fields(x) if f.name not in without}
    if isinstance(x, tuple | list):
        return [plain(y) for y in x]
    if isinstance(x, date):
        return x.isoformat()
    return (float(x) if math.isfinite(x) else None) if isinstance(x, float) else x


_NAMED: Final = ("outcome", "reading", "rating")  # what a finding is of; its numbers are the rest


def finding_dict(f: Finding) -> dict[str, Any]:
    """Return a finding as plain data; ends without limit are None and flagged as open.

    The low end of a ratio is open at 0, for no life is shorter.
    """
    ratio = f.scale == "ratio"
    open_low = (f.low == 0) if ratio else math.isinf(f.low)
    ends = {"low": plain(f.low), "low90": plain(f.low90)}
    return {
        **plain(f, _NAMED), **{name: None if ratio and x == 0 else x for name, x in ends.items()},
        "low_open": bool(open_low), "high_open": bool(math.isinf(f.high)), "units": sum(f.units),
        "units_each": list(f.units)}


def sealed_dict(plan: Protocol) -> dict[str, Any]:
    """Return the same keys while the trial is sealed: only what the plan itself fixes."""
    layout = plan.layout
    keys = [*(f.name for f in fields(Finding) if f.name not in _NAMED), "low_open", "high_open", "units_each"]
    return {**dict.fromkeys(keys), "scale": plan.card.scale, "level": plan.level, "least_p": layout.least_p,
            "arrangements": layout.count, "units": len(plan.units), "blocks": len(layout.labels)}


def reading_dict(f: Finding | None) -> dict[str, Any] | None:
    """Return a reading that stands beside the main one, with its name; None if there is none.

    `predicted` counts the reeds, each way, whose life is reckoned from their ratings; None for other readings.
    """
    if f is None:
        return None
    predicted = None
    if f.reading == "expected" and f.events is not None:
        predicted = [n - worn for n, worn in zip(f.units, f.events, strict=True)]
    return {"outcome": f.outcome, "reading": f.reading, "rating": f.rating or None, **finding_dict(f),
            "predicted": predicted}


def guesses_dict(g: Guesses | None, plan: Protocol) -> dict[str, Any] | None:
    """Return what was guessed as plain data; None where nothing was hidden."""
    return None if g is None else {"asked": g.asked, "habits": [
        None if h is None else {"key": habit.key, **plain(h)} for habit, h in zip(plan.habits, g.habits, strict=True)]}


def odds_dict(odds: StandingOdds | None) -> dict[str, Any] | None:
    """Return how the odds of a standing trial came about as plain data; None for other trials."""
    return None if odds is None else {
        **plain(odds), "boxes": [{"number": n, "opened": plain(d)} for n, d in odds.boxes],
        "course": [{"date": plain(d), "e_value": e, "worn_out": n} for d, e, n in odds.course]}


def on_the_way_dict(odds: OnTheWay | None) -> dict[str, Any] | None:
    """Return the odds of a trial that may be read early as plain data; None for other trials."""
    return None if odds is None else {
        **plain(odds, ("left",)), "p_left": plain(odds.left),
        "course": [{"day": d, "e_value": e} for d, e in odds.course]}


def numbers_table(case: Case) -> list[tuple[str, str]]:
    """Return the rows of the numbers under the answer, in the outcome's own unit. Empty while sealed."""
    f = case.main
    if f is None:
        return []
    a, b = case.name("A"), case.name("B")
    outcome = OUTCOMES[f.outcome]
    ratio = f.scale == "ratio"
    unit = outcome.unit
    if case.noun == "step" and not ratio:
        unit = tr("steps an hour") if outcome.per_hour else tr("steps")
    what = tr("Ratio of {unit}, {b} over {a}").format(
               unit=unit, b=b, a=a) if ratio else tr("Gap in {unit}, {b} minus {a}").format(unit=unit, b=b, a=a)
    each = case.counted_units(2).removeprefix("2 ").capitalize()
    sets = case.sets(2).removeprefix("2 ").capitalize()
    # With nothing shuffled, a range or a chance by shuffling would be a claim the diary cannot carry.
    ranges = [] if case.is_diary else [
        (use.format(out_of=r.out_of), tr("{low} to {high}").format(
            low=tr("no end") if r.open_low else _show(r.low), high=_show(r.high)))
        for r, use in ((Range.of(f), tr("Range ({out_of})")),
                       (Range.of_sameness(f), tr("Range ({out_of}), to judge sameness")))
    ]
    shuffled = [] if case.is_diary else [
        (tr("Chance by shuffling alone"), _probability(f.p_value)),
        (tr("Smallest chance this plan could reach") if f.events is None else
         tr("Smallest chance these worn-out reeds could reach"), _probability(f.least_p)),
        (tr("Ways to shuffle"), f"{f.arrangements:,}" + ("" if f.exact else " " + tr("(a sample of them was drawn)"))),
    ]
    odds, way = case.result.odds, case.result.on_the_way
    by = way if way is not None and way.decides else odds
    if by is not None:
        ranges = ranges[:1]
        shuffled = [(tr("Odds against no difference"), odds_words(by.e_value)),
                    (tr("Highest so far"), odds_words(by.most)),
                    (tr("A winner is named at"), bar_words(by) if by is odds else odds_words(by.bar))]
    told = Range.of(f)
    if ratio and too_few_ends(f):
        ranges = []
        size = tr("too few came to their end")
    elif ratio and (f.estimate == 0 or math.isinf(f.estimate)):
        size = tr("open") if told.is_open else tr("open; longer with {name}").format(
            name=case.name("B" if f.estimate else "A"))
    else:
        size = _show(f.estimate)
    dealt = tr("{units} that began with {name}") if case.plan.crossover else tr("{units} with {name}")
    rows = [
        (what, size),
        *ranges,
        (tr("Smallest gap that matters"), _show(case.plan.matters)),
        *shuffled,
        (dealt.format(units=each, name=a), str(f.units[0])),
        (dealt.format(units=each, name=b), str(f.units[1])),
        (sets, str(f.blocks)),
    ]
    if f.blocks_dropped:
        rows.append((tr("{sets} left out").format(sets=sets), str(len(f.blocks_dropped))))
    if f.events is not None:
        rows += [(tr("Came to their end with {name}").format(name=x), str(n))
                 for x, n in zip((a, b), f.events, strict=True)]
    if f.means is not None:
        label = tr("Hours by which half were done") if ratio else tr("Plain average")
        for name, m in ((a, f.means[0]), (b, f.means[1])):
            none = tr("more than half still going") if ratio else tr("none")
            rows.append((f"{label}, {name}", none if math.isnan(m) else _show(m, 0.01)))
    if odds is None:
        rows.append((tr("Early looks"), str(case.result.looks)))
    return rows


def second_opinion_table(case: Case) -> list[tuple[str, str, str]]:
    """Return method, quantity and value of every second opinion."""
    rows = []
    words = {"low": tr("low"), "high": tr("high"), "gap": tr("gap")}
    for method, quantity, v in case.result.second_opinion:
        name = words.get(quantity, quantity)
        for side in "AB":  # a habit goes by its own name
            if quantity.endswith(f", {side}"):
                name = f"{quantity[:-3]}, {case.name(side)}"
        median = quantity in {tr("median hours, {x}").format(x=x) for x in "AB"}
        none = tr("more than half still going") if median else ""
        rows.append((method, name, none if math.isnan(v) else _probability(v) if quantity == "p" else _show(v)))
    return rows
