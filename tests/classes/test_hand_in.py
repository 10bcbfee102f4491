"""One question for a class: dealt afresh, handed back without words, put together again unchanged."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from reedlab.analysis.together.combine import combine
from reedlab.analysis.trial import analyse
from reedlab.classes.class_plan import ClassPlan, class_plan, deal_for, misfits
from reedlab.classes.hand_in import parts_of, read_shared, share
from reedlab.errors import ExchangeError, InputError, LogbookError, PlanRefused
from reedlab.logbook import Logbook
from reedlab.logbook.class_files import read_plan_file, read_share_file, write_plan_file, write_share_file
from reedlab.logbook.exchange import import_folder
from reedlab.questions import own_question
from reedlab.rows.tables import Frames, typed
from reedlab.summary import together_answer
from reedlab.trial.protocol import Habit, Protocol

START = date(2026, 3, 2)
PLAN = class_plan("wetting", days=10, matters=1.0)


@cache
def pupil(seed: int, gap: float = 1.0, plan: ClassPlan = PLAN, *, missing: bool = False,
          box: str = "Secret-less") -> tuple[Protocol, Frames, date]:
    """Deal and play one invented pupil's trial."""
    box = box.replace("-", "")
    reeds = [{"reed": f"{box}-{i}", "box": box, "first_play": 5 + i / 2, "remark": "my best friend's reed"}
             for i in range(1, 7)]
    boxes = [{"box": box, "instrument": "clarinet", "remark": "a gift from somebody"}]
    draft = deal_for(plan, typed("reeds", reeds), start=START, seed=seed, instrument="clarinet",
                     trial="My very own trial", simulations=100, expected=plan.habits[0].key,
                     boxes=typed("boxes", boxes))
    own = draft.protocol
    rng = np.random.default_rng(seed)
    rows: list[dict[str, Any]] = []
    for n, s in enumerate(own.slots):
        habit = own.habit_for(s.reed, s.day)
        if habit is None or (missing and n % 7 == 3):
            continue
        rating = 5 + gap * (habit.key == own.habits[1].key) + rng.normal(0, 0.7)
        rows.append({"sitting": f"x{n}", "date": START + timedelta(days=s.day), "reed": s.reed, "order": s.order,
                     "play_min": 10, "overall": float(np.clip(round(2 * rating) / 2, 0, 10)), "habit": habit.key,
                     "remark": "felt sad today", "setup": None, "from_memory": n == 5})
    days = [{"date": START, "pause": True, "remark": "ill"},
            *({"date": START + timedelta(days=d), "humidity_pct": 40 + d} for d in range(1, 8))]
    frames = Frames.of(
        sittings=rows, reeds=reeds, boxes=boxes, days=days,
        week=[{"weekday": "friday", "play_min": 31, "remark": "choir"}],
        concerts=[{"date": START + timedelta(days=3), "play_min": 97, "remark": "wedding"}],
        guesses=[{"trial": "My very own trial", "unit": own.units[0].unit, "date": START}])
    return own, frames, START + timedelta(days=own.days + 2)


def test_a_shared_trial_gives_the_very_answer_the_player_has() -> None:
    for seed in (1, 2):
        own, frames, today = pupil(seed, missing=True)
        got = read_shared(json.loads(json.dumps(share(own, frames, "P01", today=today))))
        mine, theirs = analyse(own, frames, today=today), analyse(got.protocol, got.frames, today=got.today)
        assert mine.main is not None
        assert theirs.main is not None
        assert theirs.state == mine.state == "finished"
        for name in ("estimate", "low", "high", "p_value", "units", "blocks", "verdict", "arrangements"):
            assert getattr(theirs.main, name) == pytest.approx(getattr(mine.main, name))
        assert theirs.as_done is not None
        assert mine.as_done is not None
        assert theirs.as_done.estimate == pytest.approx(mine.as_done.estimate)
        assert got.fingerprint == own.sha256


