"""Play a plan through in many simulated lives at once: no loop over trials, only over days."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..errors import InputError
from ..trial.arrays import BoolArray, FloatArray, IntArray
from ..trial.crossover import planned_b
from ..trial.protocol import Protocol
from ..trial.world import World
from ..wording import tr
from .air import Days, draw_days
from .plan_arrays import PlanArrays, deal_anew, minute_limits, plan_arrays
from .reeds import Reeds, draw_reeds, sunk, to_scale

__all__ = ["BY_CHOICE", "DAMAGED", "GOING", "WORN_OUT", "Batch", "simulate"]


GOING, WORN_OUT, DAMAGED = 0, 1, 2
BY_CHOICE = 3  # never drawn here: for worlds that change a batch afterwards


@dataclass(frozen=True)
class Batch:
    """`n` simulated runs of one plan.

    Sittings are the plan's slots, in order of day and place: arrays (n, sittings). Reeds are in the
    order of `protocol.reeds`: arrays (n, reeds). Days: arrays (n, days).

    Attributes
    ----------
    rating : (n, sittings) float
        Points, rounded; nan where not rated (not played, unrated, never written down).
    play_min : (n, sittings) float
        Minutes really played; 0 where not played.
    logged : (n, sittings) bool
        Played and written down.
    used_b : (n, sittings) bool
        The second habit was really used (only of meaning where played).
    hours_before : (n, sittings) float
        Playing hours of that reed in the trial before this sitting, written down or not.
    dealt_b : (n, units) bool
        Units dealt the second habit.
    left_day, left_why : (n, reeds) int
        Trial day the reed left service (0: still going) and why (GOING, WORN_OUT, DAMAGED, BY_CHOICE).
    hours : (n, reeds) float
        Playing hours in the trial, written down or not.
    """

    protocol: Protocol
    world: World
    seed: int
    plan: PlanArrays
    reeds: Reeds
    days: Days
    rating: FloatArray
    play_min: FloatArray
    logged: BoolArray
    used_b: BoolArray
    from_memory: BoolArray
    unsure_reed: BoolArray
    stiffness: FloatArray
    hours_before: FloatArray
    dealt_b: BoolArray
    left_day: NDArray[np.int_]
    left_why: NDArray[np.int_]
    hours: FloatArray

    def __len__(self) -> int:
        return len(self.rating)

    def protocol_of(self, i: int) -> Protocol:
        """Return the frozen plan of run `i`: the plan given, with that run's own deal."""
        keys = [h.key for h in self.protocol.habits]
        dealt = tuple(keys[int(b)] for b in self.dealt_b[i])
        if dealt == self.protocol.dealt:
            return self.protocol
        return dataclasses.replace(self.protocol, dealt=dealt, seed=None, how_dealt="by hand")


def simulate(protocol: Protocol, world: World, n: int, seed: int, *, fresh_deals: bool = False,
             reeds: Reeds | None = None) -> Batch:
    """Simulate `n` runs of a plan in a world.

    The plan's slots are kept to the end: the minutes of a reed that has left go to the other reeds of
    its day, and nothing is planned anew.

    Parameters
    ----------
    protocol : Protocol
        The plan. Its slots say who plays when; without slots every reed of the trial takes its turn.
    world : World
        The player, the reeds and the true effect of the second habit (`protocol.habits[1]`).
    n : int
        How many runs.
    seed : int
        Same seed, same runs.
    fresh_deals : bool
        Deal the habits anew in each run, as the plan could have; else all runs keep the plan's own deal. Where the
        way is a reed's own box, no coin could have dealt it to another: such a plan keeps its deal.
    reeds : Reeds, optional
        The very reeds to play, arrays (reeds, n) in the order of `protocol.reeds`. If not given they are drawn and,
        reed by reed, put into the plan's matched sets by their first play.

    Raises
    ------
    InputError
        If `n` is not at least 1, the plan has nothing to play, or `reeds` are not as many as its own.
    """
    if n < 1:
        raise InputError(tr("`n` is {n!r}, wanted at least 1 run.").format(n=n))
    plan = plan_arrays(protocol)
    rng = np.random.default_rng(seed)
    blocks = plan.reed_blocks if protocol.design == "reed_by_reed" else None
    if reeds is None:
        # what is known of a reed before the start: of a plan that counts the break-in, as much as three ratings tell
        seen = world.but(first_play_r=world.break_in_r) if "break_in" in protocol.adjust else world
        reeds = draw_reeds(seen, n, plan.boxes, rng, blocks=blocks)
    elif reeds.level.shape != (len(plan.reeds), n):
        raise InputError(tr("`reeds` are {shape}; wanted {text}, reeds by runs.").format(
                             shape=reeds.level.shape, text=(len(plan.reeds), n)))
    days = draw_days(world, n, plan.n_days, protocol.start.timetuple().tm_yday, rng)
    anew = fresh_deals and not protocol.of_boxes
    dealt = deal_anew(plan, n, rng) if anew else np.repeat(plan.dealt_b[:, None], n, axis=1)
    return _Run(protocol, world, n, seed, plan, reeds, days, dealt, rng).play()


