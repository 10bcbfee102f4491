"""The whole case on one day, worked out in one go."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Final

from ..analysis.player.spreads import own_numbers
from ..rows.recent import REEDS_GONE, recent
from ..rows.tables import Frames
from ..schedule import Concert, PlayDay, coming_concerts, running_schedules, stored_week, usual_from
from ..trial.calendar import calendar_of
from ..trial.protocol import Protocol
from ..trial.world import World
from .both_ways import Against, against_each_other
from .lasting import LifeBelief, Span, belief, reserve, span
from .ready import ON_THE_GO, ConcertPick, Turn, for_concert, turn
from .spent import BoxCost, Retired, box_costs, retired
from .states import ReedState, states

__all__ = ["CaseView", "open_case"]

_AHEAD: Final = 7  # days that first play and break-in of a new box take: our assumption


@dataclass(frozen=True)
class CaseView:
    """The reed case on a day.

    `lives` are hours left by reed, without those of a sealed trial of reeds; where each reed serves both ways they
    follow from its playing hours alone, and are told. `against` says of such a trial how its reeds stand against each
    other (`both_ways`). `plans` are the running trials' plans for the day, `opens` the day on which each may be read;
    `turns` what to play where none runs. `counted` reeds stand behind `box_days`, the days until fewer than
    `ON_THE_GO` of them are left; None where that is so already. `open_by` is the careful end of it, less a week.
    `concerts` are those to come that the logbook knows, `named` the reeds that a running trial's plan keeps for each.
    `sealed_boxes` have a reed in a sealed trial.
    """

    on: date
    reeds: tuple[ReedState, ...]
    lives: Mapping[str, Span]
    life: LifeBelief
    plans: Mapping[str, PlayDay]
    turns: tuple[Turn, ...]
    counted: int
    box_days: Span | None
    open_by: date
    gone: tuple[Retired, ...]
    costs: tuple[BoxCost, ...]
    sealed: tuple[str, ...]
    against: Mapping[str, Against]
    opens: Mapping[str, date]
    sealed_boxes: tuple[str, ...] = ()
    concerts: tuple[Concert, ...] = ()
    named: Mapping[date, tuple[str, ...]] = field(default_factory=dict)

    def for_concert(self, on: date) -> list[ConcertPick]:
        """Return every reed for a concert on a date, those that are ready first."""
        return for_concert(self.reeds, self.lives, on, self.on)


def open_case(frames: Frames, protocols: Mapping[str, Protocol], on: date, defaults: World, *,
              opened: Collection[str] = ()) -> CaseView:
    """Work out the reed case.

    Parameters
    ----------
    frames : Frames
    protocols : mapping
        Every trial's plan by name.
    on : date
    defaults : World
        Numbers to start from (`reedlab.worlds.World()`); the player's own take their place as they come in.
    opened : collection of str
        Running trials that were opened early on purpose.
    """
    made = running_schedules(protocols, frames, on)
    plans = {name: plan.days[0] for name, plan in made.items()}
    running = {name: protocols[name] for name in made}
    lately = recent(frames)
    own = own_numbers(lately, defaults)
    life = belief(own["life_median_h"], defaults.life_shape)
    reeds = tuple(states(frames, running, on, opened=opened, noise_sd=own["noise_sd"].value))
    minutes = own["minutes_a_day"].value
    usual = usual_from(frames)
    now = usual.minutes_on(on) if stored_week(frames) or usual.off(on) else minutes  # else what was played so far
    in_use = [r for r in reeds if not r.set_aside and (r.play_days > 0 or r.trial is not None)]
    days = reserve(life, [r.hours for r in in_use], minutes * (1 - own["day_off"].value) / 60, ON_THE_GO)
    sealed = {r.reed: running[r.trial] for r in reeds if r.sealed and r.trial is not None}
    hidden = {r for r, plan in sealed.items() if plan.design == "reed_by_reed" or plan.of_boxes or plan.two_reeds}
    against = {r: x for name, plan in running.items() if name not in opened
               for r, x in against_each_other(plan, frames, on, defaults.noise_sd).items()}
    ends = {name: calendar_of(p, frames) for name, p in running.items()}
    return CaseView(
        on=on, reeds=reeds, lives={r.reed: span(life, r.hours) for r in reeds if r.reed not in hidden}, life=life,
        plans=plans, counted=len(in_use),
        turns=() if now <= 0 or any(p.state == "on" for p in plans.values()) else tuple(turn(reeds, now)),
        box_days=days, open_by=on if days is None else on + timedelta(days=max(0, int(days.low) - _AHEAD)),
        gone=tuple(retired(lately, on)[:REEDS_GONE]), costs=tuple(box_costs(lately, on, sealed=set(sealed))),
        sealed=tuple(sorted({r.trial for r in reeds if r.sealed and r.trial is not None})),
        against=against, opens={n: c.last + timedelta(days=1) for n, c in ends.items() if not c.open_end},
        sealed_boxes=tuple(sorted({r.box for r in reeds if r.sealed})), concerts=tuple(coming_concerts(frames, on)),
        named={day: names for plan in made.values() for day, names in plan.concerts.items() if names})
