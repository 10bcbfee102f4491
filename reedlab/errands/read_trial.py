"""From a logbook file to an answer: the short road that the command line and the notebooks share."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from importlib.metadata import version
from typing import TYPE_CHECKING

from ..analysis.remarks.catalogue import REMARKS
from ..analysis.trial import analyse
from ..errors import InputError
from ..summary import answer
from ..summary.case import Case
from ..summary.said import About
from ..summary.words.remarks import remark_text, sorted_remarks
from ..summary.words.running import progress_sentences
from ..trial.result import Together, TrialResult
from ..wording import tr

if TYPE_CHECKING:
    from ..logbook import Logbook
    from ..summary import Answer
    from .handed import Handed

__all__ = ["pick_trial", "read_trial", "trial_quality", "wants_forecast"]


def pick_trial(logbook: Logbook | Handed, trial: str | None = None) -> str:
    """Return the name of the trial meant: the one named, or the one started last.

    Raises InputError, naming the trials there are, if there is none of that name or none at all.
    """
    names = logbook.trial_names()
    if not names:
        raise InputError(tr("There is no trial in this logbook yet. Plan one on the plan page first."))
    if trial is None:
        return names[-1]
    if trial not in names:
        raise InputError(tr("There is no trial called {trial!r} here. There is: {names}.").format(
                             trial=trial, names=", ".join(names)))
    return trial


def read_trial(
    logbook: Logbook | Handed, trial: str | None = None, *, today: date, open_early_why: str | None = None,
    forecast: bool = False, opinions: bool = True, player: str = "",
) -> Answer:
    """Analyse one trial of a logbook and put the answer in words.

    Parameters
    ----------
    logbook : Logbook or Handed
        An open logbook, written to only when `open_early_why` is given; or a copy of a trial.
    trial : str, optional
        Its name; by default the trial started last.
    today : date
        The day to read it on. Before the planned end the answer is sealed.
    open_early_why : str, optional
        Opens a running trial early and says why. The look is written into the logbook and counts.
    forecast : bool
        After a trial that ended and can't tell, play its plan again and larger ones, with the player's own numbers
        (seconds), and say what a next trial would show.
    opinions : bool
        False leaves out the second opinions of familiar methods, which load large libraries.
    player : str
        The player's code, to stand in the small print.

    Raises
    ------
    InputError
        If there is no such trial, or `open_early_why` is blank.
    """
    name = pick_trial(logbook, trial)
    protocol = logbook.protocol(name)
    about = About(today, player or logbook.player, logbook.invented, version("reedlab"))
    if open_early_why is None:
        result = analyse(protocol, logbook.frames_of(name), today=today, opinions=opinions)
        result = replace(result, together=_with_earlier(logbook, result, today=today))
        if forecast and wants_forecast(result):
            from ..plan.next_plan import next_plan

            result = replace(result, settle=next_plan(protocol, logbook.frames()))
        return answer(result, about)
    if not open_early_why.strip():
        raise InputError(tr("Say in a few words why the trial is opened early: the reason stays in the logbook."))
    if analyse(protocol, logbook.frames_of(name), today=today, side_readings=False).state == "running":
        logbook.record_look(name, today, open_early_why.strip())
    return answer(analyse(protocol, logbook.frames_of(name), today=today, open_early=True, opinions=opinions), about)


def _with_earlier(logbook: Logbook | Handed, result: TrialResult, *, today: date) -> Together | None:
    """Return a repeat put together with all earlier trials of its question; None where they do not fit together."""
    if result.state not in ("finished", "ended_early") or not any(r.code == "repeated" for r in result.remarks):
        return None
    from ..analysis.together.combine import combine
    from ..analysis.together.parts import read_part
    from ..analysis.verdicts.repeats import earlier_names

    names = [*earlier_names(result.protocol, logbook.frames()), result.protocol.trial]
    try:
        return combine([read_part(n, "", logbook.protocol(n), logbook.frames_of(n), today=today) for n in names],
                       matters=result.protocol.matters)
    except InputError:  # one still runs, or was rated by another measure
        return None


def wants_forecast(result: TrialResult) -> bool:
    """Say whether a next trial's forecast belongs to an answer: it has ended and can't tell."""
    return (result.state in ("finished", "ended_early") and result.main is not None
            and result.main.verdict == "cannot_tell")


def trial_quality(logbook: Logbook, trial: str | None = None, *, today: date) -> list[str]:
    """Say how complete a trial is and whether its plan was followed; nothing here tells the two habits apart.

    Returns the sentences: progress first, then the remarks that even a sealed trial may show.
    """
    name = pick_trial(logbook, trial)
    result = analyse(logbook.protocol(name), logbook.frames_of(name), today=today, side_readings=False,
                     only_remarks=True)
    case = Case(result)
    remarks = [remark_text(r, case) for r in sorted_remarks(result.remarks) if REMARKS[r.code].sealed_ok]
    return [*progress_sentences(case), *remarks]
