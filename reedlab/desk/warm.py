"""Kernels kept warm for our own pages, so that a page opens without waiting for one to start and load the forms.

Every page has a kernel of its own: a long forecast on one page then never holds up a Save on another, and a crash ends
one page only. Two kernels with the forms loaded wait; a page of ours is handed one, and another is made in its place a
moment later. Any other notebook of the player's gets an ordinary kernel.
"""

from __future__ import annotations

import asyncio
import os
from collections.abc import Coroutine
from datetime import UTC, datetime
from typing import Any, Final

from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from jupyter_server.services.sessions.sessionmanager import KernelName, ModelName, SessionManager
from jupyter_server.utils import ApiPath, ensure_async

from .forked import LOAD, QUIET, PageKernel
from .pages import PAGES

__all__ = ["PageKernels", "PageSessions"]

_WARM: Final = 2
#: The page that has just been handed one opens first: another is made once its kernel has been still for so long ...
_STILL_S: Final = 0.3
#: ... or after this.
_REFILL_AFTER_S: Final = 6.0
#: A page was closed or loaded anew, and nobody looks at its kernel any more.
_GONE_AFTER_S: Final = 60.0


class PageKernels(AsyncMappingKernelManager):
    """The server's kernels, some of them warm and handed to nobody yet."""

    def __init__(self, **more: Any) -> None:
        super().__init__(**more)
        self.kernel_manager_class = f"{PageKernel.__module__}.{PageKernel.__name__}"
        self._warm: list[str] = []
        self._of_pages: set[str] = set()
        self._tasks: set[asyncio.Task[None]] = set()

    def soon(self, work: Coroutine[Any, Any, None]) -> None:
        """Have something done beside the rest."""
        task = asyncio.ensure_future(work)
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)

    async def fill(self, after: str = "") -> None:
        """Start kernels until enough wait, once the page that was handed the kernel `after` shows."""
        await self._shown(after)
        while len(self._warm) < _WARM:
            self._warm.append(await self._start())

    async def _shown(self, kernel_id: str) -> None:
        """Wait until a page has come for its kernel and the kernel has nothing more to do."""
        until = datetime.now(UTC).timestamp() + _REFILL_AFTER_S
        while kernel_id in self and (now := datetime.now(UTC).timestamp()) < until:
            kernel: Any = self.get_kernel(kernel_id)
            still = now - kernel.last_activity.timestamp()
            if self._kernel_connections.get(kernel_id) and kernel.execution_state == "idle" and still > _STILL_S:
                return
            await asyncio.sleep(0.1)

    async def _start(self) -> str:
        kernel_id: str = await super().start_kernel(path=ApiPath(""), env=dict(os.environ),
                                                    extra_arguments=[LOAD, QUIET])
        self._of_pages.add(kernel_id)
        return kernel_id

    async def hand_out(self) -> str:
        """Return a kernel for a page of ours, warm if there is one."""
        kernel_id = ""
        while self._warm and kernel_id not in self:
            kernel_id = self._warm.pop(0)
        if kernel_id not in self or not await ensure_async(self.is_alive(kernel_id)):
            kernel_id = await self._start()
        self._mark_used(kernel_id)
        self.soon(self.fill(after=kernel_id))
        self.soon(self._stop_unless_wanted(kernel_id, 5 * _GONE_AFTER_S))  # a page that never comes
        return kernel_id

    def _mark_used(self, kernel_id: str) -> None:
        """Have its idle time counted from now."""
        kernel: Any = self.get_kernel(kernel_id)
        kernel.last_activity = datetime.now(UTC)

    def list_kernels(self) -> list[dict[str, Any]]:
        """Return the kernels in use; those that wait are nobody's yet."""
        return [model for model in super().list_kernels() if model["id"] not in self._warm]

    def notify_disconnect(self, kernel_id: str) -> None:
        """A page has let go of its kernel; if no page comes back to it, it is stopped."""
        super().notify_disconnect(kernel_id)
        if kernel_id in self._of_pages:
            self.soon(self._stop_unless_wanted(kernel_id, _GONE_AFTER_S))

    async def _stop_unless_wanted(self, kernel_id: str, after_s: float) -> None:
        await asyncio.sleep(after_s)
        if kernel_id in self and not self._kernel_connections.get(kernel_id):
            await self.shutdown_kernel(kernel_id, now=True)

    def remove_kernel(self, kernel_id: str) -> Any:
        """Forget a kernel that was stopped."""
        self._of_pages.discard(kernel_id)
        return super().remove_kernel(kernel_id)

    async def cull_kernel_if_idle(self, kernel_id: str) -> None:
        """Stop a kernel that has had nothing to do for long, unless it is there to wait."""
        if kernel_id not in self._warm:
            await super().cull_kernel_if_idle(kernel_id)


def _is_page(path: str | None, name: str | None) -> bool:
    """Tell whether a session is for a page of ours. JupyterLab 4.6 gives a path that is none, and a name."""
    return path in PAGES or (name in PAGES and "/" not in (path or ""))


class PageSessions(SessionManager):
    """The server's sessions. Each opening of a page of ours is one of its own, so that two tabs never share a form."""

    async def session_exists(self, path: str) -> bool:
        """Tell whether a notebook that is being opened should join a session that runs already."""
        return path not in PAGES and await super().session_exists(path)

    async def start_kernel_for_session(
            self, session_id: str, path: str | None, name: ModelName | None, type: str | None,
            kernel_name: KernelName | None, kernel_id: str | None = None) -> str:
        """Return the kernel for a new session: a warm one for a page of ours."""
        kernels = self.kernel_manager
        usual = kernel_name in (None, "", kernels.default_kernel_name)
        if _is_page(path, name) and usual and kernel_id is None and isinstance(kernels, PageKernels):
            return await kernels.hand_out()
        return await super().start_kernel_for_session(session_id, path, name, type, kernel_name, kernel_id)
