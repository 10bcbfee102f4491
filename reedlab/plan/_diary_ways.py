"""Which question an old diary speaks of, and which two ways its entries name."""

from __future__ import annotations

from dataclasses import replace

import pandas as pd

from ..errors import InputError
from ..questions import CATALOGUE, Question, check_habits, own_question
from ..trial.protocol import Habit
from ..wording import tr, trn
from .refuse import unknown_question

__all__ = ["diary_question", "question_of"]


def question_of(counts: pd.Series) -> str:
    """Return the key of the question whose two ways the diary names: "own" where it is none of the catalogue's.

    Parameters
    ----------
    counts : Series
        Entries by the way they name.

    Raises
    ------
    InputError
        The ways of several questions are there.
    """
    named = {str(k).casefold() for k in counts.index}
    found = [q.key for q in CATALOGUE.values() if {h.key.casefold() for h in q.habits} <= named]
    if len(found) > 1:
        raise InputError(tr("Your diary holds the ways of more than one question ({told}). Say which you "
                            "mean: {found}.").format(told=_told(counts), found=" or ".join(found)))
    return found[0] if found else "own"


def diary_question(key: str, counts: pd.Series, *, lasts: bool = True) -> Question:
    """Return the question with its ways spelt as the diary spells them.

    Parameters
    ----------
    key : str
        Of the catalogue. With "own" the ways are the two that the diary names.
    counts : Series
        Entries by the way they name, at least one.
    lasts : bool
        For a question of the player's own: its effect may still be there the next day.

    Raises
    ------
    InputError
        The diary names one way only, more than two, or not those of the question.
    PlanRefused
        There is no such question, or a way can make ill.
    """
    if key not in CATALOGUE:
        raise unknown_question(key)
    if len(counts) == 1:
        only = counts.index[0]
        raise InputError(tr("All {iloc} entries of your diary name one way, '{only}'. To compare, some must name "
                            "another way. Write what you did in the column `habit`.").format(
                             iloc=counts.iloc[0], only=only))
    base = CATALOGUE[key]
    if key != "own":
        return _spelt(base, counts)
    if len(counts) > 2:
        raise InputError(tr("Your diary names {n} ways ({told}); two can be compared. Write each of the two with the "
                            "same letters all through, and leave `habit` empty elsewhere.").format(
                             n=len(counts), told=_told(counts)))
    one, two = (Habit(str(k), str(k).replace("_", " ").replace("-", " ").strip() or str(k))
                for k in sorted(counts.index))
    return own_question(tr("Which is better for me, {name} or {name2}?").format(
                            name=one.name, name2=two.name), one, two, lasts=lasts)


def _spelt(base: Question, counts: pd.Series) -> Question:
    ways = []
    for habit in base.habits:
        same = [str(k) for k in counts.index if str(k).casefold() == habit.key.casefold()]
        if len(same) > 1:
            raise InputError(tr("Your diary spells one way in more than one manner ({same}). Write it with the same "
                                "letters all through.").format(same=", ".join(same)))
        if not same:
            one, two = (h.key for h in base.habits)
            raise InputError(
                tr("Your diary names {told}. The ways of `{key}` are '{one}' and '{two}'. Write these words in the "
                   "column `habit`, or take `own`, a question of your own.").format(
                    told=_told(counts), key=base.key, one=one, two=two))
        ways.append(replace(habit, key=same[0]))
    question = base.with_habits(ways[0], ways[1])
    check_habits(question.habits)
    return question


def _told(counts: pd.Series) -> str:
    return ", ".join(trn("'{key}' {n} time", "'{key}' {n} times", n).format(key=k, n=n) for k, n in counts.items())
