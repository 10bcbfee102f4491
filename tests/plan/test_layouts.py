from __future__ import annotations

import itertools

import pytest

from reedlab.plan.layouts import SetLayout, candidate_layouts


def box(n: int, name: str = "1") -> dict[str, list[str]]:
    return {name: [f"{name}-{i:02d}" for i in range(1, n + 1)]}


def least_p_by_hand(x: SetLayout) -> float:
    """Count the deals by listing them."""
    total = 1
    for s, b in zip(x.sets, x.n_b, strict=True):
        total *= len(list(itertools.combinations(s, b)))
    return min(1.0, 2 / total)


def test_ten_reeds_are_never_five_pairs() -> None:
    """Five pairs can only reach 2/2^5 = 0.0625; the others are usable."""
    found = {x.words: x for x in candidate_layouts(box(10))}
    assert found["5 sets of 2"].least_p == pytest.approx(0.0625)
    assert found["one set of 10"].least_p == pytest.approx(2 / 252)
    assert found["sets of 4 and 6"].least_p == pytest.approx(2 / (6 * 20))


@pytest.mark.parametrize(("n", "p"), [(6, 2 / 20), (7, 2 / 35), (8, 2 / 70), (9, 2 / 126)])
def test_one_set_of_a_few_reeds_reaches_what_counting_says(n: int, p: float) -> None:
    assert min(x.least_p for x in candidate_layouts(box(n)) if len(x.sets) == 1) == pytest.approx(p)


@pytest.mark.parametrize("n", range(2, 15))
def test_every_reed_is_in_one_set_or_spare(n: int) -> None:
    for x in candidate_layouts(box(n)):
        assert sorted([*x.reeds, *x.spare]) == box(n)["1"]
        assert x.least_p == pytest.approx(least_p_by_hand(x))
        assert all(0 < b < len(s) for s, b in zip(x.sets, x.n_b, strict=True))


def test_sets_never_cross_a_box_and_hold_neighbours() -> None:
    by_box = {**box(10, "1"), **box(7, "2")}
    for x in candidate_layouts(by_box):
        for label, s in zip(x.labels, x.sets, strict=True):
            name = label.split(".")[0]
            place = [by_box[name].index(r) for r in s]
            assert place == list(range(place[0], place[0] + len(s)))


def test_lives_get_no_set_below_four() -> None:
    for n in range(4, 23):
        assert all(len(s) >= 4 for x in candidate_layouts(box(n), smallest=4) for s in x.sets)


def test_losing_a_set_or_a_reed_costs_what_counting_says() -> None:
    x = next(x for x in candidate_layouts(box(10)) if x.words == "sets of 4 and 6")
    assert x.least_p_after_set == pytest.approx(2 / 6)  # the six is lost, 2 v 2 is left
    assert x.least_p_after_reed == pytest.approx(2 / (6 * 10))  # 2 v 3 is left of the six
    pairs = next(x for x in candidate_layouts(box(12)) if x.words == "6 sets of 2")
    assert pairs.least_p_after_reed == pytest.approx(2 / 2**5)  # a pair that lost a reed is lost
    assert pairs.least_p_after_set == pytest.approx(2 / 2**5)


def test_odd_reeds_are_spare_in_one_layout_and_dealt_in_another() -> None:
    found = candidate_layouts(box(9))
    assert any(x.spare == ("1-09",) for x in found)
    assert any(not x.spare and len(x.reeds) == 9 for x in found)
