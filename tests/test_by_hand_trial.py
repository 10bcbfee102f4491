"""A trial shuffled with playing cards and kept in a spreadsheet goes all the way through."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from reedlab.cli import main

FOLDER = Path(__file__).parent / "references" / "by_hand"


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("sax") / "reeds.logbook"
    assert main(["import", str(FOLDER), "--into", str(path)]) == 0
    return path


def read(book: Path, trial: str, capsys: pytest.CaptureFixture[str]) -> dict:  # type: ignore[type-arg]
    assert main(["result", str(book), "--trial", trial, "--today", "2026-01-10", "--json"]) == 0
    return json.loads(capsys.readouterr().out)  # type: ignore[no-any-return]


def test_the_pairs_of_days_are_compared_as_plain_counting_does(
    book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    dealt = pd.read_csv(FOLDER / "dealt.csv").query("trial == 'Place on the mouthpiece'")
    sittings = pd.read_csv(FOLDER / "sittings.csv", parse_dates=["date"])
    sittings["day"] = (sittings["date"] - pd.Timestamp("2025-10-06")).dt.days + 1
    rated = dealt.merge(sittings[["day", "reed", "overall"]], on=["day", "reed"])
    wide = rated.pivot(index="block", columns="habit", values="overall").dropna()
    gaps = (wide["lower"] - wide["level"]).to_numpy()
    means = np.array([np.mean(gaps * signs) for signs in itertools.product((1, -1), repeat=len(gaps))])
    p = 2 * min((means >= gaps.mean() - 1e-9).mean(), (means <= gaps.mean() + 1e-9).mean())

    got = read(book, "Place on the mouthpiece", capsys)
    assert got["estimate"] == pytest.approx(gaps.mean())
    assert got["p_value"] == pytest.approx(min(1.0, p))
    assert got["unit"] == "sitting"
    assert got["blocks"] == len(gaps) == 7
    assert "block_lost" in {w["code"] for w in got["warnings"]}
    assert "half_squares" not in {w["code"] for w in got["warnings"]}  # there are no squares here


def test_the_two_cases_are_compared_by_reeds_not_by_ratings(
    book: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    got = read(book, "Two cases", capsys)
    assert got["unit"] == "reed"
    assert got["units"] == 11  # L-3 broke with two ratings
    assert got["least_p"] == pytest.approx(2 / (6 * 6 * 3))
    assert got["verdict"] == "cannot_tell"
