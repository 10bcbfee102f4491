"""Which files this program has looked through and found sound, as they stand now.

A file is looked through once, and again when anybody else has changed it. What this program itself saves since, by
SQLite, leaves a sound file sound.
"""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import Final

from ._journal import first_page

__all__ = ["Standing", "found_sound", "is_known_sound", "saved", "standing"]

#: A file's device and number, its size, when it was changed, and SQLite's own count of changes.
Standing = tuple[tuple[int, int], tuple[int, int, int], int]

_MOST: Final = 64  # files known at a time
_SOUND: dict[tuple[int, int], tuple[Standing, bool]] = {}


def standing(path: Path) -> Standing | None:
    """Return how a file stands, while nobody writes to it; None if that cannot be told."""
    with suppress(OSError):
        stat = path.stat()
        return ((stat.st_dev, stat.st_ino), (stat.st_size, stat.st_mtime_ns, stat.st_ctime_ns),
                int.from_bytes(first_page(path)[24:28], "big"))
    return None


def found_sound(path: Path, *, thoroughly: bool) -> None:
    """Remember that a file is sound as it stands; thoroughly: its indexes too."""
    now = standing(path)
    if now is not None:
        if len(_SOUND) >= _MOST:
            _SOUND.clear()
        _SOUND[now[0]] = now, thoroughly


def is_known_sound(path: Path, *, thoroughly: bool) -> bool:
    """Say whether a file was found sound as it stands."""
    now = standing(path)
    known = None if now is None else _SOUND.get(now[0])
    return known is not None and known[0] == now and known[1] >= thoroughly


def saved(path: Path, before: Standing | None) -> None:
    """Keep a file known that this program has changed by one transaction, and nobody else since `before`."""
    known = None if before is None else _SOUND.get(before[0])
    if known is None or known[0] != before:
        return
    now = standing(path)
    if now is not None and now[0] == known[0][0] and now[2] == (known[0][2] + 1) % 2**32:
        _SOUND[now[0]] = now, known[1]
