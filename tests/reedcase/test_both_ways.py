"""How the reeds of a sealed day-by-day trial stand against each other tells nothing of its ways: played out in full."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from itertools import product

import numpy as np
import pytest

from reedlab.plan import draw_up
from reedlab.reedcase.both_ways import FEWEST, against_each_other, of_ratings, pairs_of
from reedlab.rows.tables import Frames, typed
from reedlab.trial.protocol import Protocol, Unit

START = date(2026, 3, 2)
REEDS = [{"reed": f"1-{n:02d}", "box": "1", "first_play": 5 + n / 2} for n in range(1, 5)]


def plan_of(reeds: int, a_day: int, days: int) -> Protocol:
    return draw_up("wetting", typed("reeds", REEDS[:reeds]), start=START, seed=7, trial="Wetting",
                   instrument="clarinet", design="day_by_day", reeds_a_day=a_day, days=days, minutes_a_day=60,
                   simulations=100).protocol


SQUARES = plan_of(4, 4, 8)
BY_ITSELF = plan_of(2, 1, 20)


def dealt_otherwise(plan: Protocol) -> list[Protocol]:
    """Every arrangement that the plan could have dealt: one coin a block of two units."""
    blocks = list(dict.fromkeys(u.block for u in plan.units))
    one, two = (h.key for h in plan.habits)
    out = []
    for coins in product((one, two), repeat=len(blocks)):
        coin = dict(zip(blocks, coins, strict=True))
        seen: set[str] = set()
        dealt = []
        for u in plan.units:
            first = u.block not in seen
            seen.add(u.block)
            dealt.append(coin[u.block] if first else two if coin[u.block] == one else one)
        out.append(replace(plan, dealt=tuple(dealt)))
    return out


def rated(plan: Protocol, gap: float, seed: int = 1, missing: float = 0.0) -> dict[tuple[str, int], float]:
    """The ratings of a player with fixed reeds, days and noise, and `gap` more wherever the second way was dealt."""
    rng = np.random.default_rng(seed)
    level = dict(zip(plan.reeds, rng.normal(5, 1, len(plan.reeds)), strict=True))
    mood = rng.normal(0, 1, plan.days + 1)
    way = {cell: key for u, key in zip(plan.units, plan.dealt, strict=True) for cell in u.cells}
    out = {}
    for s in plan.slots:
        noise, there = rng.normal(0, 1), rng.random() >= missing
        if there and (s.reed, s.day) in way:
            out[s.reed, s.day] = level[s.reed] + mood[s.day] + noise + gap * (
                way[s.reed, s.day] == plan.habits[1].key)
    return out


def logbook(plan: Protocol, gap: float) -> Frames:
    rows = [{"date": START + timedelta(days=day - 1), "reed": reed, "order": 1, "play_min": 10, "overall": y,
             "habit": habit.key} for (reed, day), y in rated(plan, gap).items()
            if (habit := plan.habit_for(reed, day)) is not None]
    return replace(Frames.of(reeds=REEDS), sittings=typed("sittings", rows))


@pytest.mark.parametrize("missing", [0.0, 0.05])
@pytest.mark.parametrize("plan", [SQUARES, BY_ITSELF], ids=["squares", "pairs of days"])
def test_what_is_shown_is_the_same_for_every_deal_and_every_gap(plan: Protocol, missing: float) -> None:
    """So all arrangements stay equally likely given it, and its likelihood is flat in the gap."""
    shown = {tuple(of_ratings(p, rated(p, gap, missing=missing), 1.0).items())
             for p in dealt_otherwise(plan) for gap in (-2.0, 0.7)}
    assert len(shown) == 1
    assert len(shown.pop()) >= 2


def test_the_same_from_a_logbook() -> None:
    shown = [against_each_other(p, logbook(p, gap), date(2026, 4, 1), 1.0)
             for p in dealt_otherwise(SQUARES)[::60] for gap in (0.0, 1.9)]
    assert all(x == shown[0] for x in shown)
    assert shown[0] == of_ratings(SQUARES, rated(SQUARES, 0.0), 1.0)


def test_levels_and_single_days_would_tell() -> None:
    """The tests above can fail: a level moves with the gap, a single day with the deal."""
    means = [np.mean(list(rated(SQUARES, gap).values())) for gap in (0.0, 2.0)]
    assert means[1] - means[0] == pytest.approx(1.0)
    assert len({round(next(iter(rated(p, 2.0).values())), 6) for p in dealt_otherwise(SQUARES)}) == 2


def test_beliefs_about_the_gap_stay_as_they_were() -> None:
    """Bayes by brute force: worlds drawn under each gap show the same things equally often."""
    told = {gap: [tuple(x.above for x in of_ratings(SQUARES, rated(SQUARES, gap, seed), 1.0).values())
                  for seed in range(150)] for gap in (-1.0, 0.0, 1.0)}
    assert told[-1.0] == told[0.0] == told[1.0]
    assert len(set(told[0.0])) > 20  # and it does tell the reeds apart


def test_better_reeds_stand_higher_with_the_days_evened_out() -> None:
    """Against the truth, over many players; the give and take covers it about as often as two errors do."""
    off, held = [], []
    for seed in range(200):
        level = np.random.default_rng(seed).normal(5, 1, 4)
        true = dict(zip(SQUARES.reeds, level - level.mean(), strict=True))
        for reed, x in of_ratings(SQUARES, rated(SQUARES, 1.0, seed), 1.0).items():
            off.append(x.above - true[reed])
            held.append(abs(x.above - true[reed]) <= x.give + 0.25)
    assert abs(np.mean(off)) < 0.05
    assert np.mean(held) > 0.94


def test_nothing_is_said_from_few_pairs_or_of_today() -> None:
    frames, ready = logbook(SQUARES, 1.0), 2 * FEWEST
    assert not against_each_other(SQUARES, frames, START + timedelta(days=ready - 1), 1.0)
    assert against_each_other(SQUARES, frames, START + timedelta(days=ready), 1.0)


def test_nothing_is_said_where_a_reed_serves_one_way_within_a_block() -> None:
    """As where the reeds of two boxes are compared: there the mean of a reed is the mean of its way."""
    one, two = SQUARES.reeds[:2]
    boxes = replace(
        SQUARES, units=tuple(Unit(f"{d}.{k}", str(d), (r,), ((r, d),)) for d in range(1, 9)
                             for k, r in enumerate((one, two))), dealt=("mouth", "water") * 8)
    assert not list(pairs_of(boxes))
    assert not of_ratings(boxes, rated(boxes, 1.0), 1.0)


def test_a_pair_on_which_the_other_way_was_used_is_left_out() -> None:
    frames = logbook(SQUARES, 1.0)
    before = against_each_other(SQUARES, frames, date(2026, 4, 1), 1.0)
    swapped = frames.sittings.copy()
    one = swapped.index[0]
    swapped.loc[one, "habit"] = next(h.key for h in SQUARES.habits if h.key != swapped.loc[one, "habit"])
    after = against_each_other(SQUARES, replace(frames, sittings=swapped), date(2026, 4, 1), 1.0)
    reed = str(swapped.loc[one, "reed"])
    assert reed not in after or after[reed].pairs == before[reed].pairs - 1


def test_the_give_comes_from_the_noise_told_and_not_from_the_ratings() -> None:
    gives = [[x.give for x in of_ratings(SQUARES, rated(SQUARES, 0.0, seed), noise).values()]
             for seed, noise in ((1, 1.0), (2, 1.0), (1, 0.01))]
    assert gives[0] == gives[1]
    assert gives[2] == [0.5] * 4
