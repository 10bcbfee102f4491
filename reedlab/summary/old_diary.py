"""An old diary in plain words: a hint at most, why no more than that, and the fair trial that would settle it."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from typing import Any

from markupsafe import Markup

from ..trial.outlook import Advice, Option
from ..trial.result import Diary, TrialResult
from ..wording import tr
from .answer import Answer, answer
from .page import environment, fragment
from .said import listed
from .words.diary import holds_sentences, left_out_sentences, next_sentences, reeds_sentence, rests_sentence
from .words.forecast import advice_sentences

__all__ = ["DiaryAnswer", "diary_answer"]

_FAIR = tr("The fair trial that would settle it")
_READ = tr("What was read?")
_NAN = math.nan


@dataclass(frozen=True)
class DiaryAnswer:
    """What an old diary hints at, and the trial that would settle it.

    Attributes
    ----------
    hint : Answer
        Its verdict is "hint_only"; it holds no range and no chance.
    advice : tuple of str
        The sentences on the fair trial; the last two say what they rest on.
    diary : Diary
        What was read.
    plans : Advice
        What the sentences were made from.
    """

    hint: Answer
    advice: tuple[str, ...]
    diary: Diary = field(repr=False)
    plans: Advice = field(repr=False)

    def to_text(self, width: int = 80) -> str:
        """Return it for a terminal, wrapped to `width` columns."""
        return "\n\n".join([self.hint.to_text(width), *listed(_FAIR, self.advice, width)])

    def to_dict(self) -> dict[str, Any]:
        """Return everything as plain data, ready for JSON without NaN or infinity."""
        d, a = self.diary, self.plans
        return {
            "diary": {
                "question": d.protocol.question, "design": d.protocol.design, "outcome": d.protocol.outcome,
                "entries": d.entries, "reeds": len(d.protocol.reeds),
                "ways": [{**dataclasses.asdict(w), "first": w.first.isoformat(), "last": w.last.isoformat(),
                          "name": d.protocol.habit(w.key).name} for w in d.ways],
                "left_out": dict(d.left_out),
            },
            "hint": self.hint.to_dict(),
            "advice": {
                "sentences": list(self.advice), "minutes_a_day": a.minutes_a_day, "days_limit": a.days_limit,
                "reeds_at_hand": a.reeds_at_hand, "refused": a.refused, "own_numbers": a.own_numbers,
                "best": _plan(a.best), "others": [_plan(o) for o in a.others], "nearby": _plan(a.nearby),
            },
        }

    def _repr_html_(self) -> str:
        *said, basis, reeds = self.advice
        return environment().get_template("old_diary.html.j2").render(
            hint=Markup(fragment(self.hint)), title=_FAIR, said=said, rests_on=[basis, reeds])

    def __str__(self) -> str:
        return self.to_text()


def diary_answer(diary: Diary, result: TrialResult, plans: Advice, *, imagined: bool, ratings: int, reeds: int,
                 told: bool) -> DiaryAnswer:
    """Put an old diary and the advice that goes with it into words.

    Parameters
    ----------
    diary : Diary
    result : TrialResult
        The analysis of the diary's plan. Its ranges and chances are dropped: nothing was shuffled.
    plans : Advice
        For the same question.
    imagined : bool
        The reeds of the advice were made up.
    ratings, reeds, told
        What the forecast's spreads rest on (`words.diary.rests_sentence`).
    """
    hint = answer(_only_a_hint(result))
    holds = [*holds_sentences(diary), *left_out_sentences(diary)]
    *lines, (following, _) = hint.lines
    hint = dataclasses.replace(hint, lines=(*lines, (following, " ".join(next_sentences()))),
                               folds=((_READ, " ".join(holds)), *hint.folds))
    *said, basis = advice_sentences(plans)
    return DiaryAnswer(
        hint,
        (reeds_sentence(imagined=imagined, instrument=diary.protocol.instrument), *said, basis,
         rests_sentence(diary, ratings=ratings, reeds=reeds, told=told)), diary, plans)


def _only_a_hint(result: TrialResult) -> TrialResult:
    """Drop what only shuffling could give, and a ratio where one way has no end at all."""
    f = result.main
    assert f is not None
    none: dict[str, Any] = dict.fromkeys(("low", "high", "low90", "high90", "p_value", "least_p"), _NAN)
    one_sided = f.scale == "ratio" and (math.isinf(f.estimate) or f.estimate == 0)
    bare = dataclasses.replace(f, estimate=_NAN if one_sided else f.estimate, **none)
    return dataclasses.replace(result, main=bare, as_done=None, damage_counts=None, also_seen=(), settle=None,
                               second_opinion=(), readings=(), fragile=None)


def _plan(option: Option | None) -> dict[str, Any] | None:
    if option is None:
        return None
    p, seen = option.outlook.protocol, option.outlook
    return {"kind": option.kind, "question": p.question, "design": p.design, "outcome": p.outcome, "days": option.days,
            "reeds": option.reeds, "more_reeds": option.more_reeds, "matters": p.matters, "finds": seen.right,
            "same": seen.same, "useful": seen.useful}
