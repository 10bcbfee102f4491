"""What is said of one trial, as plain data: what the page, the print and the report are made from."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from ..trial.result import TrialResult
from ..wording import tr
from .case import long_date

__all__ = ["About", "Said", "listed", "wrapped"]


@dataclass(frozen=True)
class About:
    """What a printed answer bears: the day it was read on, the player's code, the version; and whether it is invented.

    Attributes
    ----------
    read_on : date or None
    player : str
        The player's code, "" where there is none.
    invented : bool
        Whether the logbook is the demo's.
    version : str
        The version of reedlab that read it.
    """

    read_on: date | None = None
    player: str = ""
    invented: bool = False
    version: str = ""


@dataclass(frozen=True)
class Said:
    """An answer in plain words, in the order in which every page tells it.

    Attributes
    ----------
    headline : str
        The answer in one sentence: who won.
    lines : tuple of (question, text)
        Does it matter, how sure is it, what next. While sealed: how far, why sealed, what next.
    picture : str
        The sentence that reads the figure, its title; "" while sealed.
    warnings : tuple of {"code", "text"}
        One for each remark of the result, the gravest first. The first one stands in front.
    folds : tuple of (title, text)
        The rest: what could still be true, what limits it, other readings; paragraphs with an empty line between.
    result : TrialResult
        What it was made from.
    about : About
    """

    headline: str
    lines: tuple[tuple[str, str], ...]
    picture: str
    warnings: tuple[dict[str, str], ...]
    folds: tuple[tuple[str, str], ...]
    result: TrialResult = field(repr=False)
    about: About = field(default=About())

    @property
    def sections(self) -> tuple[tuple[str, str], ...]:
        """The lines and the folds, in order."""
        return self.lines + self.folds

    @property
    def imprint(self) -> str:
        """Who read it, when and with what: "Player P07. Read on 14 March 2026 with reedlab 0.1.0."."""
        about = self.about
        read = tr("Read on {date} with reedlab {version}") if about.read_on else tr("Read with reedlab {version}")
        read = read.format(date=long_date(about.read_on) if about.read_on else "", version=about.version).rstrip()
        who = tr("Player {player}.").format(player=about.player)
        return f"{who} {read}." if about.player else f"{read}."

    @property
    def fingerprint(self) -> str:
        """The fingerprint of the frozen plan; "" for a diary, which had none."""
        return "" if self.result.state == "diary" else tr("Fingerprint of the plan (SHA-256): {sha256}").format(
            sha256=self.result.protocol_sha256)

    @property
    def summary(self) -> str:
        """The first screen in one paragraph, the headline first."""
        from .words.limits import PERSONAL

        personal = [] if self.result.main is None else [PERSONAL]
        *told, following = (text for _, text in self.lines)
        return " ".join([self.headline, *told, *(w["text"] for w in self.warnings[:1]), *personal, following])


def wrapped(text: str, width: int, indent: str = "", first: str | None = None) -> str:
    """Wrap each paragraph; `first` stands before the first line instead of `indent`."""
    return "\n\n".join(
        textwrap.fill(part, width=max(30, width), initial_indent=indent if first is None else first,
                      subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)
        for part in text.split("\n\n"))


def listed(title: str, lines: Iterable[str], width: int) -> list[str]:
    """Return one text of a title and its lines, each with a dash; [] without lines."""
    told = [wrapped(x, width, "    ", "  - ") for x in lines]
    return ["\n".join([title, *told])] if told else []
