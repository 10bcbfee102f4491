"""Invented reeds for the planner's tests, and plans and refusals for them."""

from datetime import date

import numpy as np
import pandas as pd
import pytest

from reedlab.errors import PlanRefused
from reedlab.plan import Draft, draw_up
from reedlab.rows.tables import typed

START = date(2026, 3, 2)


def reeds(*sizes: int, seed: int = 1, rated: bool = True) -> pd.DataFrame:
    """Boxes 1, 2, ... with so many reeds each; first-play ratings are invented."""
    rng = np.random.default_rng(seed)
    rows = []
    for b, n in enumerate(sizes, start=1):
        for i in range(1, n + 1):
            first = round(2 * float(rng.normal(5.5, 1.2))) / 2
            rows.append({"reed": f"{b}-{i:02d}", "box": str(b), "first_play": first if rated else None,
                         "first_stiffness": float(rng.integers(-2, 3))})
    return typed("reeds", rows)


def boxes(*cuts: tuple[str, str], instrument: str = "clarinet") -> pd.DataFrame:
    """Boxes 1, 2, ... with (cut, strength)."""
    return typed("boxes", [{"box": str(i), "instrument": instrument, "cut": c, "strength": s}
                           for i, (c, s) in enumerate(cuts, start=1)])


def plan(question: object = "drying", table: pd.DataFrame | None = None, **more: object) -> Draft:
    given: dict = {"start": START, "seed": 11, "instrument": "clarinet", "simulations": 100, **more}
    return draw_up(question, reeds(10) if table is None else table, **given)  # type: ignore[arg-type]


def refusal(*args: object, **more: object) -> PlanRefused:
    with pytest.raises(PlanRefused) as err:
        plan(*args, **more)
    assert err.value.reason
    assert err.value.instead
    return err.value
