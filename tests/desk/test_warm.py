"""Kernels kept warm: handed to pages of ours alone, one each, refilled, let go when nobody looks."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from jupyter_server.services.contents.largefilemanager import AsyncLargeFileManager
from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager

from reedlab.desk import warm
from reedlab.desk.pages import LINE, PAGES
from reedlab.desk.warm import PageKernels, PageSessions


class Kernel:
    """Stands in for a kernel's process."""

    kernel_name, execution_state, reason = "python3", "idle", ""

    def __init__(self) -> None:
        self.alive, self.last_activity = True, datetime(2026, 1, 1, tzinfo=UTC)

    async def is_alive(self) -> bool:
        return self.alive


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch) -> Callable[[Callable[[PageKernels], Coroutine[Any, Any, None]]], None]:
    """Run a test's body on a manager whose kernels are no processes."""
    monkeypatch.setattr(warm, "_STILL_S", 0.01)
    monkeypatch.setattr(warm, "_GONE_AFTER_S", 0.01)
    started: list[dict[str, Any]] = []

    async def start(self: PageKernels, **how: Any) -> str:
        started.append(how)
        name = f"kernel-{len(started)}"
        self._kernels[name] = Kernel()
        self._kernel_connections[name] = 0
        return name

    async def stop(self: PageKernels, kernel_id: str, now: bool = False) -> None:
        self.remove_kernel(kernel_id)

    monkeypatch.setattr(AsyncMappingKernelManager, "start_kernel", start)
    monkeypatch.setattr(PageKernels, "shutdown_kernel", stop)

    def do(body: Callable[[PageKernels], Coroutine[Any, Any, None]]) -> None:
        async def all_of_it() -> None:
            kernels = PageKernels()
            await kernels.fill()
            await body(kernels)
            assert all("get_ready" in str(how["extra_arguments"]) for how in started if how.get("extra_arguments"))

        # in a thread of its own: a browser that this run has open keeps a loop in this one
        with ThreadPoolExecutor(1) as apart:
            apart.submit(asyncio.run, all_of_it()).result()

    return do


def test_a_page_gets_a_kernel_that_waits_and_another_comes_in_its_place(run: Any) -> None:
    async def body(kernels: PageKernels) -> None:
        assert kernels.list_kernels() == []  # they are nobody's yet
        first = await kernels.hand_out()
        assert first == "kernel-1"
        assert [k["id"] for k in kernels.list_kernels()] == [first]
        kernels._kernels[first].execution_state = "busy"
        kernels.notify_connect(first)
        await asyncio.sleep(0.2)
        assert len(kernels.list_kernel_ids()) == 2  # it runs
        kernels._kernels[first].execution_state = "idle"
        await asyncio.sleep(0.2)
        assert len(kernels.list_kernel_ids()) == 3  # two wait again
        assert await kernels.hand_out() == "kernel-2"

    run(body)


def test_a_kernel_that_died_while_it_waited_is_handed_to_nobody(run: Any) -> None:
    async def body(kernels: PageKernels) -> None:
        kernels._kernels["kernel-1"].alive = False
        assert await kernels.hand_out() == "kernel-3"  # made for this page

    run(body)


def test_a_kernel_is_stopped_a_while_after_its_page_has_gone(run: Any) -> None:
    async def body(kernels: PageKernels) -> None:
        mine = await kernels.hand_out()
        kernels.notify_connect(mine)
        kernels.notify_disconnect(mine)
        kernels.notify_connect(mine)  # the page was only away for a moment
        await asyncio.sleep(0.1)
        assert mine in kernels
        kernels.notify_disconnect(mine)
        await asyncio.sleep(0.1)
        assert mine not in kernels

    run(body)


def test_what_waits_is_not_stopped_for_having_nothing_to_do(run: Any) -> None:
    async def body(kernels: PageKernels) -> None:
        kernels.cull_idle_timeout = 1
        for name in list(kernels.list_kernel_ids()):
            await kernels.cull_kernel_if_idle(name)
        assert len(kernels.list_kernel_ids()) == 2

    run(body)


def test_each_opening_of_a_page_is_a_session_of_its_own_and_other_notebooks_get_ordinary_kernels(
        run: Any, tmp_path: Path) -> None:
    async def body(kernels: PageKernels) -> None:
        sessions = PageSessions(kernel_manager=kernels, contents_manager=AsyncLargeFileManager(root_dir=str(tmp_path)))
        assert "today.ipynb" in PAGES
        assert not await sessions.session_exists("today.ipynb")

        async def kernel_for(path: str, name: str, kernel: str | None = "python3") -> str:
            return await sessions.start_kernel_for_session("s", path, name, "notebook", kernel, None)  # type: ignore[arg-type]

        assert await kernel_for("today.ipynb", "today.ipynb") == "kernel-1"
        assert await kernel_for("plan.ipynb", "plan.ipynb", None) == "kernel-2"
        assert await kernel_for("0f6d7b8c-1", "case.ipynb") in kernels._of_pages  # JupyterLab 4.6 names no path
        for path, name, kernel in (("mine.ipynb", "mine.ipynb", "python3"), ("0f6d7b8c-2", "mine.ipynb", "python3"),
                                   ("folder/today.ipynb", "today.ipynb", "python3"),
                                   ("today.ipynb", "today.ipynb", "other")):
            made = await kernel_for(path, name, kernel)
            assert made not in kernels._of_pages
            await kernels.shutdown_kernel(made)

    run(body)


def test_the_line_at_the_top_leads_to_pages() -> None:
    assert LINE[0] == ("start.ipynb", "Start", "Start")
    assert {page for page, _, _ in LINE} < set(PAGES)
