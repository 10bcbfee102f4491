"""What the plan page says about a question, a draft and a trial just started: templates over plain data."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Final

import pandas as pd

from ...plan.at_hand import with_break_in
from ...questions import Question
from ...rows.tables import Frames
from ...screens.plan import DESIGN_WORDS, facts, scale_words, times_by_chance
from ...trial.calendar import calendar_with
from ...trial.change_of_ways import told_of_ways
from ...trial.pairs import first_then
from ...trial.practice import CAUTIONS
from ...trial.protocol import Protocol
from ...wording import short_date, spoken_date, tr
from ..shared.form import rows_table
from ..shared.render import render

if TYPE_CHECKING:
    from ...plan import Draft

__all__ = ["DESIGN_WORDS", "busy_reeds", "draft_html", "question_html", "reeds_to_offer", "scale_words",
           "started_html"]

_SHOWN_DAYS: Final = 7
#: Remarks of a draft that the page says better elsewhere.
_SAID: Final = (tr("(a first guess)"), tr("more likely than not end with"), tr("Reeds of this trial"),
                tr("Break the reeds in first"))


def question_html(question: Question, *, ask: bool = True) -> str:
    """Return a question with its two ways, its traps and its cautions."""
    return str(render("plan_question", question=question, ask=question.ask if ask else "",
                      cautions=" ".join(CAUTIONS[k].text for k in question.cautions)))


def reeds_to_offer(frames: Frames, today: date) -> pd.DataFrame:
    """Return the reeds that may be dealt, by code: not set aside and still in service; with their break-in."""
    reeds = frames.reeds
    free = reeds[~reeds["set_aside"] & ~reeds["reed"].isin(frames.retirements["reed"])]
    return with_break_in(free.sort_values("reed").reset_index(drop=True), frames, today)


def busy_reeds(protocols: list[Protocol], reeds: list[str]) -> list[str]:
    """Return one line for each running trial that holds any of `reeds`: a reed serves one trial at a time."""
    out = []
    for p in protocols:
        both = sorted(set(p.reeds) & set(reeds))
        if both:
            out.append(tr("Reeds: {both} still serve in \"{trial}\" up to its end. Untick them.").format(
                           both=", ".join(both), trial=p.trial))
    return out


def draft_html(draft: Draft) -> str:
    """Return a plan in full: what it asks, of which reeds, what to know, and the layouts that were compared."""
    remarks = [r for r in draft.remarks if not any(words in r for words in _SAID)]
    layouts = [[r["layout"], f"{r['arrangements']:,}", times_by_chance(r["least_p"]), times_by_chance(r["after_loss"]),
                tr("✓ chosen") if r["chosen"] else ""]
               for r in draft.layouts.to_dict("records")]
    return str(render("plan_draft", facts=facts(draft), remarks=remarks, layouts=layouts))


def started_html(protocol: Protocol) -> str:
    """Return a started trial: how it stands in the logbook; its first days, or which reed keeps to which way."""
    row = [protocol.trial, spoken_date(protocol.start), f"{protocol.days}", protocol.sha256[:12]]
    ways, days = [], []
    if not protocol.units[0].cells:
        ways = [[h.name, h.steps, ", ".join(r for r in protocol.reeds if protocol.habit_for(r, 1) == h)]
                for h in protocol.habits]
    else:
        calendar = calendar_with(protocol).dates()[:_SHOWN_DAYS]
        days = [[f"{d}", short_date(on).replace(" ", "\u00a0"), "; ".join(_slot_words(protocol, d))]
                for d, on in enumerate(calendar, start=1)]
    change = "" if protocol.halves is None else tr("Day {day}: {text}").format(
        day=protocol.halves.change, text=told_of_ways(protocol, protocol.halves.change)[0])
    return (rows_table([tr("Trial"), tr("First day"), tr("Days"), tr("Fingerprint")], [row])
            + render("plan_started", hidden=protocol.masked == "helper", ways=ways, days=days, change=change)
            + render("plan_go"))


def _slot_words(protocol: Protocol, day: int) -> list[str]:
    reeds = [s.reed for s in sorted(protocol.slots, key=lambda s: s.order) if s.day == day] or sorted(
        r for u in protocol.units for r, d in u.cells if d == day)
    out = []
    for reed in reeds:
        habit = protocol.habit_for(reed, day)
        name = "" if habit is None else first_then(protocol, habit) if protocol.pairs else habit.name
        out.append(f"{reed} {name}" if name else reed)
    return out
