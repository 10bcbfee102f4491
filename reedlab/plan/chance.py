"""How likely a plan is to give the right answer if the habits truly differ by what matters.

Units are simulated straight away (one number, or one life, for each) and go through the very test and
verdict rule of the end. What single ratings do on the way is only allowed for roughly; the full forecast
plays every sitting. Against it the chances here were mostly too hopeful in our runs, by about ten in a
hundred for ratings and up to thirty for lives: they rank layouts in a second or two, and what a player is
told comes from the forecast. Every number about the player and the reeds is our assumption (`worlds.World`)
until the player's own replace it.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from ..analysis.shuffling.lives import lives_test_batch
from ..analysis.shuffling.randomise import linear_test_batch
from ..analysis.shuffling.verdict import decide, inside
from ..trial.dealing import deal
from ..worlds import World

__all__ = ["Chance", "chance_boxes", "chance_days", "chance_lives", "chance_reeds", "worn_out_share"]

FloatArray = npt.NDArray[np.float64]
BoolArray = npt.NDArray[np.bool_]

_LIMIT, _SAMPLES = 2**12, 2_000  # arrangements counted or drawn: enough to compare layouts
_PATTERNS = 8  # sets of lost reeds tried
_LOST = 0.02  # share of reeds lost or ill-used whatever the hours: our assumption


@dataclass(frozen=True)
class Chance:
    """Shares of simulated trials. `error` is the Monte-Carlo standard error of `right`."""

    right: float
    wrong: float
    same: float
    trials: int

    @property
    def error(self) -> float:
        """Standard error of `right` from the number of trials (Wilson's centre, so that 0 and 1 have one)."""
        p = (self.right * self.trials + 2) / (self.trials + 4)
        return float(np.sqrt(p * (1 - p) / self.trials))

    @classmethod
    def of(cls, verdicts: Sequence[str]) -> Chance:
        """Count verdicts of trials in which the second way is truly better."""
        v = np.asarray(verdicts)
        return cls(float((v == "b_better").mean()), float((v == "a_better").mean()),
                   float((v == "no_real_difference").mean()), len(v))


def chance_reeds(
    block: Sequence[str], n_b: Mapping[Hashable, int], first_play: FloatArray, *, kind: str, gap: float,
    sittings: float, hours: float, same_day: float, adjusted: bool, world: World, level: float, trials: int,
    rng: np.random.Generator,
) -> Chance:
    """Reed by reed, mean rating or wear.

    Parameters
    ----------
    block : (n,) labels
    n_b : mapping of block to reeds of the second way
    first_play : (n,) float
        The real first-play ratings; nan where there is none.
    kind : str
        ``mean_rating`` or ``wear_rate``.
    gap : float
        True difference, in the outcome's unit.
    sittings, hours : float
        Rated sittings and playing hours of a reed.
    same_day : float
        How often two reeds of a block share a day (`slots.same_day_share`).
    adjusted : bool
        Whether the first-play rating is evened out.
    """
    labels = np.asarray(block)
    is_b = deal(labels, n_b, seed=int(rng.integers(2**31)))
    noise = _rating_var(world) + world.mood_sd**2 * (1 - same_day)
    seen = gap * (2 * world.adherence - 1)  # a few sittings use the other way
    if kind == "mean_rating":
        seen *= _room(gap, world)
    verdicts: list[str] = []
    lost = _LOST
    if kind == "mean_rating":
        known, rest = _levels(labels, first_play, world)
        spread = np.sqrt(rest**2 + noise / (sittings * (1 - _missing(world))))
        lost += world.damage_share * hours / world.life_median_h
    for keep, k in _loss_patterns(labels, is_b, min(0.3, lost), trials, rng):
        z, b = is_b[keep].astype(float), labels[keep]
        if kind == "mean_rating":
            values = known[keep] + spread[keep] * rng.standard_normal((k, len(z)))
        else:
            values = _slopes((k, len(z)), noise, sittings, hours, same_day, world, rng)
        values = values + seen * z
        if adjusted:
            even = _evener(b, first_play[keep])
            values, z = values @ even.T, even @ z
        got = linear_test_batch(values, z, is_b[keep], b, level=level, margin=abs(gap), ranges=False,
                                limit=_LIMIT, samples=_SAMPLES)
        verdicts += _verdicts(got.p_value, got.estimate > 0, got.p_above, got.p_below, level)
    verdicts += ["cannot_tell"] * (trials - len(verdicts))
    return Chance.of(verdicts)


def _rating_var(world: World) -> float:
    """Return the noise variance of one rating, with those from memory and the rounding."""
    memory = 1 + world.from_memory * (world.memory_noise**2 - 1)
    return world.noise_sd**2 * memory + world.step**2 / 12


def _room(gap: float, world: World) -> float:
    """Return the share of a gap that the upper end of the scale leaves to be seen, roughly."""
    spread = np.sqrt(world.between_sd**2 + world.noise_sd**2 + world.mood_sd**2 + world.taste_sd**2)
    return float(ndtr((10 - world.level - gap / 2) / spread)) if spread > 0 else 1.0


def _missing(world: World) -> float:
    """Return the share of planned ratings that cannot be used."""
    return min(0.9, world.day_off + world.forgotten + world.unrated + world.unsure_reed)


def _slopes(shape: tuple[int, int], noise: float, sittings: float, hours: float, same_day: float, world: World,
            rng: np.random.Generator) -> FloatArray:
    """Return simulated changes of rating per playing hour.

    A reed that ends early (worn out or broken) leaves few ratings over few hours, so its slope is rough.
    One that nears its end sinks ever faster, as in `worlds`: the least-squares slope of c·x^m over [0, 1]
    is 6cm / ((m + 1)(m + 2)). Where reeds do not share their days, slow drift of taste looks like wear.
    """
    life = world.life_scale_h * rng.weibull(world.life_shape, shape)
    broken = np.where(rng.random(shape) < world.damage_share, rng.random(shape) * life, np.inf)
    h = np.minimum(np.minimum(life, broken), hours)
    rated = sittings * (1 - _missing(world))
    h = np.maximum(h, hours * min(1.0, 3 / rated))  # with fewer than three ratings a reed would not count
    across = np.maximum(rated * h / hours, 3) * h**2 / 12  # sum of squares of evenly spread hours
    fall = max(world.level - world.wear_per_hour * world.life_median_h - world.worn_level, 0.0)
    m = world.failing_bend
    failing = fall * np.minimum(h / life, 1.0) ** m * 6 * m / ((m + 1) * (m + 2)) / h
    spread = np.sqrt(world.wear_sd**2 + noise / across + (1 - same_day) * (world.taste_sd / h) ** 2)
    return spread * rng.standard_normal(shape) - failing


def _levels(labels: npt.NDArray[np.str_], first_play: FloatArray, world: World) -> tuple[FloatArray, FloatArray]:
    """Return what first play tells of each reed's level, and the spread that it leaves."""
    known = np.zeros(len(labels))
    rest = np.full(len(labels), world.reed_sd)
    has = np.isfinite(first_play)
    if has.sum() >= 3 and np.ptp(first_play[has]) > 0:
        f = first_play[has]
        known[has] = world.first_play_r * world.reed_sd * (f - f.mean()) / f.std()
        rest[has] = world.reed_sd * np.sqrt(1 - world.first_play_r**2)
    return known, rest


def _evener(labels: npt.NDArray[np.str_], first_play: FloatArray) -> FloatArray:
    """Return the map that takes out of unit values what first play explains within blocks."""
    has = np.isfinite(first_play)
    f = np.where(has, first_play, first_play[has].mean() if has.any() else 0.0)
    for b in np.unique(labels):
        f = np.where(labels == b, f - f[labels == b].mean(), f)
    size = float(f @ f)
    return np.eye(len(f)) - (np.outer(f, f) / size if size > 1e-9 else 0.0)


def _loss_patterns(labels: npt.NDArray[np.str_], is_b: BoolArray, lost: float, trials: int,
                   rng: np.random.Generator) -> list[tuple[BoolArray, int]]:
    """Draw which reeds are still there at the end, with how many trials each pattern gets.

    Blocks that lost one of the two ways leave whole; patterns with nothing left are dropped, so that
    their trials count as "can't tell".
    """
    share = np.full(_PATTERNS, trials // _PATTERNS)
    share[: trials % _PATTERNS] += 1
    found: dict[bytes, tuple[BoolArray, int]] = {}
    for k in share:
        keep = rng.random(len(labels)) >= lost
        for b in np.unique(labels):
            here = (labels == b) & keep
            if not (is_b[here].any() and (~is_b[here]).any()):
                keep &= labels != b
        if keep.any():
            before = found.get(keep.tobytes(), (keep, 0))[1]
            found[keep.tobytes()] = (keep, before + int(k))
    return [(keep, k) for keep, k in found.values() if k]


def chance_lives(
    block: Sequence[str], n_b: Mapping[Hashable, int], *, ratio: float, hours: float, world: World, level: float,
    trials: int, rng: np.random.Generator,
) -> Chance:
    """Reed by reed, lives: Weibull lives, accidents on the way, and an end after `hours` of playing a reed."""
    labels = np.asarray(block)
    is_b = deal(labels, n_b, seed=int(rng.integers(2**31)))
    true = ratio ** (2 * world.adherence - 1)
    life = world.life_scale_h * rng.weibull(world.life_shape, (trials, len(labels)))
    life = life * np.where(is_b, np.sqrt(true), 1 / np.sqrt(true))
    accident = np.where(rng.random(life.shape) < world.damage_share, rng.random(life.shape) * life, np.inf)
    worn = (life <= hours) & (life < accident)
    played = np.maximum(np.minimum(np.minimum(life, accident), hours), 1e-6)
    got = lives_test_batch(played, worn, is_b, labels, ratios=(1.0, 1 / ratio, ratio), limit=_LIMIT,
                           samples=_SAMPLES)
    return Chance.of(_verdicts(got.p_value[:, 0], got.p_longer[:, 0] < got.p_shorter[:, 0],
                               got.p_longer[:, 1], got.p_shorter[:, 2], level))


def worn_out_share(hours: float, world: World) -> float:
    """Return the share of reeds expected to be worn out after so many hours each."""
    gone = 1 - np.exp(-((hours / world.life_scale_h) ** world.life_shape))
    return float(gone * (1 - world.damage_share))


def chance_days(
    blocks: int, squares: bool, *, gap: float, world: World, level: float, trials: int, rng: np.random.Generator,
) -> Chance:
    """Day by day: `blocks` squares of two reeds and two days, or pairs of days of one reed.

    Evening out the reeds' levels in squares that lost a rating, as the analysis may do, is not counted on.
    Ratings go missing by the cell and by the day, and a few are made with the other habit. A block that
    lost a side stands in with two equal values, which doubles every count and changes no p.
    """
    reeds = 2 if squares else 1
    shape = (trials, blocks, reeds, 2)
    coin = rng.random((trials, blocks, 1, 1)) < 0.5
    dealt = (np.arange(reeds)[:, None] + np.arange(2)[None, :]) % 2 == 0  # one diagonal; or the first day
    to_b = dealt ^ coin
    used_b = to_b ^ (rng.random(shape) >= world.adherence)
    y = (world.between_sd * rng.standard_normal((trials, blocks, reeds, 1))
         + world.mood_sd * rng.standard_normal((trials, blocks, 1, 2))
         + np.sqrt(_rating_var(world)) * rng.standard_normal(shape) + gap * _room(gap, world) * used_b)
    off = rng.random((trials, blocks, 1, 2)) < world.day_off
    gone = off | (rng.random(shape) < _missing(world) - world.day_off)
    y = np.where(gone, 0.0, y)
    value = np.zeros((trials, blocks, 2))  # [..., 0] the unit dealt A, [..., 1] dealt B
    there = np.ones((trials, blocks), dtype=bool)
    for side, mine in enumerate((~to_b, to_b)):
        rated = (mine & ~gone).sum(axis=(2, 3))
        value[..., side] = (y * (mine & ~gone)).sum(axis=(2, 3)) / np.maximum(rated, 1)
        there &= rated > 0
    value *= there[..., None]
    effect = np.zeros_like(value)
    effect[..., 1] = there
    is_b = np.tile([False, True], blocks)
    got = linear_test_batch(value.reshape(trials, -1), effect.reshape(trials, -1), is_b,
                            np.repeat(np.arange(blocks), 2), level=level, margin=abs(gap), ranges=False,
                            limit=_LIMIT, samples=_SAMPLES)
    return Chance.of(_verdicts(got.p_value, got.estimate > 0, got.p_above, got.p_below, level))


def chance_boxes(days: int, pairs: int, *, gap: float, world: World, level: float, trials: int,
                 rng: np.random.Generator) -> Chance:
    """Two boxes: every day one reed drawn from each, so reeds differ from day to day as well."""
    spread = np.sqrt(2 * (world.reed_sd**2 + _rating_var(world)))
    diff = gap * _room(gap, world) + spread * rng.standard_normal((trials, days * pairs))
    off = np.repeat(rng.random((trials, days)) < world.day_off, pairs, axis=1)
    there = ~off & (rng.random(diff.shape) >= 2 * (_missing(world) - world.day_off))
    value = np.stack([np.zeros_like(diff), diff * there], axis=2)
    effect = np.stack([np.zeros_like(diff), there.astype(float)], axis=2)
    got = linear_test_batch(value.reshape(trials, -1), effect.reshape(trials, -1),
                            np.tile([False, True], days * pairs), np.repeat(np.arange(days * pairs), 2),
                            level=level, margin=abs(gap), ranges=False, limit=_LIMIT, samples=_SAMPLES)
    return Chance.of(_verdicts(got.p_value, got.estimate > 0, got.p_above, got.p_below, level))


def _verdicts(p: FloatArray, higher: BoolArray, above: FloatArray, below: FloatArray, level: float) -> list[str]:
    return [str(v) for v in decide(p, higher, ~higher, inside(above, below), False, alpha=1 - level)]
