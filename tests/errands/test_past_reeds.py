"""Earlier reeds from the plan page to the answer: written into the plan, said, and the same on every way out and in."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest

from reedlab.analysis.trial import analyse
from reedlab.classes.hand_in import read_shared, share
from reedlab.cli.main import main
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed, Retirement, Sitting
from reedlab.summary import answer
from reedlab.trial.protocol import Protocol

from ..plan.test_past_reeds import START, drawn, logbook

END = START + timedelta(days=400)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Twenty earlier reeds, then a trial of ten, each played until it wears out; invented."""
    frames = logbook(20)
    rng = np.random.default_rng(6)
    plan = drawn(frames, days=60)
    with Logbook.create(tmp_path / "reeds.logbook") as book:
        book.add_many([Box(box=b, instrument="clarinet", strength="3") for b in frames.boxes["box"]])
        book.add_many([Reed(reed=r.reed, box=r.box, first_play=r.first_play) for r in frames.reeds.itertuples()])
        book.add_many([Sitting(date=s.date.date(), reed=s.reed, play_min=s.play_min)
                       for s in frames.sittings.itertuples()])
        book.add_many([Retirement(reed=r.reed, date=r.date.date(), reason=r.reason)
                       for r in frames.retirements.itertuples()])
        book.start_trial(plan)
        for reed in plan.reeds:
            way = plan.habit_for(reed, 1)
            life = 60 * 9 * rng.weibull(2) * (2.5 if way == plan.habits[1] else 1)
            days = [START + timedelta(days=k) for k in range(int(np.ceil(life / 60)))][:60]
            book.add_many([Sitting(date=d, reed=reed, play_min=60, habit=way.key) for d in days])  # type: ignore[union-attr]
            if life <= 60 * 60:
                book.add(Retirement(reed=reed, date=days[-1], reason="worn_out"))
    return tmp_path / "reeds.logbook"


def opened(path: Path) -> tuple[Protocol, object]:
    with Logbook.open(path, read_only=True) as book:
        return book.protocol(book.trial_names()[0]), book.frames()


def test_the_answer_rests_on_them_and_the_report_says_so(path: Path) -> None:
    plan, frames = opened(path)
    assert len(plan.past_lives) == 20
    beside = analyse(plan, frames, today=END, opinions=False)
    alone = analyse(replace(plan, past_lives=()), frames, today=END, opinions=False)
    assert beside.main is not None
    assert alone.main is not None
    assert beside.main.units == alone.main.units
    assert beside.main.means == alone.main.means
    assert (beside.main.low, beside.main.high) != (alone.main.low, alone.main.high)
    assert "Earlier reeds of the same kind (20, gone before the start" in answer(beside).report_html()
    assert "Earlier reeds of the same kind" not in answer(alone).report_html()


def test_it_is_the_same_in_a_copy_elsewhere_and_after_export_and_import(
        path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    on = ["--today", END.isoformat()]
    assert main(["export", str(path), str(tmp_path / "out")]) == 0
    assert main(["import", str(tmp_path / "out"), "--into", str(tmp_path / "other.logbook")]) == 0
    assert main(["page", str(path), "-o", str(tmp_path / "copy.json"), *on]) == 0
    said = []
    for of in (path, tmp_path / "other.logbook", tmp_path / "copy.json"):
        capsys.readouterr()
        assert main(["result", str(of), "--json", *on]) == 0
        said.append(json.loads(capsys.readouterr().out))
    assert said[0] == said[1] == said[2]
    assert opened(tmp_path / "other.logbook")[0] == opened(path)[0]


def test_a_trial_that_is_handed_in_takes_them_along(path: Path) -> None:
    plan, frames = opened(path)
    shared = read_shared(share(plan, frames, "P07", today=END))  # type: ignore[arg-type]
    assert shared.protocol.past_lives == plan.past_lives


def test_an_earlier_reed_that_is_put_right_later_changes_nothing(path: Path) -> None:
    plan, frames = opened(path)
    before = analyse(plan, frames, today=END, opinions=False).main
    with Logbook.open(path) as book:
        old = book.frame("sittings")
        row = old[old["date"].dt.date < date(2026, 1, 1)].iloc[0]
        book.correct("sittings", int(row["entry_id"]), Sitting(
            sitting=row["sitting"], date=row["date"].date(), reed=row["reed"], play_min=5))
    plan, frames = opened(path)
    assert analyse(plan, frames, today=END, opinions=False).main == before
