"""Several trials' combined answer in plain words, with one figure, as text, page and plain data."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

from ..trial.result import Finding, Together
from ..wording import tr
from . import ledger
from .page import cautions, environment, standing_alone, style
from .said import wrapped
from .words import together as words
from .words.together_remarks import warnings

__all__ = ["TogetherAnswer", "together_answer"]

_FIRST = 3  # sections on the first screen: does it matter, how sure is it, what next


@dataclass(frozen=True)
class TogetherAnswer:
    """A combined answer in plain words.

    Attributes
    ----------
    headline, summary : str
        The answer in one sentence, and in one paragraph.
    sections : tuple of (title, text)
        Does it matter; how sure; what next; then do players differ, who adds how much, limits.
    rows : tuple of dict
        One line for each trial: label, gap, range, rests_on, share.
    warnings : tuple of {"code", "text"}
        What may have bent one of the trials, by their codes.
    together : Together
        What it was made from.
    """

    headline: str
    summary: str
    sections: tuple[tuple[str, str], ...]
    rows: tuple[dict[str, str], ...]
    warnings: tuple[dict[str, str], ...]
    together: Together = field(repr=False)

    def to_text(self, width: int = 80, *, full: bool = False) -> str:
        """Return the answer for a terminal, wrapped to `width` columns: the first screen, or with `full` all of it."""
        parts = [wrapped(text, width) for text in (self.together.protocol.ask, self.headline) if text]
        said = [f"{title}\n{wrapped(text, width, '  ')}" for title, text in self.sections]
        remarks = [wrapped(w["text"], width, "  ") for w in self.warnings]
        if not full:
            *told, following = said[:_FIRST]
            return "\n\n".join([*parts, *told, *("\n".join([tr("Remark"), r]) for r in remarks[:1]), following])
        parts += said
        if remarks:
            parts.append("\n".join([tr("Remarks"), *remarks]))
        lines = []
        for r in self.rows:
            share = tr("; {share} in 100 of the answer").format(share=r["share"]) if r["share"] else ""
            lines.append(wrapped(f"{r['label']}: {r['gap']} ({r['range']}); {r['rests_on']}{share}", width, "  "))
        parts.append("\n".join([tr("The trials"), wrapped(words.legend(self.together), width, "  "), *lines]))
        return "\n\n".join(parts)

    def to_dict(self) -> dict[str, Any]:
        """Return everything as plain data, ready for JSON without NaN or infinity (None where there is none)."""
        t = self.together
        plan = t.protocol
        return {
            "question": plan.question, "ask": plan.ask, "design": plan.design, "unit": plan.unit_kind,
            "outcome": plan.outcome, "arms": [{"key": h.key, "name": h.name} for h in plan.habits],
            "matters": t.matters, "players": t.players, **ledger.finding_dict(t.main),
            "as_done": ledger.reading_dict(t.as_done), "p_needed": t.p_needed, "held": t.held, "looks": t.looks,
            "ended_early": list(t.ended_early), "instruments": list(t.instruments), "spread": ledger.plain(t.spread),
            "trials": ledger.plain(t.parts),
            "uneven": [ledger.plain(u, ("p_more",)) for u in t.uneven],
            "warnings": [dict(w) for w in self.warnings], "headline": self.headline, "summary": self.summary,
            "fingerprints": [{"label": name, "sha256": sha} for name, sha in t.fingerprints],
        }

    def to_html(self) -> str:
        """Return a whole page that stands alone in one file."""
        return standing_alone(tr("Trials put together"), self._repr_html_())

    def _repr_html_(self) -> str:
        from . import figures

        figure = figures.svg_uri(figures.together_figure(self.together, width=figures.PAGE, titled=False))
        return environment().get_template("together.html.j2").render(
            css=style(), ask=self.together.protocol.ask, headline=self.headline, sections=self.sections,
            rows=self.rows, legend=words.legend(self.together), figure=figure,
            alt=tr("Each trial's gap and range, and all together. {headline}").format(headline=self.headline),
            warnings=self.warnings, cautions=cautions({"result", *(w["code"] for w in self.warnings)}),
            numbers=_numbers(self.together.main, self.together), fingerprints=self.together.fingerprints)

    def __str__(self) -> str:
        return self.to_text()


def together_answer(together: Together, *, pupils: int | None = None) -> TogetherAnswer:
    """Put a combined answer into plain words; nothing is computed anew.

    `pupils` are all of a class, those who could not be compared too.
    """
    head = words.headline(together, pupils)
    differ = tr("Do players differ?") if together.players > 1 else tr("Do the trials differ?")
    parts = (
        (tr("Does it matter?"), words.size_sentences(together)),
        (tr("How sure is it?"), words.sure_sentences(together)), (tr("What next?"), words.next_sentences(together)),
        (differ, words.differ_sentences(together)), (tr("Who adds how much?"), words.share_sentences(together)),
        (tr("What limits this answer?"), words.limit_sentences(together)))
    sections = tuple((title, " ".join(said)) for title, said in parts if said)
    summary = " ".join([head, *words.size_sentences(together), *words.sure_sentences(together)[:1],
                        *words.differ_sentences(together)[:2 if words.no_answer_at_large(together) else 1],
                        *words.limit_sentences(together)[:2]])
    rows = tuple(words.part_row(together, p) for p in together.parts)
    return TogetherAnswer(head, summary, sections, rows, warnings(together), together)


def _numbers(found: Finding, t: Together) -> list[tuple[str, str]]:
    def shown(x: float) -> str:
        return tr("none") if math.isnan(x) else tr("no end") if math.isinf(x) else f"{x:.3g}"

    a, b = (h.name for h in t.protocol.habits)
    gap = tr("{b} over {a}: {gap}") if found.scale == "ratio" else tr("{b} minus {a}: {gap}")
    out = [(tr("Gap"), gap.format(b=b, a=a, gap=shown(found.estimate))),
           *((tr("Range at {level:g} in 100").format(level=100 * level),
              tr("{low} to {high}").format(low=shown(low), high=shown(high)))
             for level, low, high in ((found.level, found.low, found.high),
                                      (found.same_level, found.low90, found.high90))),
           (tr("p, two-sided"), (tr("{p:.2g} (all of {n:.3g} ways to shuffle)") if found.exact else
                                 tr("{p:.2g} (drawn of {n:.3g} ways to shuffle)")).format(
                                     p=found.p_value, n=found.arrangements)),
           (tr("p that a winner needs"), f"{t.p_needed:.3g}"),
           (tr("As done"), tr("{estimate} ({low} to {high})").format(
                           estimate=shown(t.as_done.estimate), low=shown(t.as_done.low), high=shown(t.as_done.high)))]
    if t.spread is not None:
        v = t.spread
        out += [(tr("Random effects, Paule-Mandel"), tr("{estimate} ({low} to {high})").format(
                                                     estimate=shown(v.estimate), low=shown(v.low), high=shown(v.high))),
                (tr("Spread between them (tau)"), tr("{tau}; DerSimonian-Laird {tau_dl}").format(
                                                      tau=shown(v.tau), tau_dl=shown(v.tau_dl))),
                ("Q", tr("{q} on {groups} degrees of freedom, p {q_p:.2g}").format(
                          q=shown(v.q), groups=v.groups - 1, q_p=v.q_p)),
                (tr("Range for one more"), tr("{low} to {high}").format(low=shown(v.new_low), high=shown(v.new_high)))]
    return out