class _Run:
    """The state of `n` runs while they are played, day by day. Arrays are (..., n): rows stay contiguous."""

    def __init__(self, protocol: Protocol, world: World, n: int, seed: int, plan: PlanArrays, reeds: Reeds,
                 days: Days, dealt: BoolArray, rng: np.random.Generator) -> None:
        self.protocol, self.world, self.n, self.seed = protocol, world, n, seed
        self.plan, self.reeds, self.days, self.dealt, self.rng = plan, reeds, days, dealt, rng
        slots, count = len(plan.slot_day), len(plan.reeds)
        self.rating = np.full((slots, n), np.nan)
        self.worn_before = np.zeros((slots, n))
        self.play_min = np.zeros((slots, n))
        self.hours_before = np.zeros((slots, n))
        self.memory = rng.random((slots, n)) < world.from_memory
        self.unsure = rng.random((slots, n)) < world.unsure_reed
        self.noise = world.noise_sd * rng.standard_normal((slots, n))
        self.noise[self.memory] *= world.memory_noise
        if protocol.pairs:  # the difference of two goes, each with its own noise
            self.noise *= world.pair_noise * np.sqrt(2)
        self.apart = np.zeros((plan.n_days, n))  # two reeds: how far the second is ahead today beyond what it is
        if protocol.two_reeds:
            self.apart = world.reed_day_sd * np.sqrt(2) * rng.standard_normal((plan.n_days, n))
        self.soft_noise = 0.5 * rng.standard_normal((slots, n))
        self.written = rng.random((slots, n)) >= world.forgotten
        if world.bad_days_lost > 0:
            lost = days.shift < np.quantile(days.shift, world.bad_days_lost)
            self.written &= ~lost[plan.slot_day - 1]
        self.rated = self.written & (rng.random((slots, n)) >= world.unrated)
        self.used_b = self._dealt_of_slots() ^ (self._slips(slots) & (plan.slot_unit >= 0)[:, None])
        # state of the reeds
        self.hours = np.zeros((count, n))
        self.hours_b = np.zeros((count, n))
        self.worn = np.full((count, n), 0.0 if protocol.from_new else sum(world.ramp_min) / 60)
        self.low_run = np.zeros((count, n), dtype=np.int_)
        self.going = np.ones((count, n), dtype=bool)
        self.left_day = np.zeros((count, n), dtype=np.int_)
        self.left_why = np.zeros((count, n), dtype=np.int_)
        self.last_b = np.full((count, n), -np.inf)  # the day up to which the second habit was in force
        # by days of play, up to the day from which on nothing changes any more
        limits, youth = minute_limits(protocol, world), [*world.youth, 0.0]
        self.grown = max(limits.shape[1], len(youth)) - 1
        self.limits = np.pad(limits, ((0, 0), (0, self.grown + 1 - limits.shape[1])), mode="edge")
        self.youth = np.pad(youth, (0, self.grown + 1 - len(youth)))
        self.play_days = np.full((count, n), 0 if protocol.from_new else min(len(world.ramp_min), self.grown))

    def _slips(self, slots: int) -> BoolArray:
        """Where the habit used is not the one dealt: by chance, or because the day is bad."""
        miss = 1 - self.world.adherence
        if not self.world.bad_days_decide:
            return self.rng.random((slots, self.n)) < miss
        # On a bad day the first habit is used: about half of its sittings were dealt it anyway, so
        # twice as many days are bad as sittings slip.
        cut = np.quantile(self.days.mood, min(1.0, 2 * miss))
        bad = self.days.mood[self.plan.slot_day - 1] < cut
        return bad & self._dealt_of_slots()

    def _dealt_of_slots(self) -> BoolArray:
        unit = self.plan.slot_unit
        turned = planned_b(self.protocol.halves, self.dealt[unit].T, self.plan.slot_day).T > 0
        return turned & (unit >= 0)[:, None]

    def play(self) -> Batch:
        for first, last in self.plan.day_slices:
            self._day(first, last)
        turned = {name: np.ascontiguousarray(x.T) for name, x in {
            "rating": self.rating, "play_min": self.play_min, "logged": self.written & (self.play_min > 0),
            "used_b": self.used_b, "from_memory": self.memory, "unsure_reed": self.unsure,
            "stiffness": self._stiffness(), "hours_before": self.hours_before, "dealt_b": self.dealt,
            "left_day": self.left_day, "left_why": self.left_why, "hours": self.hours}.items()}
        return Batch(self.protocol, self.world, self.seed, self.plan, self.reeds, self.days, **turned)

    def _stiffness(self) -> FloatArray:
        """Return how stiff each reed seemed where it was rated."""
        if self.protocol.pairs:
            return np.full(self.rating.shape, np.nan)
        soft = self.reeds.stiffness[self.plan.slot_reed] - self.world.softening * self.worn_before + self.soft_noise
        return np.where(np.isnan(self.rating), np.nan, to_scale(soft, 0.5, -3, 3))

    def _day(self, first: int, last: int) -> None:
        plan = self.plan
        day = int(plan.slot_day[first])
        s, r = slice(first, last), plan.slot_reed[first:last]
        up = self.going.take(r, axis=0) & ~self.days.off[day - 1]
        if self.protocol.two_reeds:
            up &= self.going.all(axis=0)
        hours, played = self.hours.take(r, axis=0), self.play_days.take(r, axis=0)
        if self.protocol.cap_hours is not None:
            up &= hours < self.protocol.cap_hours
        self.play_min[s] = self._minutes(self.used_b[s], played, up, day)
        self.hours_before[s], self.worn_before[s] = hours, self.worn.take(r, axis=0)
        self._rate(s, r, up, day, played)
        self.play_days[r] = np.minimum(played + up, self.grown)
        self._wear(s, r, up, day)

    def _minutes(self, b: BoolArray, played: IntArray, up: BoolArray, day: int) -> FloatArray:
        """Share the day's playing among the reeds that are up, within each reed's limit; whole 5 minutes."""
        limit = self.limits[b.astype(int), played] if self.protocol.overrides else self.limits[0].take(played)
        share = self.days.minutes[day - 1] / np.maximum(up.sum(axis=0), 1)
        return np.maximum(5 * np.rint(np.minimum(share, limit) / 5), 5.0) * up

    def _rate(self, s: slice, r: IntArray, up: BoolArray, day: int, played: IntArray) -> None:
        world, b = self.world, self.used_b[s]
        if self.protocol.pairs:
            self._prefer(s, up, b, day)
            return
        level, wear, life = (x.take(r, axis=0) for x in (self.reeds.level, self.reeds.wear, self.reeds.life_h))
        true = (level - sunk(world, level, wear, life, self.worn_before[s])
                + self.youth.take(played)
                + self.days.shift[day - 1]
                + world.order_points * (self.plan.slot_order[s][:, None] - 1)
                + world.effect_points * self._reach(r, up, b, day))
        if world.effect_wear:
            true += world.effect_wear * self.hours_b[r]
        self.rating[s] = np.where(up & self.rated[s], to_scale(true + self.noise[s], world.step, *world.ends), np.nan)

    def _reach(self, r: IntArray, up: BoolArray, b: BoolArray, day: int) -> FloatArray:
        """Return how much of the second habit's effect there is, from 0 to 1: all while it is in force, less after.

        In a crossover a reed is kept one way up to the last day of its half, whether it is played or not.
        """
        world, halves = self.world, self.protocol.halves
        if not world.effect_days and not world.effect_half_life:
            return b.astype(float)
        since = np.maximum(day - self.last_b[r], 1) - world.effect_days
        with np.errstate(divide="ignore"):
            left = 0.5 ** (np.maximum(since, 0) / world.effect_half_life) if world.effect_half_life else since <= 0
        kept = day if halves is None or halves.second(day) else halves.first
        self.last_b[r] = np.where(up & b, kept, self.last_b[r])
        return np.where(b, 1.0, left)

    def _prefer(self, s: slice, up: BoolArray, b: BoolArray, day: int) -> None:
        """Hold the first go against the second: what the reed, the day and the air add is the same for both.

        Two reeds have days of their own.
        """
        world = self.world
        felt = (1 - world.first_holds) * (np.where(b, 1, -1) * (world.effect_points + self.apart[day - 1])
                                          - world.second_points + self.noise[s])
        said = np.where(np.abs(felt) < world.no_difference, 0.0, felt)
        self.rating[s] = np.where(up & self.rated[s], to_scale(said, world.step, -5, 5), np.nan)

    def _wear(self, s: slice, r: IntArray, up: BoolArray, day: int) -> None:
        p, world, b = self.protocol, self.world, self.used_b[s]
        hours = self.play_min[s] / 60
        so_far = self.hours_before[s] + hours
        self.hours[r] = so_far
        if world.effect_wear:
            self.hours_b[r] += hours * b
        if world.effect_life != 1:
            hours[b] /= world.effect_life
        self.worn[r] = self.worn_before[s] + hours
        gone = so_far >= self.reeds.damage_h.take(r, axis=0)
        if not p.pairs:
            rating, low = self.rating[s], self.low_run.take(r, axis=0)
            under = rating < p.worn_out_below
            self.low_run[r] = low = (low + under) * (under | np.isnan(rating))
            gone |= low >= p.in_a_row
        place, run = np.nonzero(up & gone)
        reed = r[place]
        self.going[reed, run], self.left_day[reed, run] = False, day
        # the low rating came before the accident
        self.left_why[reed, run] = np.where(self.low_run[reed, run] >= p.in_a_row, WORN_OUT, DAMAGED)
