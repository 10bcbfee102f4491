"""The launcher starts JupyterLab on its folder; a second start finds the first one."""

from __future__ import annotations

import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from pathlib import Path

import pytest

from reedlab.desk import home

pytestmark = [pytest.mark.browser, pytest.mark.slow]


@pytest.mark.skipif(sys.platform == "win32", reason="the shell launcher is for macOS and Linux")
def test_launcher_starts_once_and_the_page_is_closed_to_strangers(tmp_path: Path,
                                                                  monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR"):
        monkeypatch.setenv(name, str(tmp_path / name))
    monkeypatch.setenv("PYTHONPATH", str(Path(home.__file__).parents[2]))
    monkeypatch.setenv("BROWSER", "true")  # a browser that does nothing
    folder = tmp_path / "my reeds"
    home.prepare_folder(folder)
    launcher = next(folder.glob("Open my reeds.sh"), None) or next(folder.glob("Open my reeds.command"))
    first = subprocess.Popen([launcher], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                             stdin=subprocess.DEVNULL, env=dict(os.environ), start_new_session=True)
    try:
        deadline = time.monotonic() + 60
        while (server := home._running(folder)) is None:
            assert first.poll() is None, first.stdout.read() if first.stdout else ""
            assert time.monotonic() < deadline
            time.sleep(0.3)
        address = f"{server['url']}reeds/start?token={server['token']}"
        with urllib.request.urlopen(address) as page:
            assert page.status == 200
        stranger = address.split("/reeds/")[0] + "/api/contents/start.ipynb"
        with pytest.raises(urllib.error.HTTPError, match="403"):
            urllib.request.urlopen(stranger)
        again = subprocess.run([launcher], capture_output=True, text=True, stdin=subprocess.DEVNULL,
                               env=dict(os.environ), timeout=60, check=True)
        assert "already open" in again.stdout
    finally:
        os.killpg(first.pid, 15)
        first.wait(30)
        if first.stdout:
            first.stdout.close()
