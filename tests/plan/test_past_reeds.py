"""Earlier reeds of a kind are written into a plan that compares lives, and into no other."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta

import numpy as np
import pytest

from reedlab.errors import ProtocolError
from reedlab.plan import draw_up
from reedlab.plan.marks import Marks
from reedlab.plan.past_reeds import FEWEST_PAST, MOST_PAST, past_lives
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Protocol

START = date(2026, 6, 1)
BY_WORD = Marks(worn_out_rule="player")


def logbook(past: int = 14, *, strength: str | None = "3", of: str | None = "3", worn: int | None = None,
            gone: date = date(2026, 5, 1), ratings: tuple[float, ...] = ()) -> Frames:
    """A new box 9 of strength `of`, and earlier reeds of boxes 1, 2, ... of another strength or the same."""
    boxes = [{"box": "9", "instrument": "clarinet", "strength": of}]
    reeds = [{"reed": f"9-{i:02d}", "box": "9", "first_play": float(i % 6)} for i in range(1, 11)]
    sittings, left = [], []
    for n in range(past):
        box, reed = str(n // 10 + 1), f"{n // 10 + 1}-{n % 10 + 1:02d}"
        if n % 10 == 0:
            boxes.append({"box": box, "instrument": "clarinet", "strength": strength})
        reeds.append({"reed": reed, "box": box, "first_play": 6.0})
        for k in range(3):
            sittings.append({"sitting": f"{reed}.{k}", "date": date(2025, 3, 1) + timedelta(days=n + 7 * k),
                             "reed": reed, "play_min": 60.0 + 10 * n,
                             "overall": ratings[k] if ratings else None, "habit": "x" if n % 2 else "y"})
        left.append({"reed": reed, "date": gone + timedelta(days=n % 3),
                     "reason": "worn_out" if worn is None or n < worn else "damaged"})
    return Frames.trusted(boxes=boxes, reeds=reeds, sittings=sittings, retirements=left)


def drawn(frames: Frames, outcome: str = "life_hours", **more: object) -> Protocol:
    new = frames.reeds[frames.reeds["box"] == "9"]
    return draw_up("drying", new, start=START, seed=5, instrument="clarinet", outcome=outcome, simulations=100,
                   boxes=frames.boxes, compared=False, **{"marks": BY_WORD, "past": frames, **more}).protocol  # type: ignore[arg-type]


def test_hours_and_ends_are_those_of_the_logbook_the_last_gone_first() -> None:
    frames = logbook(worn=9)
    lives = drawn(frames).past_lives
    hours = {n: round(3 * (60 + 10 * n) / 60, 4) for n in range(14)}
    by_day = sorted(range(14), key=lambda n: (-(n % 3), n))
    assert lives == tuple((hours[n], n < 9) for n in by_day)


def test_nothing_else_of_the_plan_changes_and_its_fingerprint_does() -> None:
    frames = logbook()
    plain, beside = drawn(frames, past=None), drawn(frames)
    assert plain.past_lives == ()
    assert "past_lives" not in plain.to_json()  # plans frozen before there was such a thing keep their fingerprint
    assert dataclasses.replace(beside, past_lives=()) == plain
    assert beside.sha256 != plain.sha256
    assert Protocol.from_json(beside.to_json()) == beside
    said = draw_up("drying", frames.reeds[frames.reeds["box"] == "9"], start=START, seed=5, instrument="clarinet",
                   outcome="life_hours", simulations=100, marks=BY_WORD, past=frames, boxes=frames.boxes).remarks
    assert any(r.startswith("14 earlier reeds of the same kind") for r in said)


def test_the_plans_own_rule_says_which_wore_out() -> None:
    faded, bright = (logbook(ratings=r) for r in ((6.0, 3.0, 3.0), (8.0, 8.0, 8.0)))
    by_ratings = Marks(worn_out_rule="ratings", worn_out_below=4.0, in_a_row=2)
    assert all(e for _, e in drawn(faded, marks=by_ratings).past_lives)
    assert drawn(bright, marks=by_ratings).past_lives == ()  # none of them wore out by it


@pytest.mark.parametrize("frames", [
    logbook(FEWEST_PAST - 1), logbook(strength="2.5"), logbook(strength=None, of=None), logbook(worn=4),
    logbook(gone=START)], ids=["few", "another strength", "not said", "few wore out", "still there at the start"])
def test_without_enough_of_the_same_kind_there_are_none(frames: Frames) -> None:
    assert drawn(frames).past_lives == ()


def test_only_lives_with_a_planned_end_are_read_beside_them() -> None:
    frames = logbook()
    assert drawn(frames, "mean_rating").past_lives == ()
    assert drawn(frames, "good_hours").past_lives == ()
    plan = drawn(frames)
    by_hand = dataclasses.replace(plan, past_lives=(), seed=None, how_dealt="by hand")
    assert past_lives(frames, by_hand) == ()
    with pytest.raises(ProtocolError, match="only a trial of lives"):
        dataclasses.replace(drawn(frames, "mean_rating"), past_lives=((3.0, True),))
    for bad in (((0.0, True),), ((3.0, False),)):
        with pytest.raises(ProtocolError, match="hours above 0, and one of them"):
            dataclasses.replace(plan, past_lives=bad)


def test_of_very_many_the_newest_are_taken() -> None:
    frames = logbook(MOST_PAST + 12)
    lives = drawn(frames).past_lives
    assert len(lives) == MOST_PAST
    newest = {round(3 * (60 + 10 * n) / 60, 4) for n in range(MOST_PAST + 12) if n % 3 == 2}
    assert newest <= {h for h, _ in lives}
    assert np.isfinite([h for h, _ in lives]).all()
