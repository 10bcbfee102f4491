"""Kernels forked from one process: the same to whoever asks them, cheap, and gone with the server."""

from __future__ import annotations

import asyncio
import json
import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import psutil
import pytest
from jupyter_client.provisioning import LocalProvisioner

from reedlab.desk import forked
from reedlab.desk.as_kernel import USUAL
from reedlab.desk.warm import PageKernels

pytestmark = pytest.mark.skipif(not forked._CAN_FORK, reason="no kernel is forked here")

SERVER = """
import asyncio, json, os, sys
from reedlab.desk.warm import PageKernels

ASKS = "import json, os, sys; print(json.dumps([os.getpid(), os.getppid(), os.getcwd(), os.environ['REEDLAB_LANG'], " \\
       "'reedlab.forms.plan_page.form' in sys.modules, sum(os.times()[:2])]))"

async def asked(kernels, kernel):
    client = kernels.get_kernel(kernel).client()
    client.start_channels()
    await client.wait_for_ready(timeout=60)
    said = []
    await client.execute_interactive(ASKS, timeout=60, output_hook=lambda m: said.append(m["content"].get("text", "")))
    client.stop_channels()
    return json.loads("".join(said))

async def main():
    kernels = PageKernels()
    first = await kernels.start_kernel(path="", env=dict(os.environ), extra_arguments=[])  # a notebook of the player's
    pages = [await kernels._start() for _ in range(2)]
    told = [await asked(kernels, kernel) for kernel in (first, *pages)]
    await kernels.interrupt_kernel(pages[0])
    await kernels.restart_kernel(pages[1])
    told += [await asked(kernels, kernel) for kernel in pages]
    print(json.dumps(told), flush=True)
    await asyncio.sleep(60)

asyncio.run(main())
"""


def test_page_kernels_are_forked_others_are_not_and_all_end_with_a_server_that_is_killed(tmp_path: Path) -> None:
    with subprocess.Popen([sys.executable, "-c", SERVER], cwd=tmp_path, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, text=True, env={**os.environ, "REEDLAB_LANG": "xx"}) as server:
        assert server.stdout is not None
        own, first, second, first_again, second_again = json.loads(server.stdout.readline())
        assert own[1] == server.pid
        assert not own[4]
        assert first[1] == second[1] != server.pid  # one process bore both ...
        fork_server = psutil.Process(first[1])
        assert "forkserver" in str(fork_server.cmdline())
        assert fork_server.num_threads() == 1  # ... which may be forked: no thread of it is lost on the way
        assert all(t[2:4] == [str(tmp_path), "xx"] for t in (own, first, second, first_again, second_again))
        assert all(t[4] for t in (first, second, second_again))  # the forms are there
        assert all(t[5] < 1 for t in (first, second, second_again))  # to load them takes seconds
        assert first_again[0] == first[0]  # an interrupt ends what a cell does, not the kernel
        assert second_again[0] != second[0]
        assert second_again[1] == first[1]
        all_of_them = [psutil.Process(t[0]) for t in (own, first, second_again)] + [fork_server]
        server.kill()
    assert psutil.wait_procs(all_of_them, timeout=20)[1] == []


@pytest.mark.parametrize("command", [["python", "-m", USUAL, "-f", "x.json"], ["another", "kernel"]])
def test_where_no_process_can_be_forked_a_kernel_is_started_as_usual(
        command: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    started: list[Any] = []

    def fails(*_: object) -> None:
        raise EOFError

    async def usual(self: LocalProvisioner, cmd: list[str], **how: Any) -> dict[str, Any]:
        started.append((cmd, how))
        return {}

    monkeypatch.setattr(forked, "_Forked", fails)
    monkeypatch.setattr(LocalProvisioner, "launch_kernel", usual)
    bearer = forked._Forking(kernel_id="k", kernel_spec=None, parent=None)
    with ThreadPoolExecutor(1) as apart:  # a browser that this run has open keeps a loop in this one
        assert apart.submit(asyncio.run, bearer.launch_kernel(command, env={"A": "b"}, cwd="/")).result() == {}
    assert started == [(command, {"env": {"A": "b"}, "cwd": "/"})]


def test_a_kernel_that_is_not_watched_yet_can_be_told_of() -> None:
    kernels = PageKernels()
    kernels._kernels["k"] = forked.PageKernel(parent=kernels, kernel_name="python3")
    assert [(k["id"], k["execution_state"]) for k in kernels.list_kernels()] == [("k", None)]
