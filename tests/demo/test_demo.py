from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from reedlab.demo import set_up_demo
from reedlab.errands.read_trial import read_trial
from reedlab.errors import InputError
from reedlab.folder.clock import TODAY_FILE, today_in
from reedlab.folder.resources import demo_data_dir, find_logbook
from reedlab.logbook import Logbook

from .story import SEED
from .write import write_demo

LONG, SHORT, RUNNING, STANDING = "Drying and life", "Water or mouth", "High or low", "Rinse or wipe"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return set_up_demo(tmp_path_factory.mktemp("demo") / "reeds")


@pytest.fixture(scope="module")
def truth() -> dict:
    return json.loads((demo_data_dir() / "truth.json").read_text(encoding="utf8"))


def test_the_demo_logbook_is_sound_and_its_day_is_fixed(demo: Path, truth: dict) -> None:
    assert today_in(demo.parent) == date.fromisoformat(truth["today"])
    with Logbook.open(demo, read_only=True) as book:
        assert book.check() == []
        assert set(book.frame("trials")["trial"]) == {LONG, SHORT, RUNNING, STANDING}


def test_two_trials_are_finished_and_one_is_on_its_fifth_day_and_sealed(demo: Path) -> None:
    today = today_in(demo.parent)
    with Logbook.open(demo, read_only=True) as book:
        found = {name: read_trial(book, name, today=today) for name in (LONG, SHORT, RUNNING)}
        plan = book.protocol(RUNNING)
    assert (today - plan.start).days + 1 == 5
    assert found[RUNNING].to_dict()["verdict"] is None
    assert found[RUNNING].to_dict()["estimate"] is None
    assert all(found[name].to_dict()["verdict"] is not None for name in (LONG, SHORT))


def test_the_standing_trial_took_two_years_and_seven_boxes(demo: Path) -> None:
    with Logbook.open(demo, read_only=True) as book:
        plan = book.protocol(STANDING)
        said = read_trial(book, STANDING, today=today_in(demo.parent))
        frames = book.frames_of(STANDING)
    assert said.result.odds is not None
    assert [n for n, _ in said.result.odds.boxes] == [1, 2, 3, 4, 5, 6, 7]
    assert 600 < (said.result.odds.course[-1][0] - plan.start).days < 800
    mine = frames.sittings[frames.sittings["reed"].isin(plan.reeds)]
    assert 0 < mine["overall"].notna().mean() < 0.1  # a rating now and then
    plain = said.to_dict()
    assert plain["design"] == "standing"
    assert plain["e_value"] == said.result.odds.course[-1][1]
    assert "odds of 20 to 1" in " ".join(said.to_text().split())


def test_reeds_of_the_long_trial_ended_in_every_way(demo: Path) -> None:
    with Logbook.open(demo, read_only=True) as book:
        reeds = set(book.protocol(LONG).reeds)
        gone = book.frame("retirements").set_index("reed")["reason"]
    assert (gone == "worn_out").sum() >= 2
    assert (gone == "damaged").sum() >= 2
    assert len(reeds - set(gone.index)) >= 2


def test_the_diary_looks_like_a_real_one(demo: Path) -> None:
    """Days off, a holiday, gaps, entries from memory, remarks, corrections and a withdrawn double entry."""
    with Logbook.open(demo, read_only=True) as book:
        days, sittings, plan = book.frame("days"), book.frame("sittings"), book.protocol(SHORT)
        before = pd.read_csv(demo_data_dir() / "logbook" / "history" / "sittings.csv")
        touched = sittings[sittings["sitting"].isin(before["sitting"])]["entry_id"]
        corrected = [len(book.history("sittings", i)) for i in touched]
    assert days["day_off"].any()
    assert days["pause"].sum() == 14
    assert sittings["from_memory"].any()
    assert sittings["remark"].nunique() > 3
    assert corrected == [2, 2]
    assert before["withdrawn"].sum() == 1
    rated = sittings[sittings["reed"].isin(plan.reeds) & (sittings["date"] >= str(plan.start))]
    assert len(rated) < len(plan.slots)


def test_the_truth_beside_the_data_is_what_the_analysis_still_finds(demo: Path, truth: dict) -> None:
    assert truth["seed"] == SEED
    today = today_in(demo.parent)
    with Logbook.open(demo, read_only=True) as book:
        for told in truth["trials"]:
            found = read_trial(book, told["trial"], today=today).to_dict()
            if told["found"] is None:
                assert found["estimate"] is None
                continue
            for key in ("estimate", "low", "high", "p_value"):
                want = told["found"][key]  # None where a range has no end
                assert found[key] == (want if want is None else pytest.approx(want, rel=1e-6))
            assert found["verdict"] == told["found"]["verdict"]
            assert found["headline"] == told["found"]["headline"]


def test_the_page_beside_the_data_says_it_is_invented_and_gives_the_seed() -> None:
    said = (demo_data_dir() / "README.md").read_text(encoding="utf8")
    assert "invented" in said
    assert str(SEED) in said


def test_a_demo_that_is_there_stays_as_it_is(demo: Path) -> None:
    before = demo.read_bytes()
    assert set_up_demo(demo.parent) == demo
    assert demo.read_bytes() == before


def test_a_player_s_own_logbook_is_never_replaced(tmp_path: Path) -> None:
    Logbook.create(find_logbook(tmp_path)).close()
    before = find_logbook(tmp_path).read_bytes()
    with pytest.raises(InputError, match="own logbook"):
        set_up_demo(tmp_path)
    assert find_logbook(tmp_path).read_bytes() == before
    assert not (tmp_path / TODAY_FILE).exists()


def test_a_folder_that_is_not_a_demo_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "logbook").mkdir()
    with pytest.raises(InputError, match="not the demo"):
        write_demo(tmp_path)


@pytest.mark.slow
def test_the_shipped_data_are_made_anew_from_the_seed(tmp_path: Path) -> None:
    """`python -m tests.demo FOLDER` gives the shipped files byte for byte, but for the pictures of pages.

    What the analysis found may differ in its last digits from one NumPy to the next.
    """
    made, shipped = tmp_path / "again", demo_data_dir()
    write_demo(made)
    names = sorted(p.relative_to(shipped) for p in shipped.rglob("*") if p.is_file() and p.suffix != ".png")
    assert names == sorted(p.relative_to(made) for p in made.rglob("*") if p.is_file())
    stale = [str(n) for n in names if (shipped / n).read_bytes() != (made / n).read_bytes()]
    told, again = (json.loads((f / "truth.json").read_text(encoding="utf8")) for f in (shipped, made))
    assert set(stale) <= {"truth.json"}
    assert nearly(told) == nearly(again)


def nearly(x: Any) -> Any:
    """Return JSON with its numbers rounded to nine digits."""
    if isinstance(x, dict):
        return {k: nearly(v) for k, v in x.items()}
    if isinstance(x, list):
        return [nearly(v) for v in x]
    return float(f"{x:.9g}") if isinstance(x, float) else x
