"""A diary as it is from the command line: a guess written to a small file, mended, and taken in with it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from reedlab.cli import main
from reedlab.diaries.matching import Matching

from ..errands._diaries import csv, xlsx

DIARY = csv("Datum;Blatt;Minuten;Note;Wässern", "03.02.2026;1-01;25;2,5;Wasser", "04.02.2026;1-02;30;1;Mund")


def test_a_guess_is_written_mended_and_taken_in_with(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    diary, guess, book = tmp_path / "Heft.csv", tmp_path / "heft.json", tmp_path / "reeds.logbook"
    diary.write_bytes(DIARY)
    assert main(["import", str(diary), "--into", str(book), "--guess", str(guess)]) == 0
    said = capsys.readouterr().out
    assert "In which order do the dates stand?" in said
    assert "(wasser, mund)" in said
    assert 'Under `ways`, write "wasser": and one of ' in said
    assert " water, " in said
    shown = [line.strip() for line in said.split("for instance:")[1].splitlines() if line.startswith("      ")]
    example = json.loads("{" + ", ".join(shown) + "}")
    assert set(example) == {"dates", "scale", "instrument"}
    Matching.from_json(json.dumps(json.loads(guess.read_text(encoding="utf8")) | example), "heft.json")
    assert main(["import", str(diary), "--into", str(book), "--matching", str(guess)]) == 2
    assert "Nothing was taken in yet." in capsys.readouterr().err
    assert not book.exists()
    mended = json.loads(guess.read_text(encoding="utf8")) | {
        "dates": "dmy", "scale": {"worst": 6, "best": 1, "words": {}}, "instrument": "clarinet",
        "ways": {"Wasser": "water", "Mund": "mouth"}}
    guess.write_text(json.dumps(mended), encoding="utf8")
    for told in ("Taken in: 2 entries. 2 reeds are new.", "Nothing new to take in. 2 were in the logbook already."):
        assert main(["import", str(diary), "--into", str(book), "--matching", str(guess)]) == 0
        assert told in capsys.readouterr().out
    guess.write_text('{"format": "reedlab diary matching"}', encoding="utf8")
    assert main(["import", str(diary), "--into", str(book), "--matching", str(guess)]) == 2


def test_odd_rows_are_left_out_by_their_numbers_and_another_shape_is_shown_the_way(
        tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    diary, guess, book = tmp_path / "odd.csv", tmp_path / "odd.json", tmp_path / "reeds.logbook"
    diary.write_bytes(csv("date,reed,minutes,overall", "2026-03-01,1-01,20,0", "soon,1-01,20,7", "2026-03-03,1-02,20,9",
                          "2026-03-04,1-02,2000,8"))
    assert main(["import", str(diary), "--into", str(book)]) == 2
    assert f"Then: reedlab import {diary} --into {book} --guess FILE.json" in capsys.readouterr().err
    assert main(["import", str(diary), "--into", str(book), "--guess", str(guess)]) == 0
    assert f"Then: reedlab import {diary} --into {book} --matching {guess}" in capsys.readouterr().out
    guess.write_text(json.dumps(json.loads(guess.read_text(encoding="utf8")) | {"instrument": "clarinet"}))
    taken = ["import", str(diary), "--into", str(book), "--matching", str(guess)]
    assert main([*taken, "--skip", "3"]) == 2
    told = capsys.readouterr().err
    assert "Row 5: 2000 minutes." in told
    assert "Row 3" not in told
    assert "say --skip and its number" in told
    assert main([*taken, "--skip", "2"]) == 2
    assert "row 2 is not odd" in capsys.readouterr().err
    assert not book.exists()
    assert main([*taken, "--skip", "3", "--skip", "5"]) == 0
    assert "Taken in: 2 entries. 2 reeds are new." in capsys.readouterr().out


def test_of_several_sheets_one_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    head = ["date", "reed", "minutes", "overall"]
    file, guess = tmp_path / "year.xlsx", tmp_path / "g.json"
    file.write_bytes(xlsx([head, ["2026-03-01", "1-01", 20, 0], ["2026-03-02", "1-02", 20, 9]], title="March",
                          April=[head, ["2026-04-01", "1-01", 20, 10]]))
    taken = ["import", str(file), "--into", str(tmp_path / "reeds.logbook")]
    assert main([*taken, "--guess", str(guess)]) == 0
    assert "This is the sheet “March”. Not read: the sheet “April”." in capsys.readouterr().out
    guess.write_text(json.dumps(json.loads(guess.read_text(encoding="utf8")) | {"instrument": "clarinet"}))
    assert main([*taken, "--matching", str(guess), "--sheet", "May"]) == 2
    assert "There is: March and April." in capsys.readouterr().err
    assert main([*taken, "--matching", str(guess), "--sheet", "April"]) == 0
    assert "Taken in: 1 entry." in capsys.readouterr().out
