"""Whatever is wrong in a folder is named with its file and line; the logbook keeps every byte."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from reedlab.errors import ExchangeError
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import import_folder

from .conftest import HAND, a_plan

Hand = Callable[..., Path]


class Case(NamedTuple):
    """Files put in the place of sound ones, and the fault they must give."""

    files: dict[str, str | bytes | None]
    file: str
    line: int | None
    column: str | None
    words: str


FIRST = {"date,reed,play_min,overall,habit": "2026-03-05,1-01,20,7,soak"}


def sittings(*rows: str, header: str = "date,reed,play_min,overall,habit") -> dict[str, str | bytes | None]:
    return {"sittings": "\n".join([header, FIRST.get(header, "2026-03-05,1-01,20,7,"), *rows]) + "\n"}


def with_row(table: str, row: str) -> dict[str, str | bytes | None]:
    return {table: str(HAND[table]) + row + "\n"}


def trial(**changes: str) -> dict[str, str | bytes | None]:
    header, row = str(HAND["trials"]).splitlines()
    cells = dict(zip(header.split(","), row.split(","), strict=True)) | changes
    return {"trials": ",".join(cells) + "\n" + ",".join(cells.values()) + "\n"}


def planned(text: str, **changes: str) -> dict[str, str | bytes | None]:
    cells = {"trial": "wet", "started": "2026-03-05", "protocol_sha256": "0" * 64, "protocol_file": "wet.json"}
    cells |= changes
    return {"trials": ",".join(cells) + "\n" + ",".join(cells.values()) + "\n", "dealt": None,
            "protocols__wet_dot_json": text}


RETIRED = {"retirements": "reed,date,reason\n1-03,2026-03-01,worn_out\n"}
PLAN = a_plan("wet")

CASES = {
    "a word as date": Case(sittings("today,1-01,20,7,"), "sittings.csv", 3, "date", "2026-03-01"),
    "31 February": Case(sittings("2026-02-31,1-01,20,7,"), "sittings.csv", 3, "date", "calendar"),
    "date with dots": Case(sittings("1.3.2026,1-01,20,7,"), "sittings.csv", 3, "date", "with dashes"),
    "date of the future": Case(sittings("2026-03-21,1-01,20,7,"), "sittings.csv", 3, "date", "up to today"),
    "first century": Case(sittings("0026-03-05,1-01,20,7,"), "sittings.csv", 3, "date", "year from"),
    "30 hours": Case(sittings("2026-03-05,1-01,1800,7,"), "sittings.csv", 3, "play_min", "0 to 720"),
    "negative minutes": Case(sittings("2026-03-05,1-01,-20,7,"), "sittings.csv", 3, "play_min", "0 to 720"),
    "three long sittings": Case(sittings(*["2026-03-06,1-01,700,7,"] * 3), "sittings.csv", 5, "play_min", "1440"),
    "rating 11": Case(sittings("2026-03-05,1-01,20,11,"), "sittings.csv", 3, "overall", "0 to 10"),
    "text in a number": Case(sittings("2026-03-05,1-01,20,good,"), "sittings.csv", 3, "overall", "'good'"),
    "decimal comma": Case(sittings('2026-03-05,1-01,20,"7,5",'), "sittings.csv", 3, "overall", "not a comma: 7.5"),
    "nan": Case(sittings("2026-03-05,1-01,20,nan,"), "sittings.csv", 3, "overall", "'nan'"),
    "inf": Case(sittings("2026-03-05,1-01,inf,7,"), "sittings.csv", 3, "play_min", "'inf'"),
    "unknown reed": Case(sittings("2026-03-05,1-07,20,7,"), "sittings.csv", 3, "reed", "list of reeds"),
    "unknown box": Case(with_row("reeds", "3-01,3,7"), "reeds.csv", 6, "box", "list of boxes"),
    "unknown set-up": Case(sittings("2026-03-05,1-01,20,7,main", header="date,reed,play_min,overall,setup")
                           | {"setups": "setup\nmine\n"}, "sittings.csv", 3, "setup", "did you mean 'mine'"),
    "reed code of another form": Case(with_row("reeds", "1/05,1,7"), "reeds.csv", 6, "reed", "such as 2-07"),
    "reed of another box": Case(with_row("reeds", "2-05,1,7"), "reeds.csv", 6, "reed",
                                "begins with its box: 1-05"),
    "reed twice": Case(with_row("reeds", "1-01,1,7"), "reeds.csv", 6, "reed", "a second time"),
    "reed twice, otherwise written": Case(with_row("reeds", "1-1,1,7"), "reeds.csv", 6, "reed",
                                          "stands as '1-01'"),
    "day twice": Case({"days": "date\n2026-03-05\n2026-03-05\n"}, "days.csv", 3, "date", "a second time"),
    "humidity of 140": Case({"days": "date,humidity_pct\n2026-03-05,140\n"}, "days.csv", 2, "humidity_pct", "100"),
    "played after it left": Case(RETIRED | sittings("2026-03-06,1-03,20,7,"), "sittings.csv", 3, "date",
                                 "when reed 1-03 left service"),
    "unknown reason": Case({"retirements": "reed,date,reason\n1-03,2026-03-06,worn_uot\n"}, "retirements.csv", 2,
                           "reason", "did you mean 'worn out'"),
    "left twice": Case({"retirements": RETIRED["retirements"] + "1-03,2026-03-02,lost\n"}, "retirements.csv", 3,
                       "reed", "a second time"),
    "unknown place": Case(sittings("2026-03-05,1-01,20,7,home", header="date,reed,play_min,overall,where"),
                          "sittings.csv", 3, "where", "rehearsal"),
    "unknown instrument": Case({"boxes": "box,instrument\n1,clarinette\n"}, "boxes.csv", 2, "instrument",
                               "did you mean 'clarinet'"),
    "missing column": Case({"sittings": "date,reed,overall\n2026-03-05,1-01,7\n"}, "sittings.csv", 1, "play_min",
                           "no such column"),
    "misspelt column": Case(sittings(header="date,reed,play_min,overal,habit"), "sittings.csv", 1, "overal",
                            "did you mean 'overall'"),
    "column twice": Case(sittings(header="date,reed,play_min,overall,overall"), "sittings.csv", 1, "overall",
                         "more than once"),
    "column without a name": Case(sittings(header="date,reed,play_min,overall,"), "sittings.csv", 1, None,
                                  "without a name"),
    "empty where it may not be": Case(sittings("2026-03-05,,20,7,"), "sittings.csv", 3, "reed", "found nothing"),
    "a cell too many": Case(sittings("2026-03-05,1-01,20,7,soak,so, so"), "sittings.csv", 3, None, "7 cells"),
    "a cell too few": Case(sittings("2026-03-05,1-01,20"), "sittings.csv", 3, None, "3 cells"),
    "UTF-16": Case({"sittings": str(HAND["sittings"]).encode("utf-16")}, "sittings.csv", None, None, "UTF-16"),
    "Latin-1": Case({"reeds": "reed,box,remark\n1-01,1,fine\n1-02,1,f\xfcr\n".encode("latin-1")}, "reeds.csv", 3,
                    None, "0xfc"),
    "quotes that do not close": Case(sittings('2026-03-05,1-01,20,7,"soak'), "sittings.csv", 3, None, "quotes"),
    "stray quote": Case(sittings('2026-03-05,1-01,20,7,"so"ak'), "sittings.csv", 3, None, "quotes"),
    "semicolons": Case({"sittings": str(HAND["sittings"]).replace(",", ";")}, "sittings.csv",
                       1, None, "semicolons"),
    "tabs": Case({"sittings": str(HAND["sittings"]).replace(",", "\t")}, "sittings.csv", 1, None, "tabs"),
    "empty file": Case({"reeds": ""}, "reeds.csv", None, None, "empty file"),
    "only empty lines": Case({"reeds": "\n\n"}, "reeds.csv", None, None, "only empty lines"),
    "missing file": Case({"reeds": None}, "reeds.csv", None, None, "no such file"),
    "misspelt file": Case({"days2": "date\n2026-03-05\n", "sitting": "date\n"}, "sitting.csv", None, None,
                          "did you mean 'sittings.csv'"),
    "bad truth value": Case({"days": "date,day_off\n2026-03-05,maybe\n"}, "days.csv", 2, "day_off",
                            "true or false"),
    "sitting named twice": Case(sittings("2026-03-06,1-01,20,7,x", "2026-03-07,1-01,20,7,x",
                                         header="date,reed,play_min,overall,sitting"), "sittings.csv",
                                         4, "sitting",
                                "a second time"),
    "habit not of the trial": Case(sittings("2026-03-06,1-01,20,7,rinse"), "sittings.csv", 3, "habit",
                                   "lick or soak"),
    "look at an unknown trial": Case({"looks": "trial,date,why\nwit,2026-03-06,curious\n"}, "looks.csv",
                                     2, "trial",
                                     "did you mean 'wet'"),
    "look before the start": Case({"looks": "trial,date,why\nwet,2026-03-01,curious\n"}, "looks.csv", 2, "date",
                                  "when the trial began"),
    "trial without reeds": Case({"dealt": "trial,block,reed,day,habit\n"}, "trials.csv", 2, "trial",
                                "a trial without reeds"),
    "trial without dealt.csv": Case({"dealt": None}, "trials.csv", 2, "trial", "a trial without reeds"),
    "trial without a plan": Case({"trials": "trial,started\nwet,2026-03-05\n", "dealt": None}, "trials.csv", 2,
                                 "protocol_file", "no plan"),
    "unknown design": Case(trial(design="day by night"), "trials.csv", 2, "design", "day by day"),
    "outcome not for this design": Case(trial(outcome="life_hours", matters="1.5"), "trials.csv", 2, None,
                                        "cannot be asked day by day"),
    "nothing matters": Case(trial(matters="0"), "trials.csv", 2, None, "wanted more than 0"),
    "habits alike": Case(trial(habit_b="soak"), "trials.csv", 2, "habit_b", "another habit"),
    "ended before it began": Case(trial(ended="2026-03-01"), "trials.csv", 2, "ended", "from 2026-03-05 on"),
    "other instrument than the box": Case(trial(instrument="alto saxophone"), "dealt.csv", 2, "reed",
                                          "one instrument"),
    "dealt habit unknown": Case(with_row("dealt", "wet,s2,1-03,1,soka"), "dealt.csv", 6, "habit",
                                "did you mean 'soak'"),
    "dealt reed unknown": Case(with_row("dealt", "wet,s1,1-09,1,soak"), "dealt.csv", 6, "reed", "list of reeds"),
    "dealt twice": Case(with_row("dealt", "wet,s1,1-01,2,soak"), "dealt.csv", 6, "reed", "dealt twice on day 2"),
    "dealt after the last day": Case(with_row("dealt", "wet,s1,1-01,3,soak"), "dealt.csv", 6, "day", "1 to 2"),
    "dealt without a day": Case(with_row("dealt", "wet,s1,1-01,,soak"), "dealt.csv", 6, "day", "from 1"),
    "dealt one habit only": Case(with_row("dealt", "wet,s2,1-03,1,soak"), "dealt.csv", 6, "block", "both habits"),
    "dealt for another trial": Case(with_row("dealt", "wte,s1,1-03,1,soak"), "dealt.csv", 6, "trial",
                                    "did you mean 'wet'"),
    "plan is no JSON": Case(planned("{broken"), "trials.csv", 2, "protocol_file", "cannot be read"),
    "plan is another JSON": Case(planned("[1, 2]"), "trials.csv", 2, "protocol_file", "cannot be read"),
    "plan file missing": Case(planned("", protocol_file="wit.json"), "trials.csv", 2, "protocol_file",
                              "did you mean 'wet.json'"),
    "plan file outside": Case(planned("", protocol_file="../wet.json"), "trials.csv", 2, "protocol_file",
                              "a path"),
    "plan was changed": Case(planned(PLAN.to_json().replace('"matters":1.0', '"matters":0.5'),
                                     protocol_sha256=PLAN.sha256), "trials.csv", 2, "protocol_sha256",
                             "fingerprint"),
    "no fingerprint": Case(planned(PLAN.to_json(), protocol_sha256=""), "trials.csv", 2, "protocol_sha256",
                           "found nothing"),
    "plan of another trial": Case(planned(a_plan("dry").to_json(), protocol_sha256=a_plan("dry").sha256),
                                  "trials.csv", 2, "trial", "as in the plan"),
    "plan of another day": Case(planned(PLAN.to_json(), protocol_sha256=PLAN.sha256, started="2026-03-04"),
                                "trials.csv", 2, "started", "as in the plan"),
    "entry number twice": Case({"days": "date,entry_id\n2026-03-05,1\n2026-03-06,1\n"}, "days.csv", 3, "entry_id",
                               "a second time"),
    "replaces an unknown entry": Case({"days": "date,entry_id,supersedes\n2026-03-05,2,1\n"}, "days.csv", 2,
                                      "supersedes", "earlier entry"),
    "moment that is none": Case({"days": "date,entered_at\n2026-03-05,2026-02-31T10:00:00Z\n"}, "days.csv", 2,
                                "entered_at", "a moment as"),
    "history without its columns": Case({"history__days": "date\n2026-03-05\n"}, "history/days.csv", 1,
                                        "entered_at", "no such column"),
    "history of what holds now": Case(
        {"history__days": "date,day_off,entry_id,entered_at,supersedes,withdrawn\n"
                          "2026-03-05,false,1,2026-03-05T10:00:00Z,,false\n"}, "history/days.csv", 2, None,
        "holds now"),
    "file of unknown name in history": Case({"history__dys": "date\n"}, "history/dys.csv", None, None,
                                            "did you mean 'days.csv'"),
}


@pytest.mark.parametrize("case", CASES)
def test_fault_is_named_with_its_place_and_nothing_is_changed(
        case: str, hand: Hand, empty_book: Logbook) -> None:
    files, file, line, column, words = CASES[case]
    folder = hand(**files)
    before = hashlib.sha256(empty_book.path.read_bytes()).hexdigest()
    with pytest.raises(ExchangeError) as err:
        import_folder(folder, empty_book)
    fits = [f for f in err.value.faults if (f.file, f.line, f.column) == (file, line, column) and words in str(f)]
    assert len(fits) == 1, str(err.value)
    assert hashlib.sha256(empty_book.path.read_bytes()).hexdigest() == before
    assert not (empty_book.path.parent / "backups").exists()
    assert str(err.value).splitlines()[0].endswith("nothing was imported.")


def test_there_are_at_least_thirty_faults() -> None:
    assert len(CASES) >= 30


@pytest.mark.parametrize("case", [c for c in CASES if CASES[c].line is not None])
def test_one_fault_gives_few_messages(case: str, hand: Hand, empty_book: Logbook) -> None:
    with pytest.raises(ExchangeError) as err:
        import_folder(hand(**CASES[case].files), empty_book)
    assert len(err.value.faults) <= 4, str(err.value)


def test_faults_of_many_files_are_reported_at_once_in_order(hand: Hand, empty_book: Logbook) -> None:
    folder = hand(**(with_row("reeds", "1/05,1,77") | sittings("x,1-77,-3,11,") | {"days": "date\nx\n"}))
    with pytest.raises(ExchangeError) as err:
        import_folder(folder, empty_book)
    assert [(f.file, f.line, f.column) for f in err.value.faults] == [
        ("days.csv", 2, "date"), ("reeds.csv", 6, "reed"), ("reeds.csv", 6, "first_play"),
        ("sittings.csv", 3, "date"), ("sittings.csv", 3, "play_min"), ("sittings.csv", 3, "overall"),
        ("sittings.csv", 3, "reed")]


def test_folder_that_is_none_or_holds_no_tables_is_named(tmp_path: Path, empty_book: Logbook) -> None:
    for path, words in ((tmp_path / "none", "no such folder"), (empty_book.path, "a file")):
        with pytest.raises(ExchangeError, match=words):
            import_folder(path, empty_book)
    (tmp_path / "bare").mkdir()
    with pytest.raises(ExchangeError, match="no table files"):
        import_folder(tmp_path / "bare", empty_book)


def test_row_that_differs_from_the_logbooks_is_a_fault(hand: Hand, empty_book: Logbook) -> None:
    folder = hand()
    import_folder(folder, empty_book)
    text = str(HAND["sittings"]).replace("20,7,soak", "20,8,soak")
    (folder / "sittings.csv").write_text(text)
    before = empty_book.path.read_bytes()
    with pytest.raises(ExchangeError) as err:
        import_folder(folder, empty_book)
    (fault,) = err.value.faults
    assert (fault.file, fault.line, fault.column) == ("sittings.csv", 2, "overall")
    assert fault.found == "overall 8 (the logbook has 7)"
    assert empty_book.path.read_bytes() == before


def test_new_row_that_contradicts_the_logbook_is_a_fault(hand: Hand, empty_book: Logbook, tmp_path: Path) -> None:
    import_folder(hand(), empty_book)
    more = tmp_path / "more"
    more.mkdir()
    (more / "retirements.csv").write_text("reed,date,reason\n1-01,2026-03-05,lost\n")
    with pytest.raises(ExchangeError) as err:
        import_folder(more, empty_book)
    (fault,) = err.value.faults
    assert (fault.file, fault.line) == ("retirements.csv", 2)
    assert "2026-03-06 or later" in fault.wanted


def test_command_line_names_the_faults_without_a_traceback(
        hand: Hand, full_file: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
        monkeypatch: pytest.MonkeyPatch) -> None:
    from reedlab.cli import main

    monkeypatch.setenv("REEDLAB_TODAY", "2026-03-20")
    target = tmp_path / "target.sqlite"
    shutil.copy(full_file, target)
    before = target.read_bytes()
    assert main(["import", str(hand(**sittings("2026-03-05,1-01,20,11,"))), "--into", str(target)]) == 2
    told = capsys.readouterr()
    assert "sittings.csv, line 3, column `overall`: found '11'; wanted a number from 0 to 10" in told.err
    assert "Traceback" not in told.err + told.out
    assert target.read_bytes() == before
