"""The answer to one trial: its words, its numbers, and how it shows itself."""

from __future__ import annotations

import math
import textwrap
from dataclasses import dataclass
from typing import Any

from ..trial.result import TrialResult
from . import ledger
from .case import Case
from .page import fragment, whole_page
from .report import report_page
from .said import Said
from .words import fragile, limits, next_steps, readings, running, size, surety
from .words import headline as _headline
from .words.guesses import guess_sentences
from .words.remarks import ORDER, remark_text, sorted_remarks

__all__ = ["Answer", "answer"]

# A remark this grave is named in the summary itself, not only in the list below it.
_GRAVE = ORDER[: ORDER.index("damage_uneven")]
# Said by the summary in its own words already.
_SAID = ("not_randomised", "could_never_tell", "early_look", "too_few_blocks")


@dataclass(frozen=True)
class Answer(Said):
    """What is said of a trial, and how it shows itself: as text, as plain data, as a page."""

    def to_text(self, width: int = 80) -> str:
        """Return the answer for a terminal, wrapped to `width` columns."""
        parts = [_wrap(f"{self.result.protocol.trial}: {self.result.protocol.ask}", width),
                 _wrap(self.headline, width)]
        for title, text in self.sections:
            parts.append(f"{title}\n{_wrap(text, width, '  ')}")
        if self.warnings:
            lines = [_wrap(w["text"], width, "    ", "  - ") for w in self.warnings]
            parts.append("\n".join(["Remarks", *lines]))
        read = fragile.readings_table(Case(self.result))
        if len(read) > 2 or any(row[3] != "the same" for row in read[1:]):
            lines = [_wrap(f"{name}: {gap if gap == says else f'{gap}; {span}; {says}'}", width, "      ", "  ")
                     for name, gap, span, says in read]
            parts.append("\n".join(["Does the answer change?", *lines]))
        rows = ledger.numbers_table(Case(self.result))
        if rows:
            lines = [_wrap(f"{name}: {value}", width, "      ", "  ") for name, value in rows]
            parts.append("\n".join(["The numbers", *lines]))
        parts.append(f"Fingerprint of the plan\n  {self.result.protocol_sha256}")
        return "\n\n".join(parts)

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
            "design": plan.design,
            "unit": plan.unit_kind,
            "outcome": plan.outcome,
            "state": result.state,
            "arms": [{"key": h.key, "name": h.name} for h in plan.habits],
            "matters": plan.matters,
            **(ledger.finding_dict(found) if found else ledger.sealed_dict(plan)),
            "sittings": result.progress.sittings_logged,
            "progress": ledger.progress_dict(result.progress),
            "as_done": ledger.reading_dict(result.as_done),
            "damage_counts": ledger.reading_dict(result.damage_counts),
            "also_seen": [ledger.reading_dict(f) for f in result.also_seen],
            "settle": ledger.settle_dict(result.settle),
            "readings": [ledger.reading_dict(f) for f in result.readings],
            "fragile": ledger.fragile_dict(result.fragile),
            "guesses": ledger.guesses_dict(result.guesses, plan),
            "uneven": [ledger.uneven_dict(u) for u in result.uneven],
            "leans_p": result.leans,
            "second_opinion": [
                {"method": m, "quantity": q, "value": v if math.isfinite(v) else None}
                for m, q, v in result.second_opinion
            ],
            "looks": result.looks,
            "warnings": [dict(w) for w in self.warnings],
            "headline": self.headline,
            "summary": self.summary,
            "protocol_sha256": result.protocol_sha256,
        }

    def to_html(self) -> str:
        """Return a whole page that stands alone: words, figures and folded numbers in one file."""
        return whole_page(self)

    def report_html(self) -> str:
        """Return the full report as a whole page: 25 items (CENT 2015), every remark, figure and number."""
        return report_page(self)

    def _repr_html_(self) -> str:
        return fragment(self)

    def __str__(self) -> str:
        return self.to_text()


def answer(result: TrialResult) -> Answer:
    """Put a result into plain words.

    Parameters
    ----------
    result : TrialResult
        What `analyse` returned; nothing is computed anew.
    """
    case = Case(result)
    warnings = tuple({"code": r.code, "text": remark_text(r, case)} for r in sorted_remarks(result.remarks))
    head = _headline.headline(case)
    if result.main is None:
        sections = _sealed_sections(case)
        return Answer(head, _paragraph([head, *running.progress_sentences(case)]), sections, warnings, result)
    return Answer(head, _paragraph(_summary(case, head, warnings)), _sections(case), warnings, result)


def _summary(case: Case, head: str, warnings: tuple[dict[str, str], ...]) -> list[str]:
    assert case.main is not None
    grave = next((w["text"] for w in warnings if w["code"] in _GRAVE and w["code"] not in _SAID), None)
    told = surety.surety_sentences(case)
    return [
        head,
        *size.size_sentences(case)[:2],
        *(told[:2] if case.is_diary or not math.isnan(case.main.estimate) else []),
        limits.PERSONAL,
        *([grave] if grave else []),
        *next_steps.next_sentences(case),
    ]


def _sections(case: Case) -> tuple[tuple[str, str], ...]:
    how_sure = [*surety.surety_sentences(case), *surety.still_true_sentences(case)]
    parts = (
        ("How big is it?", [*size.size_sentences(case), size.usual_hours(case)]),
        ("Why is it only a hint?" if case.is_diary else "How sure is it, and what could still be true?", how_sure),
        ("What limits this answer?", limits.limit_sentences(case)),
        ("What next?", next_steps.next_sentences(case)),
    )
    beside = (
        ("Read another way", [s for s in (*readings.other_readings(case), fragile.changes_sentence(case)) if s]),
        ("How fragile is it?", [" ".join(s) for s in (fragile.fragile_sentences(case), guess_sentences(case)) if s]),
        ("Also seen", readings.also_seen_sentences(case)),
    )
    return (*((title, _paragraph(said)) for title, said in parts if any(said)),
            *((title, "\n\n".join(said)) for title, said in beside if said))


def _sealed_sections(case: Case) -> tuple[tuple[str, str], ...]:
    parts = (
        ("How far along?", running.progress_sentences(case)),
        ("Why is it sealed?", running.why_sealed(case)),
        ("What next?", running.running_next(case)),
    )
    return tuple((title, _paragraph(said)) for title, said in parts)


def _paragraph(said: list[str]) -> str:
    return " ".join(s for s in said if s)


def _wrap(text: str, width: int, indent: str = "", first: str | None = None) -> str:
    """Wrap each paragraph; `first` stands before the first line instead of `indent`."""
    return "\n\n".join(
        textwrap.fill(part, width=max(30, width), initial_indent=indent if first is None else first,
                      subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)
        for part in text.split("\n\n"))
