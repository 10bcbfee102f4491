"""Earlier entries, to be changed or taken back. Their ratings are not shown in the list."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

import ipywidgets as w
import pandas as pd

from ..shared.fields import Pick, folds
from ..shared.form import button

__all__ = ["PastEntries"]

_LISTED = 60


class PastEntries:
    """A fold with the latest entries, newest first."""

    def __init__(self) -> None:
        self.open = w.ToggleButton(value=False, description="Change an earlier entry")
        self.pick = Pick("Entry", [], empty="choose an entry")
        self.change = button("Change it")
        self.remove = button("Take it back")
        self.fold = w.VBox([self.pick, w.HBox([self.change, self.remove])])
        self.view = w.VBox([self.open, self.fold])
        folds(self.open, self.fold)

    def offer(self, sittings: pd.DataFrame, today: date) -> None:
        """List the latest entries; hidden while there are none."""
        rows = []
        if len(sittings):
            latest = sittings.sort_values(["date", "entry_id"], ascending=False).head(_LISTED)
            rows = [(_line(row, today), int(row["entry_id"])) for row in latest.to_dict("records")]
        self.pick.offer(rows)
        self.view.layout.display = "" if len(sittings) else "none"


def _line(row: Mapping[Any, Any], today: date) -> str:
    on = row["date"].date()
    day = "today" if on == today else f"{on:%a} {on.day} {on:%b}"
    return f"{day} · {row['reed']} · {row['play_min']:g} min"
