"""Several trials of one question put together, against enumeration by hand and published meta-analyses."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from scipy import stats

from reedlab.analysis.shuffling.compare import compare
from reedlab.analysis.shuffling.lives import compare_lives
from reedlab.analysis.together.combine import combine, stack
from reedlab.analysis.together.parts import Part, read_part
from reedlab.analysis.together.players_differ import between, gap_error
from reedlab.analysis.trial import analyse
from reedlab.errors import InputError

from .._players import after, by_reed, frames, one_a_day, rated, squares

PLAN = by_reed((2, 2, 2))


def part(label: str, values: Sequence[float], is_b: Sequence[int], block: Sequence[int], **more: Any) -> Part:
    flags = np.array(is_b, dtype=bool)
    effect = more.pop("effect", flags.astype(float))
    plan = more.pop("plan", PLAN)
    base = {"player": label, "state": "finished", "looks": 0, "done": effect,
            "ratings": np.array([3.0, 4, 5, 6, 7])}
    return Part(label=label, protocol=replace(plan, trial=label), is_b=flags,
                block=np.array(block, dtype=np.intp), values=np.array(values, dtype=float),
                effect=np.array(effect, dtype=float), **{**base, **more})


def life_part(label: str, hours: Sequence[float], worn: Sequence[int], is_b: Sequence[int],
              block: Sequence[int]) -> Part:
    flags = np.array(is_b, dtype=bool)
    plan = by_reed((2, 2), outcome="life_hours")
    return Part(label, label, replace(plan, trial=label), "finished", 0, flags, np.array(block, dtype=np.intp),
                hours=np.array(hours, dtype=float), worn_out=np.array(worn, dtype=bool),
                share=flags.astype(float))


def deals(p: Part) -> list[np.ndarray]:
    """Every way one trial could have been dealt, the slow way."""
    n = len(p.is_b)
    out = []
    for picks in itertools.product((False, True), repeat=n):
        is_b = np.array(picks)
        if all(is_b[p.block == b].sum() == p.is_b[p.block == b].sum() for b in set(p.block.tolist())):
            out.append(is_b)
    return out


def statistic(p: Part, is_b: np.ndarray, d: float) -> float:
    """Σ w (mean of B − mean of A) over the blocks, with d times the effect column taken out."""
    u = p.values - d * p.effect
    total = 0.0
    for b in set(p.block.tolist()):
        here = p.block == b
        n_b, n_a = (here & is_b).sum(), (here & ~is_b).sum()
        total += n_a * n_b / (n_a + n_b) * (u[here & is_b].mean() - u[here & ~is_b].mean())
    return total


def p_by_hand(parts: Sequence[Part], d: float) -> float:
    seen = sum(statistic(p, p.is_b, d) for p in parts)
    every = np.array([sum(statistic(p, x, d) for p, x in zip(parts, way, strict=True))
                      for way in itertools.product(*(deals(p) for p in parts))])
    return min(1.0, 2 * min((every >= seen - 1e-9).mean(), (every <= seen + 1e-9).mean()))


RNG = np.random.default_rng(7)
SMALL = [
    part("P01", [5, 6.5, 4, 6, 7, 6.5], [0, 1, 0, 1, 1, 0], [0, 0, 1, 1, 2, 2]),
    part("P02", [3, 5, 4, 2, 6], [0, 1, 1, 0, 1], [0, 0, 0, 0, 0]),
    part("P03", RNG.normal(6, 1, 4), [1, 0, 0, 1], [0, 0, 1, 1], effect=[0.8, -0.1, 0.15, 0.9]),
]


@pytest.mark.slow
def test_the_combined_p_and_range_equal_enumeration_within_each_trial() -> None:
    found = combine(SMALL).main
    assert found.arrangements == 8 * 10 * 4
    assert found.exact
    assert found.p_value == pytest.approx(p_by_hand(SMALL, 0.0))
    for d in np.linspace(-3.03, 5.03, 41):
        inside = p_by_hand(SMALL, float(d)) > 0.05 + 1e-12
        assert inside == (found.low <= d <= found.high), d


def test_the_combined_gap_is_where_the_statistic_equals_its_mean() -> None:
    found = combine(SMALL)
    every = [np.mean([statistic(p, x, found.main.estimate) for x in deals(p)]) for p in SMALL]
    seen = [statistic(p, p.is_b, found.main.estimate) for p in SMALL]
    assert sum(seen) == pytest.approx(sum(every), abs=1e-9)
    weighted = sum(c.weight * c.estimate for c in found.parts)
    assert weighted == pytest.approx(found.main.estimate)
    assert sum(c.weight for c in found.parts) == pytest.approx(1)


def test_putting_trials_together_is_comparing_with_blocks_that_name_the_trial() -> None:
    plain = SMALL[:2]
    s = stack(plain)
    c = compare(s.values, s.is_b, s.block)
    found = combine(plain)
    assert (found.main.estimate, found.main.p_value, found.main.low, found.main.high) == pytest.approx(
        (c.estimate, c.p_value, c.low, c.high))
    alone = compare(SMALL[0].values, SMALL[0].is_b, SMALL[0].block)
    assert found.parts[1].without == pytest.approx(alone.estimate)
    assert found.parts[1].p_without == pytest.approx(alone.p_value)


def test_a_level_that_differs_between_players_does_no_harm() -> None:
    moved = [SMALL[0], replace(SMALL[1], values=SMALL[1].values + 100)]
    assert combine(moved).main.p_value == pytest.approx(combine(SMALL[:2]).main.p_value)


LIVES = [life_part("P01", [10, 14, 9, 16], [1, 1, 0, 1], [0, 1, 0, 1], [0, 0, 1, 1]),
         life_part("P02", [22, 35, 30, 40, 18, 33], [1, 0, 1, 1, 1, 1], [0, 1, 0, 1, 0, 1], [0, 0, 0, 0, 0, 0])]


def life_scores_by_hand(hours: np.ndarray, worn: np.ndarray) -> np.ndarray:
    out = np.zeros(len(hours))
    for i, t in enumerate(hours):
        out[i] = worn[i] - sum((worn & (hours == u)).sum() / (hours >= u).sum()
                               for u in np.unique(hours[worn]) if u <= t)
    return out


def life_p_by_hand(ratio: float) -> float:
    scores = [life_scores_by_hand(p.hours / np.where(p.is_b, ratio, 1.0), p.worn_out) for p in LIVES]
    seen = sum(float(s[p.is_b].sum()) for s, p in zip(scores, LIVES, strict=True))
    every = np.array([sum(float(s[x].sum()) for s, x in zip(scores, way, strict=True))
                      for way in itertools.product(*(deals(p) for p in LIVES))])
    return min(1.0, 2 * min((every >= seen - 1e-9).mean(), (every <= seen + 1e-9).mean()))


def test_lives_are_scored_within_their_trial_and_reshuffled_within_it() -> None:
    found = combine(LIVES).main
    assert found.p_value == pytest.approx(life_p_by_hand(1.0))
    assert found.events == (4, 4)
    for ratio in np.geomspace(0.31, 9.1, 60):
        kept = life_p_by_hand(float(ratio)) > 0.05 + 1e-12
        if kept:
            assert found.low <= ratio <= found.high
        elif ratio < found.estimate:
            assert ratio <= found.low or life_p_by_hand(float(found.low)) > 0.05
    assert 1 < found.estimate < math.inf


def test_one_trial_of_lives_scored_alone_is_compare_lives() -> None:
    own = combine(LIVES).parts[1]
    alone = compare_lives(LIVES[1].hours, LIVES[1].worn_out, LIVES[1].is_b)
    assert (own.estimate, own.low, own.high) == pytest.approx((alone.ratio, alone.low, alone.high))


# Trials of a vaccine against tuberculosis: R metadat `dat.bcg` (Colditz et al. 1994): cases and others, vaccinated
# and not. The counts give back the published Q of 152.23.
BCG = np.array([
    (4, 119, 11, 128), (6, 300, 29, 274), (3, 228, 11, 209), (62, 13536, 248, 12619), (33, 5036, 47, 5761),
    (180, 1361, 372, 1079), (8, 2537, 10, 619), (505, 87886, 499, 87892), (29, 7470, 45, 7232),
    (17, 1699, 65, 1600), (186, 50448, 141, 27197), (5, 2493, 3, 2338), (27, 16886, 29, 17825)], dtype=float)


def test_the_random_effects_view_gives_the_published_vaccine_result() -> None:
    a, b, c, d = BCG.T
    v = between(np.log(a / (a + b)) - np.log(c / (c + d)), np.sqrt(1 / a - 1 / (a + b) + 1 / c - 1 / (c + d)))
    assert v.q == pytest.approx(152.23, abs=0.005)
    assert v.tau_dl**2 == pytest.approx(0.309, abs=0.0005)
    assert v.tau**2 == pytest.approx(0.318, abs=0.0005)
    assert math.exp(v.mean) == pytest.approx(0.489, abs=0.0005)


def slow_random_effects(y: np.ndarray, s: np.ndarray) -> tuple[float, float, float, float]:
    """Paule-Mandel by bisection, the mean by Hartung and Knapp, the range for one more."""
    def excess(tau2: float) -> float:
        w = 1 / (s**2 + tau2)
        return float(w @ (y - w @ y / w.sum()) ** 2) - (len(y) - 1)

    lo, hi = 0.0, 100.0
    if excess(0.0) <= 0:
        hi = 0.0
    for _ in range(200):
        mid = (lo + hi) / 2
        lo, hi = (mid, hi) if excess(mid) > 0 else (lo, mid)
    w = 1 / (s**2 + hi)
    mean = float(w @ y / w.sum())
    q = float(w @ (y - mean) ** 2) / (len(y) - 1)
    error = math.sqrt(max(1.0, q) / w.sum())
    return mean, math.sqrt(hi), error, float(stats.t.ppf(0.975, len(y) - 2)) * math.sqrt(hi + error**2)


@pytest.mark.slow
@pytest.mark.parametrize("tau", [0.0, 0.6])
def test_twelve_simulated_players_agree_with_the_formulas_done_slowly(tau: float) -> None:
    rng = np.random.default_rng(12)
    parts = []
    for k in range(12):
        true, spread, pairs = rng.normal(0.8, tau), rng.uniform(0.4, 1.2), int(rng.integers(6, 10))
        gaps = rng.normal(true, spread, pairs)
        base = rng.normal(6, 1, pairs)
        values = np.stack([base, base + gaps], axis=1).ravel()
        parts.append(part(f"P{k + 1:02d}", values, [0, 1] * pairs, np.repeat(np.arange(pairs), 2)))
    found = combine(parts)
    errors = [stats.sem(p.values[1::2] - p.values[::2]) for p in parts]  # the paired mean's own error
    gaps = [float((p.values[1::2] - p.values[::2]).mean()) for p in parts]
    assert [c.error for c in found.parts] == pytest.approx(errors)
    assert [c.estimate for c in found.parts] == pytest.approx(gaps)
    mean, spread, error, reach = slow_random_effects(np.array(gaps), np.array(errors))
    assert found.spread is not None
    assert found.spread.of == "player"
    assert found.spread.estimate == pytest.approx(mean, abs=1e-4)
    assert found.spread.tau == pytest.approx(spread, abs=1e-3)
    assert found.spread.high - found.spread.estimate == pytest.approx(stats.t.ppf(0.975, 11) * error, abs=1e-3)
    assert found.spread.new_high - found.spread.estimate == pytest.approx(reach, abs=2e-3)
    assert found.main.verdict == "b_better"
    assert not found.main.exact  # far more arrangements than can be counted


def test_the_error_of_a_single_block_is_that_of_two_samples_with_a_common_variance() -> None:
    y = np.array([4.0, 6, 5, 7.5, 8, 6.5, 9])
    is_b = np.array([0, 0, 0, 1, 1, 1, 1], dtype=bool)
    gap = y[is_b].mean() - y[~is_b].mean()
    t = stats.ttest_ind(y[is_b], y[~is_b])
    error = gap_error(y, is_b.astype(float), is_b, np.zeros(7, dtype=np.intp), float(gap))
    assert gap / error == pytest.approx(t.statistic)


def test_lives_have_an_error_for_clear_and_unclear_trials_alike() -> None:
    # Eight invented trials of eight reeds, a true ratio of 1.4: those without a finite range enter, too.
    rng = np.random.default_rng(1)
    parts = []
    for k in range(8):
        is_b = [0, 1] * 4
        hours = rng.weibull(2, 8) * 15 * np.where(is_b, 1.4, 1.0) + 0.01
        end = rng.uniform(10, 40, 8)
        parts.append(life_part(f"P{k:02d}", np.minimum(hours, end), hours <= end, is_b, [0] * 4 + [1] * 4))
    found = combine(parts)
    assert found.spread is not None
    assert found.spread.groups >= 7
    assert any(math.isinf(c.high) and math.isfinite(c.error) for c in found.parts)
    assert found.spread.low < 1.4 < found.spread.high
    assert math.log(found.spread.estimate) == pytest.approx(math.log(found.main.estimate), abs=0.25)


def test_the_spread_of_lives_is_not_told_when_many_trials_have_no_gap_of_their_own() -> None:
    dull = [life_part(f"Q{k}", [9, 9.5, 8, 8.5], [0, 0, 0, 0], [0, 1, 0, 1], [0, 0, 1, 1]) for k in range(1)]
    dull += [life_part("Q8", [9, 9.7, 8, 8.6], [0, 0, 0, 0], [0, 1, 0, 1], [0, 0, 1, 1])]
    found = combine([*LIVES, *dull])
    assert found.spread is None
    assert math.isnan(found.parts[2].error)


def test_trials_of_one_player_are_spread_over_trials_and_of_several_over_players() -> None:
    mine = [replace(p, player="P01") for p in SMALL]
    again = combine(mine)
    assert again.players == 1
    assert again.spread is not None
    assert again.spread.of == "trial"
    mixed = combine([mine[0], mine[1], SMALL[2]])
    assert mixed.spread is not None
    assert (mixed.spread.of, mixed.spread.groups) == ("player", 2)
    assert math.isnan(mixed.spread.new_low)  # two are too few to speak of one more


def test_every_reason_against_putting_together_is_told_at_once() -> None:
    other = part("P02", [1, 2, 3, 4], [0, 1, 1, 0], [0, 0, 1, 1], plan=replace(
        PLAN, question="drying", rating="tone", scale=((2, "bad"), (10, "good")), matters=2.0))
    days = part("P03", [1, 2, 3, 4], [0, 1, 1, 0], [0, 0, 1, 1], plan=squares(2))
    with pytest.raises(InputError) as caught:
        combine([SMALL[0], other, days])
    said = str(caught.value)
    for words in ("P02: the question", "P02: what is rated", "P02: the rating scale",
                  "P02: the smallest difference", "P03: what is compared", "P03: the way of dealing"):
        assert words in said
    assert combine([SMALL[0], replace(SMALL[1], protocol=replace(PLAN, matters=2.0))], matters=1.5).matters == 1.5


def test_a_trial_counts_once() -> None:
    with pytest.raises(InputError, match="P09: this is the same trial as P01"):
        combine([SMALL[0], replace(SMALL[0], label="P09")])


def test_a_single_trial_or_a_running_one_is_refused() -> None:
    with pytest.raises(InputError, match="at least two"):
        combine(SMALL[:1])
    plan = one_a_day(4)
    with pytest.raises(InputError, match=r"P01: .*still runs"):
        read_part("P01", "P01", plan, frames(plan, []), today=plan.start)
    diary = replace(plan, how_dealt="not")
    with pytest.raises(InputError, match="old diary"):
        read_part("P01", "P01", diary, frames(diary, []), today=after(plan))


@pytest.mark.slow
def test_parts_read_from_logbooks_give_each_trial_its_own_answer_and_adjustment() -> None:
    plans = [squares(4, seed=3, trial="P01", adjust=("order",)),
             squares(5, seed=4, trial="P02", adjust=("order",))]
    rng = np.random.default_rng(5)
    books = [frames(p, rated(p, lambda r, d, h: round(2 * (5 + (h == "water") + rng.normal(0, 0.5))) / 2))
             for p in plans]
    parts = [read_part(p.trial, p.trial, p, b, today=after(p)) for p, b in zip(plans, books, strict=True)]
    found = combine(parts)
    for c, p, b in zip(found.parts, plans, books, strict=True):
        alone = analyse(p, b, today=after(p)).main
        assert alone is not None
        assert (c.estimate, c.low, c.high) == pytest.approx((alone.estimate, alone.low, alone.high))
    assert found.main.blocks == 9


def test_early_ends_and_looks_cost_and_forbid_sameness() -> None:
    ended = [replace(p, state="ended_early") if p.label == "P02" else p for p in SMALL]
    found = combine(ended)
    assert found.ended_early == ("P02",)
    assert found.p_needed == pytest.approx(0.049)
    assert found.main.level == pytest.approx(0.951)
    quiet = [part(f"P{k}", np.tile([5.0, 5.1, 6.1, 6.0], 4), [0, 1] * 8, np.repeat(np.arange(8), 2), looks=k // 2,
                  plan=replace(PLAN, seed=k)) for k in (1, 2)]
    assert combine(quiet).main.verdict == "no_real_difference"
    assert combine(quiet).looks == 1
    early = [quiet[0], replace(quiet[1], state="ended_early")]
    assert (combine(early).main.verdict, combine(early).held) == ("cannot_tell", "early")


def test_players_who_differ_are_not_called_alike() -> None:
    up = np.array([5.0, 5.5, 6.0, 6.4, 5.0, 5.6, 6.0, 6.5] * 2)
    down = up.copy()
    down[0::2], down[1::2] = up[1::2], up[0::2]
    found = combine([part("P01", up, [0, 1] * 8, np.repeat(np.arange(8), 2)),
                     part("P02", down, [0, 1] * 8, np.repeat(np.arange(8), 2))])
    assert (found.main.verdict, found.held) == ("cannot_tell", "players_differ")


@pytest.mark.slow
def test_of_trials_without_any_difference_no_more_than_one_in_twenty_names_a_winner() -> None:
    rng = np.random.default_rng(2)
    runs, wrong = 400, 0
    for _ in range(runs):
        parts = []
        for k in range(3):
            values = rng.normal(0, 1, 8) * (0.3, 1.0, 3.0)[k] + rng.normal(0, 2, 4).repeat(2)
            is_b = np.array([x for _ in range(4) for x in rng.permutation([0, 1])])
            parts.append(part(f"P{k}", values, is_b, np.repeat(np.arange(4), 2)))
        s = stack(parts)
        wrong += compare(s.values, s.is_b, s.block).p_value <= 0.05
    assert wrong / runs <= 0.05 + 2.5 * math.sqrt(0.05 * 0.95 / runs)
    assert wrong > 0  # and it can fail


def test_what_a_helper_hid_counts_as_hidden_only_if_it_was_hidden_from_all() -> None:
    hidden = replace(PLAN, masked="helper")
    one, two, three = (part(f"P{i}", [5, 6, 4, 7, 5, 6 + i], [0, 1, 0, 1, 0, 1], [0, 0, 1, 1, 2, 2], plan=plan)
                       for i, plan in enumerate((hidden, hidden, PLAN)))
    assert combine([one, two]).protocol.masked == "helper"
    assert combine([one, three]).protocol.masked == "none"


def test_a_trial_that_may_be_read_early_has_paid_for_its_looks_and_counts_if_it_was_played_to_its_end() -> None:
    p = squares(13, read_early=True)
    rows = rated(p, lambda reed, day, habit: 6.0 + (habit == "water") * (day % 3))
    looks = [{"trial": p.trial, "date": p.start + timedelta(days=5), "why": "curious"}]
    trials = [{"trial": p.trial, "started": p.start, "protocol_sha256": p.sha256, "protocol": p.to_json()}]
    played = frames(p, rows, looks=looks, trials=trials)
    assert read_part("P1", "P1", p, played, today=after(p)).looks == 0
    stopped = frames(p, rows, looks=looks, trials=[{**trials[0], "ended": p.start + timedelta(days=19)}])
    with pytest.raises(InputError, match="ended before its last"):
        read_part("P1", "P1", p, stopped, today=after(p))
