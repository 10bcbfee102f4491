"""The table of units that a result hands on: what it says of each is what was dealt, done and written down."""

from __future__ import annotations

from reedlab.analysis.trial import analyse

from .._players import after, by_reed, frames, rated


def test_each_reed_has_its_end_and_its_share_done_on_b_as_dealt_where_it_was_never_played() -> None:
    p = by_reed((8,), outcome="life_hours")
    worn, never = set(p.reeds[:2]), p.reeds[-1]
    rows = [r for r in rated(p, lambda reed, day, _: 2.0 if reed in worn and day > 5 else 8.0) if r["reed"] != never]
    units = analyse(p, frames(p, rows), today=after(p)).units
    assert units is not None
    of = units.set_index("unit")
    assert set(of.index[of["worn_out"]]) == set(of.index[of["ended"] == "worn_out"]) == worn
    dealt = dict(zip([u.unit for u in p.units], p.arms, strict=True))
    assert {u: float(arm == "B") for u, arm in dealt.items()} == of["share_b"].to_dict()
