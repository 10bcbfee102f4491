"""What must hold between the rows of a logbook.

Pure: rows in, faults out; `today` is handed in. The store, the import and `Logbook.check` all ask here.
Rows are those of `checks.read_row`, a value that could not be read standing as None; a row that is not
in the logbook yet has no ``entry_id``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple, TypeVar

from ..errors import ProtocolError
from ..rows.tables import TABLES
from ..rows.values import YEARS, nearest, shown
from ..trial.calendar import calendar_with
from ..trial.opened_boxes import dealt_otherwise, with_boxes
from ..trial.overlaps import overlap_words, overlaps
from ..trial.protocol import Protocol
from ..wording import tr

__all__ = ["MINUTES_A_DAY", "NOT_AFTER_TODAY", "RULES", "CrossFault", "cross_check", "faults_of", "key_of", "plan_in",
           "plan_of", "plans_in", "reed_number"]

Row = Mapping[str, Any]
Rows = Mapping[str, Sequence[Row]]
_Trial = TypeVar("_Trial", bound=Row)

MINUTES_A_DAY: Final = 24 * 60
NOT_AFTER_TODAY: Final = {
    "boxes": ("opened",), "reeds": ("first_played", "worked_on"), "sittings": ("date",), "days": ("date",),
    "retirements": ("date",), "trials": ("ended",), "looks": ("date",), "guesses": ("date",), "deals": ("date",),
}


class CrossFault(NamedTuple):
    """One fault between rows: the table, the row's place in it (from 0), the column, and plain words.

    `about` is the reed of a plan that the fault is about, if it is about one; `lacks` the table without the row meant.
    """

    table: str
    row: int
    column: str
    found: str
    wanted: str
    about: str | None = None
    lacks: str | None = None


def cross_check(rows: Rows, today: date) -> list[CrossFault]:
    """Return every fault between the current rows of a logbook.

    Parameters
    ----------
    rows : mapping of table name to rows
        All current rows; tables left out are empty.
    today : date
        The player's own date.
    """
    return [fault for rule in RULES for fault in faults_of(rule, rows, today)]


def faults_of(rule: str, rows: Rows, today: date) -> list[CrossFault]:
    """Return the faults of one of `RULES` alone; rows that it does not look at may be left out."""
    return list(_RULES[rule]({name: rows.get(name, ()) for name in TABLES}, today))


def key_of(table: str, row: Row) -> tuple[Any, ...] | None:
    """Return the values that name a row; None where one of them is missing."""
    key = tuple(row.get(c) for c in TABLES[table].key)
    return None if any(v is None for v in key) else key


def reed_number(code: str) -> tuple[str, int]:
    """Split a reed code into its box and number: 2-07 and 2-7 are the same reed."""
    box, number = code.rsplit("-", 1)
    return box, int(number)


def plan_of(text: str) -> Protocol | str:
    """Return the plan in a row of the trials, or what is wrong with it."""
    try:
        plan = Protocol.from_json(text)
        if not YEARS[0] <= plan.start.year <= YEARS[1]:
            return tr("Its first day is {start}.").format(start=plan.start)
        return plan
    except ProtocolError as err:
        return str(err)


def plan_in(row: Row, deals: Sequence[Row]) -> Protocol | str:
    """Return the plan in a row of the trials with the boxes it has opened, or what is wrong with it."""
    plan = plan_of(row["protocol"])
    return plan if isinstance(plan, str) else with_boxes(plan, deals)


def plans_in(trials: Iterable[_Trial], deals: Sequence[Row]) -> Iterator[tuple[_Trial, Protocol]]:
    """Yield the rows of trials whose plan can be used, each with it; a rule tells what is wrong with the others."""
    for row in trials:
        if row.get("protocol") is not None and not isinstance(plan := plan_in(row, deals), str):
            yield row, plan


def _new(row: Row) -> bool:
    return row.get("entry_id") is None


def _doubles(rows: Rows, today: date) -> Iterator[CrossFault]:
    for name, spec in TABLES.items():
        seen: set[tuple[Any, ...]] = set()
        for i, row in enumerate(rows[name]):
            key = key_of(name, row)
            if key is None:
                continue
            if key in seen:
                yield CrossFault(name, i, spec.key[0], tr("{k} a second time").format(
                                                           k=" ".join(shown(k) for k in key)),
                                 tr("each only once"))
            seen.add(key)


def _reed_codes(rows: Rows, today: date) -> Iterator[CrossFault]:
    seen: dict[tuple[str, int], str] = {}
    for i, row in enumerate(rows["reeds"]):
        code, box = row.get("reed"), row.get("box")
        if code is None:
            continue
        number = reed_number(code)
        if box is not None and number[0] != box:
            yield CrossFault("reeds", i, "reed", shown(code),
                             tr("a code that begins with its box: {box}-{number:02d}").format(
                                 box=box, number=number[1]))
        other = seen.setdefault(number, code)
        if other != code:
            yield CrossFault("reeds", i, "reed", shown(code),
                             tr("each reed only once; it stands as '{other}' already").format(other=other))


def _references(rows: Rows, today: date) -> Iterator[CrossFault]:
    words = {"reeds": tr("a reed in the list of reeds"), "boxes": tr("a box in the list of boxes"),
             "setups": tr("a set-up in the list of set-ups"), "trials": tr("a trial in the list of trials")}
    for name, spec in TABLES.items():
        for field in spec.fields:
            if field.refers is None:
                continue
            table, column = field.refers.split(".")
            known: set[str] = {r[column] for r in rows[table] if r.get(column) is not None}
            for i, row in enumerate(rows[name]):
                value = row.get(field.name)
                if value is not None and value not in known:
                    yield CrossFault(name, i, field.name, shown(value), words[table] + nearest(value, known),
                                     lacks=table)


def _future(rows: Rows, today: date) -> Iterator[CrossFault]:
    for name, columns in NOT_AFTER_TODAY.items():
        for i, row in enumerate(rows[name]):
            if name == "days" and (row.get("pause") or row.get("day_off")) \
                    and row.get("humidity_pct") is None and row.get("temp_c") is None:
                continue  # a holiday may be written down ahead
            for column in columns:
                value = row.get(column)
                if value is not None and value > today:
                    yield CrossFault(name, i, column, shown(value),
                                     tr("a day up to today, {today}").format(today=today))


def _retired(rows: Rows, today: date) -> Iterator[CrossFault]:
    late: dict[str, list[int]] = defaultdict(list)
    left = {r["reed"]: (i, r["date"]) for i, r in enumerate(rows["retirements"])
            if r.get("reed") is not None and r.get("date") is not None}
    for i, row in enumerate(rows["sittings"]):
        reed, day = row.get("reed"), row.get("date")
        if day is not None and reed is not None and reed in left and day > left[reed][1] and not row.get("unsure_reed"):
            late[reed].append(i)
    for reed, places in late.items():
        at, gone = left[reed]
        fresh = [i for i in places if _new(rows["sittings"][i])]
        if _new(rows["retirements"][at]) and not fresh:
            last = max(rows["sittings"][i]["date"] for i in places)
            yield CrossFault("retirements", at, "date", shown(gone),
                             tr("{last} or later: reed {reed} was played then").format(last=last, reed=reed))
            continue
        for i in places:
            yield CrossFault("sittings", i, "date", shown(rows["sittings"][i]["date"]),
                             tr("a day up to {gone}, when reed {reed} left service").format(gone=gone, reed=reed))


def _long_days(rows: Rows, today: date) -> Iterator[CrossFault]:
    total: dict[date, float] = defaultdict(float)
    last: dict[date, int] = {}
    for i, row in enumerate(rows["sittings"]):
        if row.get("date") is not None and row.get("play_min") is not None:
            total[row["date"]] += row["play_min"]
            last[row["date"]] = i
    for day, minutes in total.items():
        if minutes > MINUTES_A_DAY:
            yield CrossFault("sittings", last[day], "play_min",
                             tr("{minutes:g} minutes in all on {day}").format(minutes=minutes, day=day),
                             tr("at most {minutes_a_day} minutes a day, all reeds together").format(
                                 minutes_a_day=MINUTES_A_DAY))


def _trials(rows: Rows, today: date) -> Iterator[CrossFault]:
    instrument = {r.get("box"): r.get("instrument") for r in rows["boxes"]}
    reeds: dict[str, Row] = {r["reed"]: r for r in rows["reeds"] if r.get("reed") is not None}
    gone: dict[str, date] = {r["reed"]: r["date"] for r in rows["retirements"]
                             if r.get("reed") is not None and r.get("date") is not None}
    for i, row in enumerate(rows["trials"]):
        if row.get("started") and row.get("ended") and row["ended"] < row["started"]:
            yield CrossFault("trials", i, "ended", shown(row["ended"]),
                             tr("a day from {started} on").format(started=row["started"]))
        if row.get("protocol") is None:
            continue
        plan = plan_in(row, rows["deals"])
        if isinstance(plan, str):
            yield CrossFault("trials", i, "protocol", tr("a plan that cannot be used"),
                             tr("a sound plan. {plan}").format(plan=plan))
            continue
        yield from _plan_matches_row(i, row, plan)
        if not plan.reeds and not plan.standing:
            yield CrossFault("trials", i, "protocol",
                             tr("a plan without reeds"), tr("at least two reeds or days dealt"))
        since = plan.served_since
        for reed in plan.reeds:
            if reed not in reeds:
                yield CrossFault("trials", i, "protocol", tr("reed {reed} in the plan").format(reed=shown(reed)),
                                 tr("a reed in the list of reeds{nearest}").format(nearest=nearest(reed, reeds)), reed,
                                 "reeds")
                continue
            first = since[reed]
            if reed in gone and gone[reed] < first:
                yield CrossFault("trials", i, "protocol", tr("reed {reed} in the plan").format(reed=shown(reed)),
                                 tr("a reed in service on {first}; it left on {gone}").format(
                                     first=first, gone=gone[reed]), reed)
            plays = instrument.get(reeds[reed].get("box"))
            if plays is not None and plays != plan.instrument:
                yield CrossFault("trials", i, "protocol", tr("reed {reed}, a {plays} reed").format(
                                                              reed=shown(reed), plays=plays),
                                 tr("a {instrument} reed: one trial, one instrument").format(
                                     instrument=plan.instrument), reed)


def _plan_matches_row(i: int, row: Row, plan: Protocol) -> Iterator[CrossFault]:
    if row.get("protocol_sha256") is not None and row["protocol_sha256"] != plan.sha256:
        yield CrossFault("trials", i, "protocol_sha256", row["protocol_sha256"][:12] + "...",
                         tr("{sha256}..., the fingerprint of the plan; it may not change once started").format(
                             sha256=plan.sha256[:12]))
    if row.get("trial") is not None and row["trial"] != plan.trial:
        yield CrossFault("trials", i, "trial", shown(row["trial"]),
                         tr("{trial}, as in the plan").format(trial=shown(plan.trial)))
    if row.get("started") is not None and row["started"] != plan.start:
        yield CrossFault("trials", i, "started", shown(row["started"]),
                         tr("{start}, as in the plan").format(start=plan.start))


def _overlaps(rows: Rows, today: date) -> Iterator[CrossFault]:
    """A reed serves one trial at a time, by the days as planned: a pause written down later is nobody's fault."""
    trials = rows["trials"]
    plans = [(i, plan) for i, row in enumerate(trials) for _, plan in plans_in([row], rows["deals"])]
    for one, two, reeds in overlaps([(plan, trials[i].get("ended")) for i, plan in plans]):
        (i, first), (j, second) = plans[one], plans[two]
        if first.trial == second.trial:
            continue  # told already: a second time
        at, other = (i, second) if _new(trials[i]) and not _new(trials[j]) else (j, first)
        yield CrossFault("trials", at, "protocol", *overlap_words(other.trial, reeds))


