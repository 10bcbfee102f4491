"""The table of units that a result hands on: what it says of each is what was dealt, done and written down."""

from __future__ import annotations

from reedlab.analysis.trial import analyse

from .._players import after, by_reed, frames, on, rated


def test_each_reed_has_its_end_and_its_share_done_on_b_as_dealt_where_it_was_never_played() -> None:
    p = by_reed((8,), outcome="life_hours")
    worn, never = set(p.reeds[:2]), p.reeds[-1]
    rows = [r for r in rated(p, lambda reed, day, _: 2.0 if reed in worn and day > 5 else 8.0) if r["reed"] != never]
    units = analyse(p, frames(p, rows), today=after(p), side_readings=False).units
    assert units is not None
    of = units.set_index("unit")
    assert set(of.index[of["worn_out"]]) == set(of.index[of["ended"] == "worn_out"]) == worn
    dealt = dict(zip([u.unit for u in p.units], p.arms, strict=True))
    assert {u: float(arm == "B") for u, arm in dealt.items()} == of["share_b"].to_dict()


def test_of_a_trial_of_ratings_only_reeds_retired_as_worn_out_are_marked_so() -> None:
    p = by_reed((2, 2))
    gone = [{"reed": p.reeds[0], "date": on(19), "reason": "worn_out"},
            {"reed": p.reeds[1], "date": on(19), "reason": "damaged"}]
    units = analyse(p, frames(p, rated(p, lambda *_: 6.0), retirements=gone), today=after(p), side_readings=False).units
    assert units is not None
    assert units["worn_out"].tolist() == (units["ended"] == "worn_out").tolist() == [True, False, False, False]
