"""The reed case as a page shows it: plain functions from the numbers to HTML."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from html import escape
from typing import Final

from ...reedcase import CaseView, ConcertPick, LifeBelief, ReedState, Span, deaths
from ...reedcase.ready import ON_THE_GO
from ...reedcase.states import RAMP
from ...screens.words import REASONS, spoken_date
from ..shared.form import NO_REEDS, rows_table

__all__ = ["box_html", "concert_html", "gone_html", "reeds_html", "today_html"]

_TREND: Final = {"down": "↓ going down", "up": "↑ going up", "steady": "→ steady", None: "too few yet"}
_SEALED: Final = "sealed"
_LIFE_FROM: Final = 3  # worn-out reeds from which the width is called the player's own: our assumption


def today_html(case: CaseView) -> str:
    """Return what to play today."""
    rows: list[list[str]] = []
    for name, play in case.plans.items():
        for x in play.lines:
            if x.kind == "rest":
                rows.append([x.reed, "–", "let it rest"])
            else:
                why = {"slot": f"for {name}", "play": f"for {name}", "break_in": "break-in", "concert": "concert",
                       "free": "would suit the rest of the day"}[x.kind]
                rows.append([x.reed, f"{x.minutes:g}" if x.minutes else "spare",
                             ("✓ done, " if x.done else "") + why])
    rows += [[t.reed, f"{t.minutes:g}", t.why] for t in case.turns]
    if not rows:
        return "<p>Nothing asks to be played today.</p>" if case.reeds else NO_REEDS
    return rows_table(["Reed", "Minutes", "Why"], rows)


def reeds_html(case: CaseView) -> str:
    """Return one row for each reed in use, then those set aside."""
    named = {x.reed: x.kind for p in case.plans.values() for x in p.lines} | {t.reed: "turn" for t in case.turns}
    rows = [_row(r, case, named.get(r.reed)) for r in sorted(case.reeds, key=lambda r: (r.set_aside, r.reed))]
    if not rows:
        return NO_REEDS
    table = rows_table(["Reed", "Played", "Age", "Stage", "Today", "Last played", "Ratings", "Hours left"], rows,
                       cards=True)
    added = " A + marks a reed whose break-in came before its first entry; the usual minutes were added." if any(
        r.at_least for r in case.reeds) else ""
    return table + (f'<p class="reedlab-quiet">{escape(_life(case.life, case.median_h) + added)}</p>')


def _life(life: LifeBelief, median_h: float) -> str:
    rests = (f"They rest on {life.worn_out} worn-out reed{'s' if life.worn_out != 1 else ''} of yours"
             if life.worn_out else "They rest on a common guess, for none of your reeds has worn out yet")
    more = "" if life.worn_out >= _LIFE_FROM else " and will tighten as more wear out"
    return (f"Hours left are a range that should hold four times in five. {rests}{more}; half of your reeds "
            f"should last {median_h:.0f} hours or more. Chips and losses are not counted in.")


def _row(r: ReedState, case: CaseView, kind: str | None) -> list[str]:
    stage = "set aside" if r.set_aside else "broken in" if r.broken_in else (
        f"new: break-in, day {r.step} of {len(RAMP)}" if r.play_days == 0 else
        f"break-in, day {r.step} of {len(RAMP)}")
    if r.worked_on:
        stage += ", worked on"
    if r.trial is not None:
        stage += f", in {r.trial}"
    if kind is not None and kind != "rest":
        state = "on today's list"
    elif r.set_aside:
        state = "set aside"
    else:
        state = "played" if r.today_min else "rests"
    ratings = _SEALED if r.sealed else _TREND[r.trend] + (
        f" ({', '.join(f'{v:g}' for v in r.recent)})" if r.recent else "")
    life = case.lives.get(r.reed)
    age = "" if r.first is None else f"{(case.on - r.first).days} days"
    return [r.reed, f"{r.hours:.1f} h{'+' if r.at_least else ''}", age, stage,
            f"{r.today_min:g} of {r.limit_min:g} min; {state}", _ago(r.last_played, case.on), ratings,
            _SEALED if r.sealed else hours_left(life)]


def _ago(last: date | None, on: date) -> str:
    if last is None:
        return "never"
    days = (on - last).days
    return "today" if days == 0 else "yesterday" if days == 1 else f"{days} days ago"


def hours_left(life: Span | None) -> str:
    """Return a range of hours in words."""
    if life is None:
        return ""
    low, high = round(life.low), round(life.high)
    return f"about {round(life.mid)} h ({low if low else 'under 1'} to {high})"


def box_html(case: CaseView) -> str:
    """Say when the next box has to be opened, and what an hour of good playing costs."""
    out = []
    if case.box_days is None:
        out.append(f"You have {case.counted} reed{'s' if case.counted != 1 else ''} on the go and want at least "
                   f"{ON_THE_GO}. Open the next box now." if case.reeds else "")
    else:
        weeks = [max(0, round(d / 7)) for d in (case.box_days.low, case.box_days.high)]
        out.append(f"With {case.counted} reeds in use and your usual {case.minutes_a_day:.0f} minutes, fewer than "
                   f"{ON_THE_GO} will be left in about {weeks[0]} to {weeks[1]} weeks. To be safe, open the next "
                   f"box by {spoken_date(case.open_by)}: a week goes to first play and break-in.")
    if case.unplayed:
        out.append(f"{case.unplayed} new reed{'s are' if case.unplayed > 1 else ' is'} not played in yet and not "
                   "counted.")
    for c in case.costs:
        if c.per_hour is not None:
            out.append(f"Box {c.box}: {c.price:g} for {c.good_h:.0f} good playing hours, {c.per_hour:.2f} an hour"
                       + ("." if c.done else " so far; it falls while its reeds still play."))
    if case.reeds and not case.costs and not case.sealed:
        out.append("Give the price of a box on the page New reeds to see what an hour of good playing costs.")
    return "".join(f"<p>{escape(text)}</p>" for text in out if text)


def concert_html(picks: Sequence[ConcertPick], on: date) -> str:
    """Return the reeds for a concert."""
    ready = [p for p in picks if p.ready]
    head = (f"Ready for {spoken_date(on)}: {', '.join(p.reed for p in ready[:2])}"
            + ("." if len(ready) > 1 else ", and no spare. Break in another reed soon.") if ready else
            f"No reed is ready for {spoken_date(on)} yet. Break in another reed soon.")
    rows = [[p.reed, "✓ ready" if p.ready else "not yet", p.why, "" if p.mean is None else f"{p.mean:.1f}"]
            for p in picks]
    return f"<p><b>{escape(head)}</b> Let it rest the day before.</p>" + rows_table(
        ["Reed", "", "Why", "Mean of its last ratings"], rows, cards=True)


def gone_html(case: CaseView, ever: int = 0) -> str:
    """Return what reeds die of here, and how many that left before are not counted, of all that `ever` left."""
    if not case.gone:
        return "<p>No reed has left service yet.</p>"
    why = rows_table(["Why", "Reeds", "Hours played (the middle one)"], [
        [REASONS[d.reason], d.reeds, f"{d.median_h:.1f}"] for d in deaths(case.gone)])
    each = rows_table(["Reed", "Left on", "Why", "Hours played"], [
        [g.reed, g.on.isoformat(), REASONS[g.reason], f"{g.hours:.1f}"] for g in case.gone])
    older = ever - len(case.gone)
    said = f"<p>Older reeds ({older}) are left out here; your own numbers rest on later boxes.</p>" if older > 0 else ""
    each_told = "The reeds that left last" if said else "Every reed that left"
    return f"{why}{said}<details><summary>{each_told}</summary>{each}</details>"
