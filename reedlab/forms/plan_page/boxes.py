"""A new box as records: plain functions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from ...rows.records import Box, Reed
from ...rows.tables import Frames

__all__ = ["MOST_REEDS", "next_box", "records_of_box"]

MOST_REEDS = 50


def next_box(frames: Frames) -> str:
    """Return the number for the next box: one more than the highest so far."""
    numbers = [int(b) for b in frames.boxes["box"] if str(b).isdigit()]
    return str(max(numbers, default=0) + 1)


def records_of_box(values: Mapping[str, Any], reeds: int) -> list[Box | Reed]:
    """Return the box and its reeds, coded box-01, box-02 and so on."""
    box = Box(**values)
    return [box, *(Reed(reed=f"{box.box}-{n:02d}", box=box.box) for n in range(1, reeds + 1))]
