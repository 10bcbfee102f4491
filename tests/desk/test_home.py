"""The player's folder: pages come and are renewed, what the player made stays."""

from __future__ import annotations

import json
import os
import shlex
import subprocess
from pathlib import Path

import pytest

from reedlab.desk import home
from reedlab.desk.launchers import write_launcher
from reedlab.errors import InputError
from reedlab.folder import resources


def edit_cell(page: Path, source: str) -> None:
    notebook = json.loads(page.read_text(encoding="utf8"))
    notebook["cells"][0]["source"] = source
    page.write_text(json.dumps(notebook), encoding="utf8")


def test_new_folder_gets_every_page_and_a_launcher(tmp_path: Path) -> None:
    folder = tmp_path / "my reeds"
    home.prepare_folder(folder)
    assert {p.name for p in folder.glob("*.ipynb")} == set(home.PAGES)
    assert any(p.name.startswith("Open my reeds") for p in folder.iterdir())


def test_preparing_never_touches_the_logbook_or_the_players_own_files(tmp_path: Path) -> None:
    home.prepare_folder(tmp_path)
    resources.find_logbook(tmp_path).write_bytes(b"precious")
    (tmp_path / "my thoughts.ipynb").write_text("mine", encoding="utf8")
    home.prepare_folder(tmp_path)
    assert resources.find_logbook(tmp_path).read_bytes() == b"precious"
    assert (tmp_path / "my thoughts.ipynb").read_text(encoding="utf8") == "mine"


def test_outputs_alone_are_renewed_without_a_copy(tmp_path: Path) -> None:
    home.prepare_folder(tmp_path)
    page = tmp_path / "today.ipynb"
    notebook = json.loads(page.read_text(encoding="utf8"))
    notebook["metadata"]["seen"] = True
    page.write_text(json.dumps(notebook), encoding="utf8")
    files = {p: p.stat().st_ino for p in tmp_path.glob("*.ipynb")}
    assert home.prepare_folder(tmp_path).kept == ()
    assert [p for p, file in files.items() if p.stat().st_ino != file] == [page]
    assert "seen" not in json.loads(page.read_text(encoding="utf8"))["metadata"]


def test_a_page_the_player_edited_is_kept_under_a_new_name(tmp_path: Path) -> None:
    home.prepare_folder(tmp_path)
    edit_cell(tmp_path / "today.ipynb", "my own words")
    prepared = home.prepare_folder(tmp_path)
    assert [p.name for p in prepared.kept] == ["today (my copy 1).ipynb"]
    assert "my own words" in prepared.kept[0].read_text(encoding="utf8")
    edit_cell(tmp_path / "today.ipynb", "again")
    assert [p.name for p in home.prepare_folder(tmp_path).kept] == ["today (my copy 2).ipynb"]


def test_an_untouched_page_of_an_older_version_is_renewed_without_a_copy(tmp_path: Path) -> None:
    home.prepare_folder(tmp_path)
    edit_cell(tmp_path / "plan.ipynb", "as an older version had it")
    record = tmp_path / ".reedlab-pages.json"
    prints = json.loads(record.read_text(encoding="utf8"))
    prints["plan.ipynb"] = home.cells_print((tmp_path / "plan.ipynb").read_bytes())
    record.write_text(json.dumps(prints), encoding="utf8")
    assert home.prepare_folder(tmp_path).kept == ()


def test_a_file_in_place_of_the_folder_is_refused_in_plain_words(tmp_path: Path) -> None:
    wrong = tmp_path / "reeds"
    wrong.write_text("", encoding="utf8")
    with pytest.raises(InputError, match="is a file, not a folder"):
        home.prepare_folder(wrong)


def test_jupyterlab_is_started_on_loopback_and_without_news(tmp_path: Path) -> None:
    command = home.lab_command(tmp_path, port=9999, browser=False)
    assert "--ServerApp.ip=127.0.0.1" in command
    assert "--LabApp.news_url=None" in command
    assert "--no-browser" in command


