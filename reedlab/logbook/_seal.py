"""The seal of an entry: SHA-256 over all it says and over the seal of the entry before it in its table. Pure.

So an entry that was changed, lost or put in by anything but the logbook is seen: the entry itself by its own
seal, a gap in the row by the next one's. A seal covers values as SQLite holds them. Empty values and ticks that
are not set are left out, so a column that comes later leaves older seals as they are.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence
from typing import Any, Final

__all__ = ["FIRST", "sealed"]

#: What stands before the first entry of a table.
FIRST: Final = bytes(32)
_AS_TEXT: Final = json.JSONEncoder(sort_keys=True, separators=(",", ":"), default=repr).encode


def sealed(table: str, meta: Sequence[Any], columns: Sequence[str], values: Sequence[Any], ticks: frozenset[str],
           before: bytes) -> bytes:
    """Return the seal of one entry, 32 bytes.

    Parameters
    ----------
    table : str
    meta : sequence
        Its `entry_id`, `entered_at`, `supersedes` and `withdrawn`.
    columns, values : sequences of the same length
        The table's own columns, and their values as SQLite holds them.
    ticks : frozenset of str
        The columns that hold 0 or 1.
    before : bytes
        The seal of the entry before it in the table, `FIRST` for the first.
    """
    said = {c: v for c, v in zip(columns, values, strict=True)
            if (v is not None or c in ticks) and not (v == 0 and c in ticks)}
    return hashlib.sha256(before + _AS_TEXT([table, *meta, said]).encode("ascii")).digest()
