"""Where the notebooks and the demo data are: beside the package in a checkout, inside it in a wheel."""

from __future__ import annotations

from pathlib import Path

__all__ = ["demo_data_dir", "notebooks_dir"]

_PACKAGE = Path(__file__).resolve().parent


def _find(name: str) -> Path:
    for folder in (_PACKAGE / "_shipped" / name, _PACKAGE.parent / name):
        if folder.is_dir():
            return folder
    raise FileNotFoundError(f"reedlab's `{name}` folder is missing: please install reedlab again")


def notebooks_dir() -> Path:
    """Return the folder with the notebooks as shipped; never write into it."""
    return _find("notebooks")


def demo_data_dir() -> Path:
    """Return the folder with the demo data as shipped; never write into it."""
    return _find("demo_data")
