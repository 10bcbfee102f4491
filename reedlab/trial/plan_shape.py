"""What the JSON of a frozen plan looks like. Lengths are wide: a plan that was frozen once can always be read."""

from __future__ import annotations

from typing import Final

from ..rows.structure import Flag, Many, Maybe, Number, Row, Text, Thing
from ..wording import tr

__all__ = ["DATE", "DAY", "HABIT", "HABIT_KEY", "PLAN", "REED", "SCALE"]

_NAME: Final = Text(10_000)
_SHORT: Final = Text(300)
DATE: Final = Text(pattern=r"(19[5-9]|20[0-9]|21[0-4])[0-9]-[0-9]{2}-[0-9]{2}", words=tr("a date as 2026-03-01"))
DAY: Final = Number(-40_000, 40_000, whole=True)
REED: Final = Text(pattern=r"[^\s\-,;]{1,12}-\d{1,3}", words=tr("a reed code as box-number, such as 2-07"))
HABIT_KEY: Final = Text(pattern=r"[^\s,;]{1,24}", words=tr("the short name of a way, without space or comma"))
HABIT: Final = Thing({"key": HABIT_KEY, "name": _NAME, "steps": _NAME}, frozenset({"steps"}))
SCALE: Final = Many(Row((Number(0, 10, whole=True), _SHORT)), most=11)
_SLOT: Final = Thing({"day": DAY, "order": Number(0, 10_000, whole=True), "reed": REED})
_UNIT: Final = Thing({"unit": _SHORT, "block": _SHORT, "reeds": Many(REED, 1, 1000), "cells": Many(Row((REED, DAY)))})

#: The plan of one trial, as `Protocol.to_json` writes it.
PLAN: Final = Thing({
    "trial": _SHORT, "question": _SHORT, "ask": _NAME, "instrument": _SHORT, "habits": Many(HABIT, 2, 2),
    "design": _SHORT, "outcome": _SHORT, "matters": Number(0, 1e6), "start": DATE, "days": Number(1, 5000, whole=True),
    "units": Many(_UNIT, most=10_000), "dealt": Many(HABIT_KEY, most=10_000), "slots": Many(_SLOT),
    "rating": Text(choices=("overall", "response", "tone", "stiffness", "preference")), "level": Number(0.5, 1),
    "seed": Maybe(Number(-2**63, 2**64, whole=True)), "how_dealt": Text(choices=("seed", "by hand", "not")),
    "adjust": Many(Text(choices=("day", "age_hours", "humidity", "first_play", "break_in", "order")), most=5),
    "setup": Maybe(_SHORT), "same_days": Flag(), "from_new": Flag(),
    "worn_out_rule": Text(choices=("ratings", "player")), "worn_out_below": Number(-10, 20),
    "good_below": Number(-10, 20), "in_a_row": Number(1, 1000, whole=True), "cap_hours": Maybe(Number(0, 1e6)),
    "expected": Maybe(_SHORT), "expected_gap": Maybe(Number(-1e6, 1e6)), "masked": Text(choices=("none", "helper")),
    "overrides": Many(Row((HABIT_KEY, _SHORT, Number(-1e6, 1e6))), most=1000), "scale": SCALE,
    "version": Number(1, 1, whole=True), "standing": Text(choices=("box", "fours")), "read_early": Flag(),
    "effect_days": Number(0, 365, whole=True), "past_lives": Many(Row((Number(0, 1e6), Flag())), most=1000),
}, frozenset({"rating", "level", "seed", "how_dealt", "setup", "same_days", "from_new", "worn_out_rule",
              "worn_out_below", "good_below", "in_a_row", "cap_hours", "expected", "expected_gap", "masked",
              "version", "standing", "read_early", "effect_days", "past_lives"}))
