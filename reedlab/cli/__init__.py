"""The command line: one module for each family of verbs."""

import os

from ..threads import one_thread

one_thread(os.environ)  # before anything loads NumPy

from .main import main  # noqa: E402

__all__ = ["main"]
