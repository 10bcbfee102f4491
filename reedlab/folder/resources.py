"""Where things are: the logbook in its folder; the notebooks and the demo beside the package, or inside a wheel."""

from __future__ import annotations

from pathlib import Path

from ..wording import tr

__all__ = ["LOGBOOK", "demo_data_dir", "find_logbook", "notebooks_dir"]

#: The logbook's file name in the player's folder.
LOGBOOK = "reeds.logbook"

_PACKAGE = Path(__file__).resolve().parents[1]


def _find(name: str) -> Path:
    for folder in (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(tr("reedlab's `{name}` folder is missing: please install reedlab again").format(name=name))


def notebooks_dir() -> Path:
    """Return the folder with the notebooks as shipped; never write into it."""
    return _find("notebooks")


def demo_data_dir() -> Path:
    """Return the folder with the demo data as shipped; never write into it."""
    return _find("demo_data")


def find_logbook(folder: Path | str | None = None) -> Path:
    """Return where the logbook of a folder is, or will be (default: the folder the page runs in)."""
    return Path(folder if folder is not None else Path.cwd()) / LOGBOOK