def test_a_shared_trial_holds_no_word_name_or_date_of_the_player() -> None:
    own, frames, today = pupil(3)
    own = replace(own, setup="grandpa", ask="Will Anna's reeds win?", scale=((2, "yuck"), (10, "wow")),
                  habits=(Habit(own.habits[0].key, "what Anna does"), Habit(own.habits[1].key, "what I do")))
    text = json.dumps(share(own, frames, "P07", today=today))
    for word in ("Secretless", "friend", "gift", "sad", "ill\"", "grandpa", "Anna", "yuck", "wow", "very own",
                 "2026", "remark", "x0", "choir", "wedding", "friday", "guess", "confirmed", "week"):
        assert word not in text, word
    assert '"P07"' in text


def bent(seed: int) -> tuple[Protocol, Frames, date]:
    """Return a pupil's trial with one reed sanded on the way and a borrowed mouthpiece on three sittings."""
    own, frames, today = pupil(seed)
    own = replace(own, setup="grandpa")
    reeds, sittings = frames.reeds.copy(), frames.sittings.copy()
    worked = reeds["reed"] == own.reeds[0]
    reeds["worked_on"] = pd.Series([pd.Timestamp(START) if w else pd.NaT for w in worked], dtype="datetime64[ns]")
    sittings["setup"] = ["uncle" if i < 3 else "grandpa" for i in range(len(sittings))]
    return own, replace(frames, reeds=reeds, sittings=sittings), today


def test_a_reed_that_was_worked_on_and_a_changed_mouthpiece_are_told_without_a_word_of_the_player() -> None:
    own, frames, today = bent(3)
    content = share(own, frames, "P07", today=today)
    got = read_shared(json.loads(json.dumps(content)))
    mine, theirs = analyse(own, frames, today=today), analyse(got.protocol, got.frames, today=got.today)
    for code, fact, many in (("worked_on", "reeds", 1), ("setup_changed", "sittings", 3)):
        for r in (mine, theirs):
            assert next(x for x in r.remarks if x.code == code).fact(fact) == many, code
    for word in ("grandpa", "uncle", "remark", "2026"):
        assert word not in json.dumps(content)


def test_what_may_have_bent_a_pupils_trial_stands_in_the_combined_answer() -> None:
    shared = [read_shared(share(*bent(s)[:2], f"P{s:02d}", today=bent(s)[2])) for s in (1, 2)]
    shared.append(read_shared(share(*pupil(3)[:2], "P03", today=pupil(3)[2])))
    told = together_answer(combine(parts_of(shared, PLAN)))
    said = {w["code"]: w["text"] for w in told.warnings}
    assert said["worked_on"].startswith("Reeds were sanded, scraped or clipped in P01 and P02 (2 reeds).")
    assert said["setup_changed"].startswith("Another mouthpiece or ligature was used in P01 and P02 (6 sittings).")
    assert said["worked_on"] in told.to_text(full=True).replace("\n  ", " ")
    assert said["setup_changed"] in told.to_html()
    assert "Sand cane wet" in told.to_html()
    assert [w["code"] for w in told.to_dict()["warnings"]] == ["worked_on", "setup_changed"]
    plain = together_answer(combine(parts_of([shared[2], read_shared(share(*pupil(4)[:2], "P04",
                                                                           today=pupil(4)[2]))], PLAN)))
    assert plain.warnings == ()
    assert "Sand cane wet" not in plain.to_html()


def test_only_whether_not_when_a_reed_was_worked_on_before_the_trial_is_told() -> None:
    own, frames, today = bent(3)
    reeds = frames.reeds.assign(worked_on=frames.reeds["worked_on"] - timedelta(days=400))
    content = share(own, replace(frames, reeds=reeds), "P07", today=today)
    assert [r["worked_on"] for r in content["reeds"]] == [-1, *[None] * (len(own.reeds) - 1)]
    later = frames.reeds.assign(worked_on=frames.reeds["worked_on"] + timedelta(days=400))
    content = share(own, replace(frames, reeds=later), "P07", today=today)
    assert {r["worked_on"] for r in content["reeds"]} == {None}


