"""What is said of one trial, as plain data: what the page and the report are made from."""

from __future__ import annotations

from dataclasses import dataclass, field

from ..trial.result import TrialResult

__all__ = ["Said"]


@dataclass(frozen=True)
class Said:
    """An answer in plain words.

    Attributes
    ----------
    headline : str
        The answer in one sentence.
    summary : str
        The answer in one paragraph, the headline first.
    sections : tuple of (title, text)
        How big; how sure and what could still be true; what limits it; what next; other readings, one
        paragraph each with an empty line between.
    warnings : tuple of {"code", "text"}
        One for each remark of the result, the gravest first.
    result : TrialResult
        What it was made from.
    """

    headline: str
    summary: str
    sections: tuple[tuple[str, str], ...]
    warnings: tuple[dict[str, str], ...]
    result: TrialResult = field(repr=False)
