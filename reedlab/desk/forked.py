"""Kernels for our pages as copies of one process that has everything loaded, where the system can fork one.

To start a kernel anew and load the forms takes four seconds of a processor; a copy of a process that has them loaded
takes a tenth of that, and shares its memory until it writes there. The copying is done by Python's own fork server
(`multiprocessing`, start method "forkserver"). Where there is none, or it fails, a kernel is started as usual.
"""

from __future__ import annotations

import asyncio
import multiprocessing
import os
import signal
import sys
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, Final

from jupyter_client.connect import KernelConnectionInfo
from jupyter_client.provisioning import LocalProvisioner
from jupyter_server.services.kernels.kernelmanager import ServerKernelManager
from traitlets import default

from .as_kernel import USUAL, be_a_kernel

__all__ = ["LOAD", "QUIET", "PageKernel"]

#: Done by the kernel before it answers; also after it had to start again.
LOAD: Final = "--IPKernelApp.exec_lines=__import__('reedlab.forms').forms.get_ready()"
#: A kernel tells the window of faults alone.
QUIET: Final = "--IPKernelApp.log_level=ERROR"
#: Forked after the frameworks of macOS are loaded, a process may crash; before 3.11.1 any user of the computer could
#: ask the fork server for a process (CVE-2022-42919).
_CAN_FORK: Final = sys.platform == "linux" and sys.version_info >= (3, 11, 1)


class _Forked:
    """A forked process, told and asked as one of `subprocess` is."""

    stdin = stdout = stderr = None

    def __init__(self, arguments: Sequence[str], environ: dict[str, str], cwd: str | None) -> None:
        forks = multiprocessing.get_context("forkserver")
        forks.set_forkserver_preload(["reedlab.forms.shared.ready_made"])
        self._process = forks.Process(target=be_a_kernel, args=(arguments, environ, cwd), daemon=True)
        self._process.start()
        self.pid: int = self._process.pid or 0

    def poll(self) -> int | None:
        """Return how it ended; None while it runs."""
        return self._process.exitcode

    def wait(self) -> int | None:
        """Wait for its end and return how it ended."""
        self._process.join()
        return self._process.exitcode

    def send_signal(self, number: int) -> None:
        """Signal it, if it runs."""
        if self.poll() is None:
            os.kill(self.pid, number)

    def kill(self) -> None:
        """Kill it."""
        self.send_signal(signal.SIGKILL)

    def terminate(self) -> None:
        """Ask it to end."""
        self.send_signal(signal.SIGTERM)


class _Forking(LocalProvisioner):
    """Brings a kernel to life by forking; as usual where that fails."""

    process: Any = None

    async def launch_kernel(self, cmd: list[str], **how: Any) -> KernelConnectionInfo:
        """Launch the kernel that this command would start."""
        if USUAL not in cmd:
            return await super().launch_kernel(cmd, **how)
        arguments, environ = cmd[cmd.index(USUAL) + 1:], dict(how.get("env") or os.environ)
        try:
            # in a thread: the first is told its number only once all is loaded
            forked = await asyncio.to_thread(_Forked, arguments, environ, how.get("cwd"))
        except (OSError, EOFError):
            return await super().launch_kernel(cmd, **how)
        self.process, self.pid, self.pgid, self.cwd = forked, forked.pid, forked.pid, how.get("cwd")
        return self.connection_info


class PageKernel(ServerKernelManager):
    """Manages one kernel; that of a page of ours is forked where it can be."""

    @default("last_activity")
    def _made_now(self) -> datetime:
        """It is listed before it is watched, and the server could not tell of it without."""
        return datetime.now(UTC)

    async def start_kernel(self, *more: Any, **how: Any) -> Any:  # type: ignore[override]  # as the server's own does
        """Start the kernel."""
        if self.provisioner is None and _CAN_FORK and LOAD in how.get("extra_arguments", ()):
            self.provisioner = _Forking(kernel_id=how.get("kernel_id", ""), kernel_spec=self.kernel_spec, parent=self)
        return await super().start_kernel(*more, **how)

    async def restart_kernel(self, *more: Any, **how: Any) -> None:  # type: ignore[override]  # as the server's own does
        """Start the kernel anew, at new ports: a line to the one that died, still half made, would take its answers."""
        await super().restart_kernel(*more, **{**how, "newports": True})
        asked = vars(self).pop("_kernel_info_future", None)
        if asked is not None and not asked.done():
            asked.set_result({})  # the one that was asked is gone, and a page waits for the answer
        self.execution_state = "starting"
        kernels: Any = self.parent
        kernels.stop_watching_activity(self.kernel_id)
        kernels.start_watching_activity(self.kernel_id)