def test_a_file_from_before_these_were_told_is_still_read() -> None:
    from reedlab.classes.hand_in import _seal

    old = {k: v for k, v in share(*pupil(1)[:2], "P01", today=pupil(1)[2]).items() if k != "sha256"}
    old["reeds"] = [{k: v for k, v in r.items() if k != "worked_on"} for r in old["reeds"]]
    old["sittings"] = [{k: v for k, v in s.items() if k != "setup"} for s in old["sittings"]]
    assert read_shared({**old, "sha256": _seal(old)}).code == "P01"


@pytest.mark.parametrize("code", ["Anna", "p07", "P", "07", "PUPIL7", "P07 ", ""])
def test_a_code_that_could_be_a_name_is_refused(code: str) -> None:
    own, frames, today = pupil(1)
    with pytest.raises(InputError, match="Never use a name"):
        share(own, frames, code, today=today)


def test_a_running_trial_or_an_old_diary_is_not_shared() -> None:
    own, frames, _ = pupil(1)
    with pytest.raises(InputError, match="still runs"):
        share(own, frames, "P01", today=START + timedelta(days=4))
    with pytest.raises(InputError, match="never shuffled"):
        share(replace(own, how_dealt="not"), frames, "P01", today=START + timedelta(days=40))


def test_pupils_are_dealt_afresh_and_put_together_under_their_codes() -> None:
    contents = [share(*pupil(seed)[:2], f"P{seed:02d}", today=pupil(seed)[2]) for seed in range(1, 6)]
    shared = [read_shared(c) for c in contents]
    assert len({s.protocol.dealt for s in shared}) > 1
    found = combine(parts_of(shared, PLAN))
    assert [p.label for p in found.parts] == ["P01", "P02", "P03", "P04", "P05"]
    assert found.players == 5
    assert [h.name for h in found.protocol.habits] == [h.name for h in PLAN.habits]
    assert found.main.verdict == "b_better"
    # each player can know their own plan again
    assert [f for _, f in found.fingerprints] == [pupil(seed)[0].sha256 for seed in range(1, 6)]


def test_one_code_twice_is_one_player_again_and_one_file_twice_is_refused() -> None:
    one, two = (read_shared(share(*pupil(s)[:2], "P07", today=pupil(s)[2])) for s in (1, 2))
    found = combine(parts_of([one, two]))
    assert found.players == 1
    assert [p.label for p in found.parts] == ["P07", "P07 again"]
    with pytest.raises(InputError, match="counts once"):
        combine(parts_of([one, one]))
    other_code = read_shared(share(*pupil(1)[:2], "P08", today=pupil(1)[2]))
    with pytest.raises(InputError, match="P08: this is the same trial as P07"):
        combine(parts_of([one, other_code]))


def test_a_trial_that_does_not_fit_the_class_is_named_with_every_reason() -> None:
    own, frames, today = pupil(1)
    other = replace(own, matters=2.0, scale=((2, "bad"), (10, "good")))
    odd = read_shared(share(other, frames, "P09", today=today))
    with pytest.raises(InputError) as caught:
        parts_of([odd], PLAN)
    assert "P09: its gap that matters is 2.0" in str(caught.value)
    assert "P09: its rating scale has other words" in str(caught.value)
    assert misfits(PLAN, own) == []
    worded = replace(PLAN, scale=((2, "bad"), (10, "good")), matters=2.0)
    assert misfits(worded, odd.protocol) == []


def test_a_changed_or_mangled_file_is_refused_in_words() -> None:
    good = share(*pupil(1)[:2], "P01", today=pupil(1)[2])
    changed = copy.deepcopy(good)
    changed["sittings"][0]["overall"] = 10.0
    with pytest.raises(ExchangeError, match="changed after it was made"):
        read_shared(changed)
    bare = {k: good[k] for k in ("format", "version")}
    for bad in (None, [], {}, {"format": "x"}, {**good, "version": 9}, bare):
        with pytest.raises(ExchangeError, match="wanted"):
            read_shared(bad)


