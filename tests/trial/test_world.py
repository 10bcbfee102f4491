from __future__ import annotations

import math

import pytest

from reedlab.errors import InputError
from reedlab.trial.practice import value
from reedlab.worlds import World


def test_every_default_says_its_unit_its_meaning_and_where_it_comes_from() -> None:
    table = World().table()
    assert (table[["unit", "meaning", "source"]] != "").all().all()
    assumed = ~table["name"].str.startswith("effect_")
    known = table.loc[assumed, "source"].str.contains("our assumption|common practice, no published source")
    assert known.all()


def test_defaults_shared_with_the_trade_facts_are_the_same_numbers() -> None:
    w = World()
    assert w.icc == pytest.approx(value("rating_icc"), abs=0.005)
    assert (w.life_median_h, w.life_shape, w.damage_share, w.stiffness_cv) == (
        value("life_median_h"), value("life_shape"), value("damage_share"), value("stiffness_cv"))


def test_the_scale_of_lives_gives_their_median() -> None:
    w = World(life_median_h=12, life_shape=2)
    assert w.life_scale_h * math.sqrt(math.log(2)) == pytest.approx(12)


def test_impossible_numbers_are_all_named_at_once() -> None:
    with pytest.raises(InputError) as err:
        World(day_off=1.2, noise_sd=-1, life_shape=float("nan"))
    assert all(name in str(err.value) for name in ("day_off", "noise_sd", "life_shape"))


def test_unknown_names_are_refused() -> None:
    with pytest.raises(InputError, match="no_such"):
        World().but(no_such=1)
