"""Every instrument that a box may be for has its word."""

from __future__ import annotations

from reedlab.rows.tables import INSTRUMENTS
from reedlab.trial.instruments import INSTRUMENT_WORDS


def test_every_instrument_has_a_word() -> None:
    assert list(INSTRUMENT_WORDS) == list(INSTRUMENTS)