def test_rows_out_of_range_are_all_named_even_with_a_fresh_seal() -> None:
    from reedlab.classes.hand_in import _seal

    bad = {k: v for k, v in share(*pupil(1)[:2], "P01", today=pupil(1)[2]).items() if k != "sha256"}
    bad = copy.deepcopy(bad)
    bad["sittings"][0]["overall"], bad["sittings"][2]["play_min"] = 99, -5
    with pytest.raises(ExchangeError) as caught:
        read_shared({**bad, "sha256": _seal(bad)}, "p01.json")
    assert len(caught.value.faults) == 2
    assert "p01.json, sittings, line 1" in str(caught.value)
    for spoil in ({"sittings": [{}]}, {"plan": {}}, {"read_on": "x"}, {"reeds": []}, {"days": 3},
                  {"code": "Anna"}):
        spoilt = {**bad, **spoil}
        with pytest.raises(ExchangeError):
            read_shared({**spoilt, "sha256": _seal(spoilt)})


def test_the_plan_file_comes_back_as_it_was_and_a_changed_one_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "class.json"
    write_plan_file(path, PLAN)
    assert read_plan_file(path) == PLAN
    with pytest.raises(InputError, match="there already"):
        write_plan_file(path, PLAN)
    path.write_text(path.read_text().replace('"days": 10', '"days": 12'))
    with pytest.raises(ExchangeError, match="changed after it was made"):
        read_plan_file(path)
    for text in ("", "[]", "{", '{"format": "another plan"}'):
        path.write_text(text)
        with pytest.raises(ExchangeError, match="no class plan"):
            read_plan_file(path)
    path.write_text('{"format": "reedlab class plan"}')
    with pytest.raises(ExchangeError, match="`habits`: found nothing; wanted this field"):
        read_plan_file(path)


def test_a_question_of_the_teachers_own_can_be_handed_out() -> None:
    asked = own_question("Does warming the mouthpiece help?", Habit("cold", "a cold mouthpiece"),
                         Habit("warm", "a warmed mouthpiece"), lasts=False)
    plan = ClassPlan.from_json(class_plan(asked, days=8).to_json())
    own, frames, today = pupil(4, plan=plan)
    assert own.ask == "Does warming the mouthpiece help?"
    part = parts_of([read_shared(share(own, frames, "P04", today=today))], plan)[0]
    assert part.protocol.habits[1].name == "a warmed mouthpiece"


def test_a_plan_that_could_hurt_or_cannot_be_asked_is_refused() -> None:
    with pytest.raises(PlanRefused):
        class_plan("drying", habits=(Habit("dry", "drying the reed"), Habit("wet", "storing it wet")))
    with pytest.raises(InputError, match="`days`"):
        class_plan("wetting", days=0)
    with pytest.raises(InputError, match="fixes matters"):
        deal_for(PLAN, typed("reeds", []), start=START, seed=1, instrument="clarinet", trial="t", matters=3)


def test_shared_files_are_written_once_and_read_back(tmp_path: Path) -> None:
    content = share(*pupil(1)[:2], "P01", today=pupil(1)[2])
    path = tmp_path / "p01.json"
    write_share_file(path, content)
    assert read_share_file(path).code == "P01"
    assert path.stat().st_size < 60_000
    with pytest.raises(InputError, match="there already"):
        write_share_file(path, content)
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(ExchangeError, match="no text"):
        read_share_file(path)
    with pytest.raises(LogbookError, match="could not be read"):
        read_share_file(tmp_path / "none.json")


def test_a_trial_kept_on_paper_and_typed_in_can_be_shared_like_any_other(tmp_path: Path) -> None:
    folder = Path(__file__).parents[1] / "references" / "by_hand"
    with Logbook.create(tmp_path / "typed.logbook") as book:
        import_folder(folder, book)
        for name in book.frame("trials")["trial"]:
            own, frames, today = book.protocol(name), book.frames(), date(2026, 1, 10)
            got = read_shared(share(own, frames, "P20", today=today))
            mine = analyse(own, frames, today=today).main
            theirs = analyse(got.protocol, got.frames, today=got.today).main
            assert mine is not None
            assert theirs is not None
            assert (theirs.estimate, theirs.p_value) == pytest.approx((mine.estimate, mine.p_value))
            assert own.ask not in json.dumps(share(own, frames, "P20", today=today))
