"""A question of the player's own, and the ways that reedlab will not set up."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from ..errors import InputError, PlanRefused
from ..trial.outcomes import OUTCOMES
from ..trial.protocol import Habit
from ..wording import tr
from ._catalogue import QUESTIONS, WEARS_OFF
from ._question import Question

__all__ = ["check_habits", "own_question"]

LONGEST_NAME: Final = 120
LONGEST_STEPS: Final = 500
LONGEST_ASK: Final = 300

_NO: Final = r"(?:no|not|never|don'?t|do not|without|skip|skipping|stop|leave out|instead of)"
_CLEAN: Final = r"(?:clean\w*|wip(?:e|es|ed|ing)\w*|rins\w*|wash\w*)"
_BOX: Final = r"(?:case|box|bag|tube|tin|pouch|holder|cap|cupboard|drawer|fridge)\w*"
_STORE: Final = r"(?:stor(?:e|ed|ing|age)|keep\w*|kept|put\w*|leav\w*|left|seal\w*|clos\w*|shut\w*)"

_WET: Final = r"(?:wet|damp|moist|soaked)"
_PERSON: Final = r"(?:someone|somebody|anyone|friend|pupil|partner|player)\w*'?s?"

#: Always refused: the words say it plainly.
_PLAIN: Final = (
    ("uncleaned", re.compile(
        rf"\b{_NO}\b(?:\s+\w+){{0,2}}?\s+{_CLEAN}|\bun(?:clean|wip|rins|wash)\w*|\bdirty\b")),
    (tr("stored wet"), re.compile(
            rf"\b{_STORE}\b(?:\s+\w+){{0,4}}?\s+{_WET}\b|\b{_WET}\s+(?:storage|{_BOX})"
            rf"|\b{_WET}\b(?:\s+\w+){{0,3}}?\s+(?:in|into)\b(?:\s+\w+){{0,3}}?\s+{_BOX}")),
    ("shared", re.compile(
        rf"\bshar(?:e|es|ed|ing)\b|\b{_PERSON}(?:\s+else'?s)?\s+reeds?\b|\b(?:borrow|lend|swap)\w*\b")),
    ("mouldy", re.compile(r"\bmou?ld\w*")),
    (tr("mixed cleaners"), re.compile(r"\bmix\w*\b.*\b(?:bleach|vinegar|peroxide|alcohol|ammonia|cleaner)s?\b")),
)
#: Refused until the player confirms that both ways are clean, dry and the player's own.
_DOUBTFUL: Final = (
    (tr("a strong agent"), re.compile(r"\b(?:bleach|peroxide|alcohol|ammonia|disinfect\w*|mouthwash|vinegar|acid)\b")),
    ("airtight", re.compile(r"\b(?:airtight|sealed|zip|plastic bag|cling film)\b")),
    ("heat", re.compile(r"\b(?:oven|microwave|boil\w*|flame|iron)\b")),
)


def check_habits(habits: Iterable[Habit], *, confirmed: bool = False) -> None:
    """Refuse ways that can hurt the player, as far as their words show.

    This is a small word check, not an understanding of the text: it reads key, name and steps of each
    habit for not cleaning, storing wet, sharing, mould and mixed cleaners (always refused), and for
    strong agents, airtight storage and heat (refused until `confirmed`). It can miss and can be wrong.

    Parameters
    ----------
    habits : iterable of Habit
    confirmed : bool
        The player says that in both ways reeds are wiped or rinsed, dried, and played by nobody else.

    Raises
    ------
    InputError
        A name or its steps are longer than fits a sheet.
    PlanRefused
        With code ``forbidden_habit`` or, where a confirmation would do, ``confirm_habit``.
    """
    for habit in habits:
        for what, said, most in (("name", habit.name, LONGEST_NAME), ("steps", habit.steps, LONGEST_STEPS)):
            if len(said) > most:
                raise InputError(tr("The {what} of the way `{key}` has {n} letters; wanted at most {most}.").format(
                                     what=what, key=habit.key, n=len(said), most=most))
        for text in (habit.name, habit.steps, habit.key.replace("_", " ").replace("-", " ")):
            words = " ".join(re.sub(r"[^\w'.;,]", " ", text.lower()).split())
            for clause in re.split(r"[.;,]", words):
                for what, pattern in _PLAIN:
                    if pattern.search(clause):
                        raise PlanRefused(
                            tr("The way `{name}` reads as {what}: that can make you ill, so it is never one side of a "
                               "trial.").format(name=habit.name, what=what),
                            tr("Compare two clean ways instead, such as wiping only with rinsing and wiping."),
                            "forbidden_habit")
                for what, pattern in _DOUBTFUL:
                    if not confirmed and pattern.search(clause):
                        raise PlanRefused(
                            tr("The way `{name}` speaks of something that may not be safe ({what}).").format(
                                name=habit.name, what=what),
                            tr("Ask someone who knows. If reeds stay clean, are rinsed well, dry in the air and nobody "
                               "else plays them, confirm it and plan again."),
                            "confirm_habit")


def own_question(
    ask: str,
    one: Habit,
    two: Habit,
    *,
    lasts: bool,
    sets_hours: bool = False,
    from_new: bool = False,
    wears_off: int | None = None,
    confirmed: bool = False,
) -> Question:
    """Build a question of the player's own.

    Parameters
    ----------
    ask : str
        The question in the player's words.
    one, two : Habit
        The two ways; keys of at most 24 characters, without spaces, commas or semicolons.
    lasts : bool
        True if the effect may still be there the next day. Then only reed by reed is allowed.
    sets_hours : bool
        True if the ways differ in how long or how often a reed is played.
    from_new : bool
        True if reeds must enter the trial unplayed.
    wears_off : int, optional
        Of an effect that lasts: the days after which it is gone again, if it ever is. Then every reed may also have
        first one way, then the other.
    confirmed : bool
        See `check_habits`.

    Returns
    -------
    Question
        With key ``own``.

    Raises
    ------
    InputError
        If the words are missing or the two ways share a key or a name.
    PlanRefused
        If a way is one that reedlab does not set up, or the hours are set while the effect is said to be
        gone the next day.
    """
    base = next(q for q in QUESTIONS if q.key == "own")
    faults = []
    if not ask.strip():
        faults.append(tr("`ask` is empty: write the question in a sentence"))
    if len(ask) > LONGEST_ASK:
        faults.append(tr("`ask` has {n} letters, wanted at most {longest_ask}").format(
                          n=len(ask), longest_ask=LONGEST_ASK))
    for habit in (one, two):
        if not re.fullmatch(r"[^\s,;]{1,24}", habit.key):
            faults.append(tr("the short name {key!r} must be 1 to 24 characters without space, comma or "
                             "semicolon").format(key=habit.key))
        if not habit.name.strip():
            faults.append(tr("the way `{key}` needs a name").format(key=habit.key))
    if one.key == two.key or one.name.strip().lower() == two.name.strip().lower():
        faults.append(tr("the two ways are the same: give two different ones"))
    if faults:
        raise InputError(tr("Please put this right: {faults}.").format(faults="; ".join(faults)))
    check_habits((one, two), confirmed=confirmed)
    if not lasts and (sets_hours or from_new):
        raise PlanRefused(
            tr("Playing a reed longer, more often or from new changes it for good."),
            tr("Say that the effect lasts; then each reed keeps to one way."), "lasting_day_by_day")
    if wears_off is not None and (not lasts or sets_hours or from_new):
        raise PlanRefused(
            tr("An effect that is gone after some days is one that lasts for days. Playing a reed longer, more often "
               "or from new changes it for good."),
            tr("Say that the effect lasts, and leave the days empty where the ways set how a reed is played."),
            "wears_off")
    first, second = sorted((one, two), key=lambda h: h.key)
    base = replace(base, ask=ask.strip(), habits=(first, second))
    if lasts:
        outcomes = base.outcomes if not sets_hours else tuple(o for o in base.outcomes if OUTCOMES[o].hours_matter)
        if wears_off is not None:
            return replace(base, outcomes=WEARS_OFF, wears_off=wears_off,
                           why=tr("You say that the effect lasts for days and is gone then, so each reed keeps to one "
                                  "way: all the time, or for half of it."))
        return replace(base, outcomes=outcomes, same_days=not sets_hours, from_new=from_new,
                       why=tr("You say that the effect lasts, so each reed keeps to one way."))
    return replace(
        base, lasts=False, designs=("day_by_day", "reed_by_reed"),
        outcomes=("day_rating", *base.outcomes), adjustments=(*base.adjustments, "age_hours"),
        why=tr("You say that the effect is gone by the next day, so one reed can serve both ways."))
