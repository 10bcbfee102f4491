"""The command line, run as a player would: exit codes, messages, and nothing harmed."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.folder.resources import demo_data_dir


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("player") / "demo"
    assert main(["demo", str(folder)]) == 0
    return folder / "reeds.logbook"


def digest(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()


def test_demo_prints_an_answer_for_each_trial_and_how_to_open_the_pages(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["demo", str(tmp_path / "d")]) == 0
    told = capsys.readouterr().out
    names = {t["trial"] for t in json.loads((demo_data_dir() / "truth.json").read_text())["trials"]}
    assert len(names) == 4
    assert all(name in told for name in names)
    assert "the answer stays sealed" in told
    assert "open" in told.splitlines()[-1]


def test_result_as_json_has_the_promised_keys(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["result", str(demo), "--trial", "Water or mouth", "--json"]) == 0
    got = json.loads(capsys.readouterr().out)
    assert set(got) >= {
        "trial", "question", "design", "unit", "outcome", "arms", "estimate", "low", "high", "level", "p_value",
        "least_p", "verdict", "units", "blocks", "sittings", "events", "warnings", "headline", "summary",
        "protocol_sha256"}
    assert got["verdict"] in {"a_better", "b_better", "no_real_difference", "cannot_tell"}
    assert all(set(w) == {"code", "text"} for w in got["warnings"])


def test_a_running_trial_stays_sealed_until_it_is_opened_on_purpose(
    demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    book = tmp_path / "reeds.logbook"
    book.write_bytes(demo.read_bytes())
    (tmp_path / "demo_today.txt").write_bytes((demo.parent / "demo_today.txt").read_bytes())
    ask = ["result", str(book), "--trial", "High or low", "--json"]
    assert main(ask) == 0
    sealed = json.loads(capsys.readouterr().out)
    assert [sealed[k] for k in ("estimate", "p_value", "verdict")] == [None, None, None]
    assert main([*ask, "--open-early", "  "]) == 2
    assert "why" in capsys.readouterr().err
    assert main([*ask, "--open-early", "my teacher asked"]) == 0
    opened = json.loads(capsys.readouterr().out)
    assert opened["verdict"] is not None
    assert opened["looks"] == 1
    assert "early_look" in {w["code"] for w in opened["warnings"]}
    assert main([*ask, "--open-early", "again"]) == 0
    assert json.loads(capsys.readouterr().out)["looks"] == 1  # the same day is one look


def test_export_then_import_then_export_gives_the_same_files(demo: Path, tmp_path: Path) -> None:
    once, again, book = tmp_path / "once", tmp_path / "again", tmp_path / "new.logbook"
    assert main(["export", str(demo), str(once)]) == 0
    assert main(["import", str(once), "--into", str(book)]) == 0
    assert main(["export", str(book), str(again)]) == 0
    files = sorted(p.relative_to(once) for p in once.rglob("*") if p.is_file())
    assert files
    assert all((once / f).read_bytes() == (again / f).read_bytes() for f in files)


def test_check_tells_completeness_and_soundness(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", str(demo)]) == 0
    told = capsys.readouterr().out
    assert "ratings due so far" in told
    assert "The logbook is sound." in told


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["result", "{none}"], "no"),
        (["result", "{text}"], "logbook"),
        (["check", "{text}"], "logbook"),
        (["export", "{text}", "{folder}"], "logbook"),
        (["result", "{demo}", "--trial", "Nothing"], "There is:"),
        (["result", "{demo}", "--today", "yesterday"], "2026-03-01"),
        (["import", "{none}", "--into", "{new}"], ""),
        (["import", "{empty}", "--into", "{new}"], ""),
    ],
)
def test_bad_input_ends_with_2_and_one_clear_message(
    words: list[str], says: str, demo: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    text, empty, new = tmp_path / "notes.logbook", tmp_path / "empty", tmp_path / "new.logbook"
    text.write_text("shopping list")
    empty.mkdir()
    paths = {"none": tmp_path / "none", "text": text, "demo": demo, "empty": empty, "new": new,
             "folder": tmp_path / "out"}
    before = digest(demo), digest(text)
    assert main([w.format(**paths) for w in words]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("reedlab: ")
    assert says in err
    assert "Traceback" not in err
    assert (digest(demo), digest(text)) == before
    assert not new.exists()


def test_a_fault_of_our_own_ends_with_1_and_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], demo: Path
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("boom")

    monkeypatch.setattr("reedlab.errands.read_trial.read_trial", broken)
    assert main(["result", str(demo)]) == 1
    err = capsys.readouterr().err
    assert "not your fault" in err
    assert "Traceback" not in err


def test_what_a_next_trial_would_show_is_told_on_asking(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ask = ["result", str(demo), "--trial", "Drying and life", "--json"]
    assert main(ask) == 0
    plain = json.loads(capsys.readouterr().out)
    assert main([*ask, "--next"]) == 0
    played = json.loads(capsys.readouterr().out)
    assert plain["settle"] is None
    assert plain["verdict"] == "cannot_tell"
    assert played["settle"]["trials"] >= 100
    assert "on paper with your own numbers" in played["summary"]
