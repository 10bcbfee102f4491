"""What a forked process does to become a page's kernel; loads nothing that a kernel does not need."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections.abc import Mapping, Sequence
from threading import Thread
from typing import Final

__all__ = ["USUAL", "be_a_kernel"]

#: The program that is usually started as a kernel.
USUAL: Final = "ipykernel_launcher"


def be_a_kernel(arguments: Sequence[str], environ: Mapping[str, str], cwd: str | None) -> None:
    """Become the kernel that would have been started with these arguments, until it ends."""
    from ipykernel.kernelapp import launch_new_instance

    multiprocessing.current_process().daemon = False  # a cell may start processes of its own
    os.setsid()  # so that an interrupt reaches what a cell has started, and nothing else
    os.environ.clear()
    os.environ.update(environ)
    if cwd:
        os.chdir(cwd)
    sys.argv = [USUAL, *arguments, f"--IPKernelApp.parent_handle={os.getppid()}"]
    Thread(target=_end_with_the_server, daemon=True).start()
    launch_new_instance()


def _end_with_the_server() -> None:
    """Wait for the end of the server, however it comes, and end too."""
    server = multiprocessing.parent_process()
    if server is not None:
        server.join()
        os._exit(1)
