"""How many threads the linear algebra under NumPy uses."""

from __future__ import annotations

from collections.abc import MutableMapping
from typing import Final

__all__ = ["one_thread"]

_NAMES: Final = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")


def one_thread(environ: MutableMapping[str, str]) -> None:
    """Have NumPy work with one thread, unless the user has said otherwise; to be called before NumPy is loaded.

    Our matrices are a few hundred wide: threads that wait for each other cost more than they bring, four times as
    much on a busy computer.
    """
    for name in _NAMES:
        environ.setdefault(name, "1")
