"""The answer to one trial: its words, its numbers, and how it shows itself."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from ..look import INVENTED
from ..trial.result import TrialResult
from ..wording import tr
from . import ledger
from .case import Case
from .page import fragment, standing_alone
from .report import report_page
from .said import About, Said, listed, wrapped
from .words import fragile, front, readings
from .words import headline as _headline
from .words.guesses import guess_sentences
from .words.remarks import remark_text, sorted_remarks

__all__ = ["Answer", "answer"]


@dataclass(frozen=True)
class Answer(Said):
    """What is said of a trial, and how it shows itself: as text, as plain data, as a page."""

    def to_text(self, width: int = 80, *, full: bool = False) -> str:
        """Return the answer for a terminal, wrapped to `width` columns: the first screen, or with `full` all of it."""
        plan, rest = self.result.protocol, self.warnings[1:]
        parts = [wrapped(INVENTED, width)] if self.about.invented else []
        parts += [wrapped(f"{plan.trial}: {plan.ask}", width), wrapped(self.headline, width)]
        *told, following = (f"{title}\n{wrapped(text, width, '  ')}" for title, text in self.lines)
        parts += [*told, *listed(tr("Remark"), [w["text"] for w in self.warnings[:1]], width), following]
        if not full:
            return "\n\n".join(parts)
        parts += [f"{title}\n{wrapped(text, width, '  ')}" for title, text in self.folds]
        parts += listed(tr("More remarks"), [w["text"] for w in rest], width)
        read = fragile.readings_table(Case(self.result))
        if len(read) > 2 or any(row[3] != "the same" for row in read[1:]):
            parts += listed(tr("Does the answer change?"), [
                f"{name}: {gap if gap == says else f'{gap}; {span}; {says}'}" for name, gap, span, says in read], width)
        parts += listed(tr("The numbers"), [f"{k}: {v}" for k, v in ledger.numbers_table(Case(self.result))], width)
        return "\n\n".join([*parts, wrapped(f"{self.imprint} {self.fingerprint}", width)])

    def to_dict(self) -> dict[str, Any]:
        """Return everything as plain data, ready for JSON without NaN or infinity.

        Differences are B minus A and ratios B over A, where `arms` lists A first. A range end without
        limit is None, with `low_open` or `high_open` true. While the trial is sealed, everything that
        depends on the habits is None.
        """
        result, found = self.result, self.result.main
        plan = result.protocol
        return {
            "trial": plan.trial,
            "question": plan.question,
            "ask": plan.ask,
            "design": plan.design_name,
            "unit": plan.unit_kind,
            "outcome": plan.outcome,
            "state": result.state,
            "arms": [{"key": h.key, "name": h.name} for h in plan.habits],
            "matters": plan.matters,
            **(ledger.finding_dict(found) if found else ledger.sealed_dict(plan)),
            "sittings": result.progress.sittings_logged,
            "progress": ledger.plain(result.progress),
            "as_done": ledger.reading_dict(result.as_done),
            "damage_counts": ledger.reading_dict(result.damage_counts),
            "also_seen": [ledger.reading_dict(f) for f in result.also_seen],
            "settle": ledger.plain(result.settle),
            "readings": [ledger.reading_dict(f) for f in result.readings],
            "fragile": ledger.plain(result.fragile),
            "guesses": ledger.guesses_dict(result.guesses, plan),
            "uneven": [ledger.plain(u, ("p_more",)) for u in result.uneven],
            "leans_p": result.leans,
            "second_opinion": [
                {"method": m, "quantity": q, "value": ledger.plain(v)} for m, q, v in result.second_opinion],
            "looks": result.looks,
            "e_value": None if result.odds is None else result.odds.e_value,
            "odds": ledger.odds_dict(result.odds),
            "on_the_way": ledger.on_the_way_dict(result.on_the_way),
            "warnings": [dict(w) for w in self.warnings],
            "headline": self.headline,
            "lines": [{"question": title, "text": text} for title, text in self.lines],
            "invented": self.about.invented,
            "summary": self.summary,
            "protocol_sha256": result.protocol_sha256,
        }

    def to_html(self) -> str:
        """Return a whole page that stands alone: words, figures and folded numbers in one file."""
        return standing_alone(self.result.protocol.trial, fragment(self))

    def report_html(self) -> str:
        """Return the full report as a whole page: 25 items (CENT 2015), every remark, figure and number."""
        return report_page(self)

    def _repr_html_(self) -> str:
        return fragment(self)

    def __str__(self) -> str:
        return self.to_text()


def answer(result: TrialResult, about: About | None = None) -> Answer:
    """Put a result into plain words.

    Parameters
    ----------
    result : TrialResult
        What `analyse` returned; nothing is computed anew.
    about : About, optional
        The day it was read on, the player's code, and whether it is invented.
    """
    case = Case(result)
    warnings = tuple({"code": r.code, "text": remark_text(r, case)} for r in sorted_remarks(result.remarks))
    opened = result.main is not None
    return Answer(_headline.headline(case), front.lines(case), front.picture(case) if opened else "", warnings,
                  (*front.folds(case), *_beside(case)) if opened else (), result, about or About())


def _beside(case: Case) -> tuple[tuple[str, str], ...]:
    parts = (
        (tr("Read another way"), [*readings.other_readings(case), fragile.changes_sentence(case)]),
        (tr("How fragile is it?"), [" ".join(fragile.fragile_sentences(case)), " ".join(guess_sentences(case))]),
        (tr("Also seen"), readings.also_seen_sentences(case)),
    )
    return tuple((title, "\n\n".join(x for x in said if x)) for title, said in parts if any(said))
