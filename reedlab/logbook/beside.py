"""Other copies of a logbook that lie beside it: what a synced folder leaves when two computers wrote at once."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from ..wording import tr

__all__ = ["copies_told", "other_copies"]


def other_copies(path: Path | str) -> list[Path]:
    """Return the files beside a logbook whose names begin and end as its own does, such as ``reeds (1).logbook``."""
    path = Path(path)
    try:
        here = sorted(path.resolve().parent.iterdir())
    except OSError:
        return []
    return [p for p in here if p.suffix.casefold() == path.suffix.casefold() and p.name != path.name
            and p.stem.casefold().startswith(path.stem.casefold()) and p.is_file()]


def copies_told(path: Path | str) -> Iterator[str]:
    """Yield a sentence for the player about each of them: which one is used, and how to bring the other in."""
    used = Path(path).name
    for other in other_copies(path):
        yield tr("Beside your logbook lies another: {name}. A program that keeps folders alike leaves such a copy when "
                 "two computers wrote at once. Only {used} is used. To bring in what the other holds: reedlab export "
                 "\"{name}\" other-copy, then reedlab import other-copy --into \"{used}\".").format(
                  name=other.name, used=used)
