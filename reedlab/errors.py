"""One tree of errors and warnings.

Every message is for a player: what is wrong, where (row, field), and how to put it right.
`ReedlabError` means "the input is at fault" and ends the command line with exit code 2;
anything else that escapes is our fault and ends it with 1.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from .wording import tr, trn

__all__ = [
    "EntryRefused",
    "ExchangeError",
    "Fault",
    "InputError",
    "LogbookError",
    "PlanRefused",
    "ProtocolError",
    "ReedlabError",
    "ReedlabWarning",
    "SealedError",
]


_TOLD = 200  # faults named in one message


class ReedlabError(Exception):
    """Something the player gave us cannot be used; the message says what, where and how to fix it."""


class InputError(ReedlabError, ValueError):
    """A value handed to a function is missing, out of range or of the wrong shape."""


class EntryRefused(InputError):
    """Rows cannot go into the logbook; lists every fault at once. Nothing was saved.

    Attributes
    ----------
    faults : tuple of Fault
        `file` is the table's name, `line` the row's place among those handed in, counted from 1
        (None for a row that was in the logbook before).
    """

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        several = len({f.line for f in self.faults}) > 1
        told = tr("{file}, row {line}: {plain}") if several else "{plain}"
        lines = ["  " + (told if f.line is not None else "{plain}").format(file=f.file, line=f.line, plain=f.plain)
                 for f in self.faults]
        super().__init__("\n".join([tr("Not saved. To put right:"), *lines]))


class LogbookError(ReedlabError):
    """The logbook file cannot be used (not a logbook, damaged, or made by a newer reedlab)."""


class ProtocolError(ReedlabError):
    """A trial's frozen plan is incomplete or contradicts itself."""


class SealedError(ReedlabError):
    """The answer of a running trial was asked for without opening it on purpose."""


class PlanRefused(ReedlabError):
    """The trial as wished cannot give a fair answer.

    Attributes
    ----------
    reason : str
        Why not, in one or two sentences.
    instead : str
        The nearest plan that can work.
    code : str
        A short fixed name of the reason, for tests and forms.
    """

    def __init__(self, reason: str, instead: str, code: str) -> None:
        super().__init__(f"{reason} {instead}")
        self.reason = reason
        self.instead = instead
        self.code = code


@dataclass(frozen=True)
class Fault:
    """One thing wrong in one place of a file.

    `line` counts as a spreadsheet does: the header is line 1. None where the fault is of the whole file.
    `cell` is the cell's name in a spreadsheet, such as D7.
    """

    file: str
    line: int | None
    column: str | None
    found: str
    wanted: str
    cell: str | None = None

    @property
    def plain(self) -> str:
        """The fault without its place."""
        column = f"`{self.column}`: " if self.column is not None else ""
        return tr("{column}found {found}; wanted {wanted}").format(column=column, found=self.found, wanted=self.wanted)

    def __str__(self) -> str:
        place = [self.file]
        if self.cell is not None:
            place.append(tr("cell {cell}").format(cell=self.cell))
        elif self.line is not None:
            place.append(tr("line {line}").format(line=self.line))
        if self.column is not None:
            place.append(tr("column `{column}`").format(column=self.column))
        return tr("{place}: found {found}; wanted {wanted}").format(
            place=", ".join(place), found=self.found, wanted=self.wanted)


class ExchangeError(ReedlabError):
    """A folder or spreadsheet could not be read in; lists every fault at once. Nothing was imported."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        self.faults = tuple(faults)
        n = len(self.faults)
        head = trn("{n} thing to put right; nothing was imported.", "{n} things to put right; nothing was imported.",
                   n).format(n=n)
        more = ["  " + tr("... and {n} more. Put these right first.").format(n=n - _TOLD)] if n > _TOLD else []
        super().__init__("\n".join([head, *(f"  {f}" for f in self.faults[:_TOLD]), *more]))

    @classmethod
    def of(cls, file: str, found: str, wanted: str) -> ExchangeError:
        """Return the error of a file that is wrong as a whole."""
        return cls([Fault(file, None, None, found, wanted)])


class ReedlabWarning(UserWarning):
    """A Python warning raised by reedlab (never for the player's trial: those are `Remark`s in a result)."""