def _habits(rows: Rows, today: date) -> Iterator[CrossFault]:
    """A habit written down while the reed is in a trial must be one of that trial's two."""
    paused = [r["date"] for r in rows["days"] if r.get("pause") and r.get("date") is not None]
    spans: dict[str, list[tuple[date, date, Protocol]]] = defaultdict(list)
    for row, plan in plans_in(rows["trials"], rows["deals"]):
        end = calendar_with(plan, paused, row.get("ended")).last_counted
        for reed, first in plan.served_since.items():
            spans[reed].append((first, end, plan))
    for i, row in enumerate(rows["sittings"]):
        day, habit = row.get("date"), row.get("habit")
        if day is None or habit is None:
            continue
        plans = [p for start, end, p in spans.get(row.get("reed") or "", ()) if start <= day <= end]
        keys = {h.key for p in plans for h in p.habits}
        if plans and habit not in keys:
            yield CrossFault("sittings", i, "habit", shown(habit), tr(
                "one of the trial's two habits, {keys}, or nothing").format(keys=" or ".join(sorted(keys))))


def _looks(rows: Rows, today: date) -> Iterator[CrossFault]:
    started = {r.get("trial"): r.get("started") for r in rows["trials"]}
    for i, row in enumerate(rows["looks"]):
        start = started.get(row.get("trial"))
        if start is not None and row.get("date") is not None and row["date"] < start:
            yield CrossFault("looks", i, "date", shown(row["date"]),
                             tr("a day from {start} on, when the trial began").format(start=start))


