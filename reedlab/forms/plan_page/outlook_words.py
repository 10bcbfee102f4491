"""What the plan page shows of a forecast and of advice: plain functions."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from html import escape
from typing import TYPE_CHECKING, Any

import pandas as pd

from ...rows.tables import Frames
from ...trial.outlook import Advice, Outlook

if TYPE_CHECKING:
    from ...plan import Draft
    from ...questions import Question
    from ...worlds import World

__all__ = ["advice_html", "advise_player", "outlook_html", "own_world", "play_through", "repeat_note",
           "without_first_guess"]

_FIRST_GUESS = ("(a first guess)", "more likely than not end with")


def own_world(frames: Frames) -> World:
    """Return the player and reeds to forecast with: the player's own numbers as far as the logbook goes."""
    from ...plan.own_world import world_for

    return world_for(frames)[0]


def play_through(draft: Draft, world: World, minutes_a_day: float, seed: int, step: Callable[[int], None],
                 level: float) -> Outlook:
    """Return the forecast of a draft judged at a level; `step` is told how many simulated trials were just played."""
    from ...plan.look_ahead import outlook

    return outlook(dataclasses.replace(draft.protocol, level=level), shown=draft.shown,
                   world=world.but(minutes_a_day=minutes_a_day), progress=step)


def repeat_note(draft: Draft, frames: Frames) -> str:
    """Return a paragraph on the earlier trials of this question; nothing where there are none."""
    from ...analysis.verdicts.repeats import earlier_trials, repeat_level
    from ...summary.words.repeats import repeat_sentences

    earlier = earlier_trials(draft.protocol, frames)
    said = repeat_sentences(earlier + 1, 1 - repeat_level(draft.protocol, frames)) if earlier else []
    return f"<p>{escape(' '.join(said))}</p>" if said else ""


def advise_player(question: Question, reeds: pd.DataFrame, wishes: dict[str, Any], days_limit: int, world: World,
                  seed: int, instrument: str, asked: Outlook | None, step: Callable[[int], None],
                  **more: Any) -> Advice:
    """Return the advice that goes with the wishes of the plan page; `asked` is the forecast of its plan."""
    from ...plan.advice import advise

    kept = {k: wishes[k] for k in ("design", "outcome", "matters", "minutes_a_day", "start", "reeds_a_day",
                                   "confirmed") if k in wishes}
    return advise(question, reeds, days_limit=days_limit, seed=seed, instrument=instrument, world=world,
                  asked=asked, step=step, **kept, **more)


def outlook_html(outlook: Outlook) -> str:
    """Return the forecast figure under its sentence, wide or for a phone, with the sentences below."""
    from ...summary.figures import NARROW, WIDE, forecast_figure, svg_uri
    from ...summary.words.forecast import forecast_sentences

    said = forecast_sentences(outlook)
    wide, narrow = (svg_uri(forecast_figure(outlook, width=w, titled=False)) for w in (WIDE, NARROW))
    picture = (f'<picture><source media="(max-width: 600px)" srcset="{narrow}">'
               f'<img src="{wide}" alt="{escape(" ".join(said))}" style="max-width: 100%; height: auto">'
               "</picture>")
    trials = outlook.odds[0].trials
    small = (f"Played through {trials} times on paper at each true difference. The thin bars show how far chance "
             "in that play can shift a point.")
    return (f"<h2>What this plan can show</h2><p><b>{escape(said[0])}</b> {escape(' '.join(said[1:]))}</p>"
            f'{picture}<p class="reedlab-quiet">{small}</p>')


def advice_html(advice: Advice) -> str:
    """Return the advice as a list of sentences, without those that stand with the forecast above it."""
    from ...summary.words.forecast import advice_sentences, forecast_sentences

    *said, basis = advice_sentences(advice)
    if advice.asked is not None:
        above = set(forecast_sentences(advice.asked.outlook))
        said = [s for s in said if s not in above]
    lines = "".join(f"<li>{escape(s)}</li>" for s in said)
    return f'<h2>Advice</h2><ul>{lines}</ul><p class="reedlab-quiet">{escape(basis)}</p>'


def without_first_guess(remarks: tuple[str, ...]) -> tuple[str, ...]:
    """Return a draft's remarks without the planner's first guess, where the forecast says it better."""
    return tuple(r for r in remarks if not any(words in r for words in _FIRST_GUESS))
