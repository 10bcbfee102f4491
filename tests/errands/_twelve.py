"""Twelve invented diaries of twelve shapes, each with a copy that grew by a month."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from ._away import START
from ._diaries import big, csv, ods, xlsx

GERMAN = csv("Datum;Blatt;Minuten;Note;Wässern;Bemerkung",
             "03.02.2026;1-01;25;2,5;Wasser;hell", "04.02.2026;1-02;30;1;Mund;", "13.02.2026;1-01;20;3;wasser;müde",
             "14.02.2026;1-02;35;1,5;weiß nicht;\"a; b\"")
TWO_ORDERS = csv("date,reed,min,rating", "1/2/2026,1-01,20,0", "2/2/2026,1-02,20,7", "3/2/2026,1-01,20,8.5")
INITIALS = csv("Day,Reed,Minutes,Rating 0-10", "2026-03-01,KL 1,20,0", "2026-03-01,MO 1,20,6", "2026-03-02,KL 2,25,7",
               "2026-03-02,MO 2,15,8", "2026-03-03,KL 1,20,5.5")
WIDE = csv("Date,Reed 1,Reed 2,Reed 3,Comment", "2026-01-05,6,7,,cold", "2026-01-06,,5.5,8,", "2026-01-07,0,,10,")
WIDE_GROWN = csv("Date,Reed 1,Reed 2,Reed 3,Reed 4,Comment", "2026-01-05,6,7,,,cold", "2026-01-06,,5.5,8,,",
                 "2026-01-07,0,,10,,", "2026-02-01,4,,,9,")
MERGED = [["My reeds", None, None, None], ["Date", "Reed", "Minutes", "Overall"],
          [date(2026, 4, 1), "2-01", 20, 0], [None, "2-02", 20, 7], [None, "2-03", 20, 6.5],
          [date(2026, 4, 2), "2-01", 30, 8]]
ONCE_A_DAY = "Tag\tRohr\tSpielzeit\tUrteil\n28. Dezember\t3\t0,5\tgut\n\t4\t0:45\tschlecht\n2. Jan.\t3\t1,5\tsehr gut\n"
APART = [["Datum", "Schachtel", "Blatt", "Dauer", "Punkte", "Lagerung"],
         [date(2026, 5, 1), 4, 7, timedelta(minutes=45), 0, "offen"],
         [date(2026, 5, 2), 4, 8, timedelta(hours=1, minutes=5), 9.5, "Etui"],
         [date(2026, 5, 3), 4, 7, timedelta(minutes=30), 7, "Etui"]]
NAMES = csv("When|Reed|Minutes|Grade|What I did", "Mar 3, 2026|the soft one|20|B|soaked",
            "Mar 4, 2026|the soft one|20|A|dry", "Mar 5, 2026|old faithful|20|C|soaked",
            "Mar 6, 2026|old faithful|20|a|dry")
IN_A_TRIAL = csv("Datum;Blatt;min;Punkte;Lagerung", *(
    f"{START + timedelta(days=k):%d.%m.%y};1-0{3 - 2 * (k % 2)};10;{6 + k % 3};{('offen', 'zu')[k % 2]}"
    for k in range(6)))
PARTS_OF_A_DAY = csv("day,reed,time,marks", "2026-05-02,3-1,0.03125,14", "2026-05-03,3-2,0.020833333,9",
                     "2026-05-04,3-1,0.0625,20")
UNDATED = csv("reed,minutes,rating", "1-01,20,7", "1-02,20,8")


def odd_rows() -> bytes:
    """Rows with a slip of every kind."""
    lines = [f"2026-03-{d:02d},1-0{d % 3 + 1},20,{d % 10}" for d in range(1, 29)]
    lines[2] = "2026-03-03,1-01,20,77"
    lines[5] = "soon,1-02,20,5"
    lines[8] = "2026-09-09,1-01,20,5"
    lines[11] = "2026-03-12,1-01,2000,5"
    lines[14] = lines[13]
    return csv("date,reed,minutes,overall", *lines)


def and_(content: bytes, *lines: str) -> bytes:
    """A CSV text with more lines below."""
    return content.rstrip(b"\n") + b"\n" + csv(*lines)


@dataclass(frozen=True)
class Shape:
    """A diary's file, and the copy of next month.

    `picks` is what must be clicked or typed, by a part of the label; of a list a part of what is picked. `added` counts
    its entries, `overall` their points, `skips` its odd rows, `grew` the entries that the copy brings, `new` their
    reeds.
    """

    file: str
    content: bytes
    picks: Mapping[str, str]
    added: int = 0
    grown: bytes = b""
    grew: int = 0
    new: int = 0
    skips: int = 0
    in_trial: bool = False
    overall: tuple[float, ...] = ()


_CLARINET = {"For which instrument": "clarinet"}
_WETTING: dict[str, str] = {"What is it about?": "Water or mouth"}
SHAPES: dict[str, Shape] = {
    "German dates, decimal commas, school marks": Shape(
        "Übetagebuch.csv", GERMAN, {**_CLARINET, **_WETTING, "“wasser”": "water", "“mund”": "mouth",
                                    "“weiss nicht”": "neither"}, 4,
        and_(GERMAN, "15.02.2026;1-03;20;6;Mund;"), 1, 1, overall=(7, 10, 6, 9)),
    "dates that fit two orders": Shape(
        "a.csv", TWO_ORDERS, {**_CLARINET, "In which order": "month, day"}, 3, and_(TWO_ORDERS, "4/2/2026,1-02,15,6"),
        1, overall=(0, 7, 8.5)),
    "initials of two players": Shape(
        "both.csv", INITIALS, {**_CLARINET, "“mo 1”": "-", "“mo 2”": "-"}, 3,
        and_(INITIALS, "2026-03-04,MO 1,20,6", "2026-03-05,KL 2,20,9"), 1, overall=(0, 7, 5.5)),
    "a column for each reed": Shape(
        "wide.csv", WIDE, {**_CLARINET, "No column says how long": "15"}, 6, WIDE_GROWN, 2, 1,
        overall=(6, 7, 5.5, 8, 0, 10)),
    "merged cells": Shape(
        "merged.xlsx", xlsx(MERGED, ["A1:D1", "A3:A5"]), _CLARINET, 4,
        xlsx([*MERGED, [date(2026, 4, 3), "2-04", 10, 5]], ["A1:D1", "A3:A5"]), 1, 1, overall=(0, 7, 6.5, 8)),
    "three thousand rows, stars": Shape("years.csv", big(3000), _CLARINET, 3000, big(3090), 90),
    "a day written once, no year, hours, words for marks": Shape(
        "Heft.txt", ONCE_A_DAY.encode("utf-16"), {
            **_CLARINET, "Of which year": "2025", "column of the minutes": "hours", "Which box": "1"}, 3,
        (ONCE_A_DAY + "3. Januar\t3\t1\tgut\n").encode("utf-16"), 1, overall=(7.5, 2, 9)),
    "box and number apart, times": Shape(
        "Blätter.ods", ods(APART), {**_CLARINET, "What is it about?": "Open drying", "“offen”": "open",
                                    "“etui”": "case"}, 3,
        ods([*APART, [date(2026, 5, 4), 4, 8, timedelta(minutes=20), 3, "offen"]]), 1, overall=(0, 9.5, 7)),
    "names for reeds, letters for marks": Shape(
        "names.csv", NAMES, {**_CLARINET, **_WETTING, "“soaked”": "water", "“dry”": "leave its rows out"}, 2,
        and_(NAMES, "Mar 7, 2026|the soft one|25|B|soaked"), 1, overall=(7.5, 5)),
    "slips of the pen": Shape(
        "odd.csv", odd_rows(), {**_CLARINET, "The worst mark": "0", "The best mark": "10"}, 22,
        and_(odd_rows(), "2026-03-30,1-01,20,4"), 1, skips=5),
    "for a running trial": Shape(
        "trial.csv", IN_A_TRIAL, {"In which order": "day, month, year", "What is it about?": "Open or not",
                                  "“offen”": "open", "“zu”": "case", "The worst mark": "0", "The best mark": "10"}, 6,
        and_(IN_A_TRIAL, f"{START + timedelta(days=6):%d.%m.%y};1-02;10;5;offen"), 1, in_trial=True,
        overall=(6, 7, 8, 6, 7, 8)),
    "minutes as parts of a day, marks up to twenty": Shape(
        "parts.csv", PARTS_OF_A_DAY, {**_CLARINET, "column of the minutes": "of a day"}, 3,
        and_(PARTS_OF_A_DAY, "2026-05-05,3-2,0.03125,10"), 1, overall=(7, 4.5, 10)),
}