@pytest.mark.parametrize("phone", [False, True])
def test_no_key_stands_in_the_arguments_that_every_user_of_the_computer_can_read(
        tmp_path: Path, monkeypatch: pytest.MonkeyPatch, phone: bool) -> None:
    started: list[tuple[list[str], dict[str, str]]] = []
    monkeypatch.setattr(home.subprocess, "Popen", lambda command, cwd, env: started.append((command, env)))
    monkeypatch.setattr(home, "home_address", lambda: "192.168.1.5")
    monkeypatch.setattr(home, "_running", lambda folder: None)
    monkeypatch.setenv("JUPYTER_DATA_DIR", str(tmp_path / "data"))
    said: list[str] = []
    home.open_folder(tmp_path / "reeds", browser=False, phone=phone, say=said.append, wait=False)
    (command, env), = started
    token = env["JUPYTER_TOKEN"]
    assert len(token) >= 32
    assert token in "\n".join(said)
    key = home.keys.read(tmp_path / "reeds")
    assert (key is not None) == phone == ("REEDLAB_PHONE_AT" in env)
    for secret in (token, *((key.key, key.secret) if key else ())):
        assert not any(secret in word for word in command)
        assert secret == token or secret not in env.values()


def test_settings_of_other_jupyters_on_the_computer_are_kept_apart() -> None:
    env = home.lab_environment({"JUPYTER_CONFIG_DIR": "/elsewhere", "PATH": "/bin"})
    assert env["JUPYTER_CONFIG_DIR"] != "/elsewhere"
    assert env["PATH"] == "/bin"


def test_shipped_settings_are_readable_json_and_open_one_page_at_a_time() -> None:
    settings = Path(home.__file__).parents[1] / "labconfig"
    overrides = json.loads((settings / "settings" / "overrides.json").read_text(encoding="utf8"))
    assert overrides["@jupyterlab/application-extension:shell"]["startMode"] == "single"
    assert overrides["@jupyterlab/apputils-extension:notification"]["fetchNews"] == "false"
    package = json.loads((settings / "labextensions/reedlab-pages/package.json").read_text(encoding="utf8"))
    script = settings / "labextensions/reedlab-pages" / package["jupyterlab"]["_build"]["load"]
    assert "notebook:run-all-cells" in script.read_text(encoding="utf8")


@pytest.mark.parametrize(("system", "names"), [
    ("win32", ["Open my reeds, phone too.bat", "Open my reeds.bat"]),
    ("darwin", ["Open my reeds, phone too.command", "Open my reeds.command"]),
    ("linux", ["Open my reeds, phone too.desktop", "Open my reeds, phone too.sh", "Open my reeds.desktop",
               "Open my reeds.sh"]),
])
def test_each_kind_of_computer_gets_its_launcher(tmp_path: Path, system: str, names: list[str]) -> None:
    python = r"C:\Tools 100%\python.exe" if system == "win32" else "/opt/my python/bin/python"
    files = write_launcher(tmp_path, system=system, python=python)
    assert sorted(p.name for p in files) == names
    for path in files:
        text = path.read_bytes().decode("utf8")
        assert "-m reedlab open" in text
        assert ("--phone" in text) == ("phone too" in path.name)
        if system == "win32":
            assert r"C:\Tools 100%%\python.exe" in text
            assert text.count("\n") == text.count("\r\n")
        else:
            assert os.access(path, os.X_OK)


def test_shell_launcher_runs_this_python_in_its_own_folder(tmp_path: Path) -> None:
    folder = tmp_path / "it's mine; really"
    folder.mkdir()
    fake = tmp_path / "fake python"
    fake.write_text('#!/bin/sh\necho "$PWD|$*"\n', encoding="utf8")
    fake.chmod(0o755)
    launcher = next(p for p in write_launcher(folder, system="linux", python=str(fake)) if p.suffix == ".sh")
    said = subprocess.run([launcher], capture_output=True, text=True, cwd="/", check=True).stdout
    assert f"{folder}|-m reedlab open ." in said


def test_shell_launcher_says_what_to_do_when_reedlab_has_moved(tmp_path: Path) -> None:
    launcher = write_launcher(tmp_path, system="darwin", python="/nowhere/python")[0]
    run = subprocess.run([launcher], capture_output=True, text=True, input="\n", check=False)
    assert run.returncode == 1
    assert "has moved" in run.stdout
    assert "Traceback" not in run.stdout + run.stderr


def test_desktop_launcher_quotes_folder_and_python(tmp_path: Path) -> None:
    folder = tmp_path / "50% $HOME"
    folder.mkdir()
    path = next(p for p in write_launcher(folder, system="linux", python="/a b/python") if p.suffix == ".desktop")
    line = next(x for x in path.read_text(encoding="utf8").splitlines() if x.startswith("Exec="))
    assert '"/a b/python" -m reedlab open' in line
    assert "50%%" in line
    assert "\\\\$HOME" in line
    assert shlex.split(line.removeprefix("Exec="))[0] == "/a b/python"
