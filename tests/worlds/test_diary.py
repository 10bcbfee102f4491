from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest

from reedlab.logbook.between import cross_check
from reedlab.rows.tables import TABLES, typed
from reedlab.rows.values import read_row
from reedlab.trial.calendar import calendar_with
from reedlab.trial.protocol import Protocol
from reedlab.worlds import World, simulate, to_frames

from ._plans import reeds_dealt, squares


def plain_rows(frame: pd.DataFrame) -> list[dict]:
    """Rows as a form would give them: plain Python values, None where missing."""
    out = []
    for row in frame.to_dict("records"):
        clean = {k: None if pd.isna(v) else v for k, v in row.items()}
        out.append({k: v.date() if isinstance(v, pd.Timestamp) else v for k, v in clean.items()})
    return out


@pytest.mark.parametrize("plan", [squares(), reeds_dealt(days=60), reeds_dealt(days=6, from_new=True)])
def test_a_simulated_logbook_passes_every_check_of_a_real_one(plan: Protocol) -> None:
    b = simulate(plan, World(minutes_a_day=150), 3, 1, fresh_deals=True)
    for i in range(3):
        f = to_frames(b, i, paused=[date(2026, 1, 8)])
        rows = {name: plain_rows(getattr(f, name)) for name in TABLES}
        assert [bad for name in TABLES for row in rows[name] for bad in read_row(name, row)[1]] == []
        assert cross_check(rows, date(2026, 12, 31)) == []


def test_frames_are_typed_and_hold_the_frozen_plan_of_that_run() -> None:
    b = simulate(squares(), World(), 4, 2, fresh_deals=True)
    for i in range(4):
        f = to_frames(b, i)
        for name in TABLES:
            pd.testing.assert_frame_equal(getattr(f, name), typed(name, getattr(f, name)))
        p = Protocol.from_json(f.trials["protocol"].iloc[0])
        assert p.sha256 == f.trials["protocol_sha256"].iloc[0]
        assert p == b.protocol_of(i)
        assert [k == "water" for k in p.dealt] == b.dealt_b[i].tolist()


def test_what_was_rated_played_and_done_is_what_the_diary_says() -> None:
    p = squares()
    b = simulate(p, World(adherence=0.8), 2, 3)
    f = to_frames(b, 1)
    dates = calendar_with(p).dates()
    assert len(f.sittings) == int(b.logged[1].sum())
    assert f.sittings["play_min"].sum() == b.play_min[1][b.logged[1]].sum()
    for _, row in f.sittings.iterrows():
        day = dates.index(row["date"].date()) + 1
        mine = b.plan.slot_reed == b.plan.reeds.index(row["reed"])
        s = int(np.flatnonzero((b.plan.slot_day == day) & mine)[0])
        assert row["overall"] == b.rating[1, s] or (pd.isna(row["overall"]) and np.isnan(b.rating[1, s]))
        assert (row["habit"] == "water") == bool(b.used_b[1, s])
        assert row["from_memory"] == b.from_memory[1, s]


def test_a_paused_day_shifts_the_rest_and_is_written_down() -> None:
    p = squares()
    b = simulate(p, World(day_off=0, forgotten=0), 1, 4)
    pause = p.start + timedelta(days=3)
    f = to_frames(b, 0, paused=[pause])
    assert f.days.set_index("date").loc[pd.Timestamp(pause), "pause"]
    assert pd.Timestamp(pause) not in set(f.sittings["date"])
    assert f.sittings["date"].max() == pd.Timestamp(p.start + timedelta(days=p.days))


def test_reeds_that_left_are_in_the_retirements_and_have_no_later_sitting() -> None:
    p = reeds_dealt(days=150)
    b = simulate(p, World(minutes_a_day=90, damage_share=0.5), 1, 5)
    f = to_frames(b, 0)
    assert len(f.retirements) == int((b.left_day[0] > 0).sum()) > 3
    assert set(f.retirements["reason"]) == {"worn_out", "damaged"}
    for _, gone in f.retirements.iterrows():
        assert f.sittings.loc[f.sittings["reed"] == gone["reed"], "date"].max() <= gone["date"]


def test_the_rating_goes_to_the_column_the_plan_names() -> None:
    f = to_frames(simulate(squares(rating="tone"), World(), 1, 6), 0)
    assert f.sittings["tone"].notna().sum() > 10
    assert f.sittings["overall"].isna().all()
