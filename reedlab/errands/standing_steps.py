"""The steps of a standing trial: draw it up from a logbook, say when it may be settled, deal the next box."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from ..analysis.units.first_plays import played_beyond_first
from ..errors import InputError
from ..plan.standing import FEWEST, StandingDraft, draw_up_standing, reeds_to_deal
from ..rows.tables import Frames
from ..schedule import minutes_a_day
from ..trial.calendar import calendar_of, going
from ..trial.protocol import Protocol
from ..wording import tr

if TYPE_CHECKING:
    from ..logbook import Logbook
    from ..plan.standing_outlook import StandingOutlook
    from ..questions import Question

__all__ = ["Dealt", "boxes_at_hand", "deal_next", "draft_standing", "outlook_for", "standing_trials"]


@dataclass(frozen=True)
class Dealt:
    """A box that was dealt: the plan with it, which box of the trial it is, the reeds of each way in the order of the
    plan's ways, and the reeds of the box that stay out.
    """

    plan: Protocol
    number: int
    reeds: tuple[tuple[str, ...], tuple[str, ...]]
    left_out: tuple[str, ...]


def standing_trials(protocols: Mapping[str, Protocol], frames: Frames, on: date) -> list[str]:
    """Return the names of the standing trials that are not over on a date."""
    return [n for n, p in protocols.items() if p.standing and not calendar_of(p, frames).over(on)]


def boxes_at_hand(frames: Frames, on: date) -> dict[str, int]:
    """Return the boxes with enough reeds to deal, and how many: new, in service, in no running trial, not set aside."""
    gone = _gone(frames, on)
    free = frames.reeds[~frames.reeds["set_aside"] & ~frames.reeds["reed"].isin(gone)]
    counts = free.groupby("box").size()
    return {str(b): int(n) for b, n in counts.items() if n >= FEWEST}


def _gone(frames: Frames, on: date) -> set[str]:
    busy = {r for p in going(frames, on).values() for r in p.reeds}
    return {*frames.retirements["reed"], *played_beyond_first(frames), *busy}


def draft_standing(frames: Frames, question: str | Question, *, start: date, seed: int, deal: Iterable[str] = (),
                   **more: Any) -> StandingDraft:
    """Draw up a standing trial for a logbook; `more` as in `plan.draw_up_standing`.

    Raises InputError where the logbook has reeds for no instrument or for several, PlanRefused as the plan does.
    """
    deal = list(deal)
    kinds = sorted(set(frames.boxes.loc[frames.boxes["box"].isin(deal), "instrument"] if deal else
                       frames.boxes["instrument"]))
    if len(kinds) != 1:
        raise InputError(tr("Your logbook needs a box of reeds first.") if not kinds else
                         tr("These boxes are for {kinds}. One trial is for one instrument.").format(
                             kinds=", ".join(kinds)))
    return draw_up_standing(question, frames.reeds, start=start, seed=seed, instrument=kinds[0], deal=deal,
                            left_out=sorted(_gone(frames, start)), boxes=frames.boxes, **more)


def outlook_for(frames: Frames, *, minutes: float | None = None, matters: float = 1.5) -> StandingOutlook:
    """Return when a standing trial may be settled, with the player's own numbers as far as the logbook goes."""
    from ..plan.own_world import world_for
    from ..plan.standing_outlook import standing_outlook

    told = minutes_a_day(frames) if minutes is None else minutes
    return standing_outlook(world_for(frames)[0], minutes_a_day=60.0 if told is None else told, matters=matters)


def deal_next(logbook: Logbook, box: str, on: date, trial: str | None = None) -> Dealt:
    """Deal a box in a running standing trial and write it down.

    Raises
    ------
    InputError
        There is no such trial, or several and none was named; or the box cannot be dealt.
    """
    frames = logbook.frames()
    names = standing_trials(logbook.protocols(frames), frames, on)
    if not names:
        raise InputError(tr("No standing trial is running. Begin one first."))
    if trial is None and len(names) > 1:
        raise InputError(tr("There are several standing trials: {names}. Say which one.").format(
            names=", ".join(names)))
    name = names[0] if trial is None else trial
    if name not in names:
        raise InputError(tr("No standing trial called '{name}' is running. There is: {names}.").format(
            name=name, names=", ".join(names)))
    plan = logbook.protocol(name)
    reeds = reeds_to_deal(frames.reeds, box, seed=plan.seed or 0, left_out=_gone(frames, on), boxes=frames.boxes,
                          instrument=plan.instrument).reeds
    plan = logbook.open_box(name, reeds, on)
    new = [(u.unit, k) for u, k in zip(plan.units, plan.dealt, strict=True) if u.unit in set(reeds)]
    one, two = (tuple(sorted(r for r, k in new if k == h.key)) for h in plan.habits)
    rest = frames.reeds.loc[(frames.reeds["box"] == box) & ~frames.reeds["reed"].isin(reeds), "reed"]
    return Dealt(plan, max(int(u.block.split(".")[0]) for u in plan.units), (one, two), tuple(sorted(rest)))