def _deals(rows: Rows, today: date) -> Iterator[CrossFault]:
    """Every box of a standing trial is dealt as its plan deals it, one after the other."""
    plans = {r["trial"]: plan for r in rows["trials"] if r.get("protocol") is not None and r.get("trial") is not None
             and not isinstance(plan := plan_of(r["protocol"]), str)}
    boxes: dict[tuple[str, int], list[int]] = defaultdict(list)
    for i, row in enumerate(rows["deals"]):
        known = plans.get(row.get("trial") or "")
        if known is None or row.get("number") is None or row.get("place") is None or row.get("date") is None:
            continue  # told already
        if not known.standing:
            yield CrossFault("deals", i, "trial", shown(row["trial"]),
                             tr("a standing trial: it alone takes in new boxes"))
            continue
        if row["date"] < known.start:
            yield CrossFault("deals", i, "date", shown(row["date"]),
                             tr("a day from {start} on, when the trial began").format(start=known.start))
        boxes[row["trial"], row["number"]].append(i)
    for (trial, number), places in boxes.items():
        if number > 1 and (trial, number - 1) not in boxes:
            yield CrossFault("deals", places[0], "number", shown(number),
                             tr("box {number} of the trial before it").format(number=number - 1))
        wrong = dealt_otherwise(plans[trial], [rows["deals"][i] for i in places])
        if wrong:
            yield CrossFault("deals", places[wrong[0]], "habit",
                             tr("box {number} dealt in another way than planned").format(number=number),
                             tr("the reeds of the box, each with the way that the plan deals to its place"))


_RULES: Final[Mapping[str, Callable[[Rows, date], Iterator[CrossFault]]]] = {
    "doubles": _doubles, "reed_codes": _reed_codes, "references": _references, "future": _future,
    "retired": _retired, "long_days": _long_days, "trials": _trials, "overlaps": _overlaps, "habits": _habits,
    "looks": _looks, "deals": _deals,
}
#: The rules between rows, in the order in which their faults are told.
RULES: Final = tuple(_RULES)
