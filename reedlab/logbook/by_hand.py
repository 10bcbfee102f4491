"""A frozen plan from plain tables, for trials shuffled outside reedlab (cards, coins, slips of paper).

Pure: mappings in, a `Protocol` out.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, Final

from ..errors import ExchangeError, Fault, ProtocolError
from ..rows.tables import INSTRUMENTS, TABLES, Field
from ..rows.values import nearest, read_fields, shown
from ..trial.outcomes import OUTCOMES
from ..trial.protocol import DESIGNS, Habit, Protocol, Slot, Unit
from ..wording import tr

__all__ = ["DEALT", "MORE", "NEEDED", "protocol_from_tables"]

_KEY: Final = r"[^\s,;]{1,24}"
_NEEDED: Final = (
    TABLES["trials"].field("trial"),
    Field("started", "date", tr("First day"), required=True),
    Field("question", "text", tr("Question asked"), required=True),
    Field("ask", "text", tr("The question in full"), required=True, longest=300),
    Field("instrument", "choice", tr("Instrument"), required=True, choices=INSTRUMENTS),
    Field("habit_a", "text", tr("One habit, short"), required=True, pattern=_KEY),
    Field("habit_a_name", "text", tr("One habit, in words"), required=True),
    Field("habit_b", "text", tr("The other habit, short"), required=True, pattern=_KEY),
    Field("habit_b_name", "text", tr("The other habit, in words"), required=True),
    Field("design", "choice", tr("How it was dealt"), required=True, choices=DESIGNS),
    Field("outcome", "choice", tr("What is compared"), required=True, choices=tuple(OUTCOMES)),
    Field("matters", "float", tr("Smallest difference that matters"), required=True, low=0, high=1000),
    Field("days", "int", tr("Days of the trial"), required=True, low=1, high=3660),
)
_MORE: Final = (
    Field("how_dealt", "choice", tr("Shuffled by hand, or not shuffled"), choices=("by hand", "not")),
    Field("expected", "text", tr("What was expected before the start: a habit, or same")),
    Field("worn_out_rule", "choice", tr("How 'worn out' is told"), choices=("ratings", "player")),
    Field("cap_hours", "float", tr("Playing hours after which a reed's watch ends"), low=1, high=10000),
)
#: Columns of trials.csv that stand for a plan file, and further ones that may be left out.
NEEDED: Final = tuple(f.name for f in _NEEDED)
MORE: Final = tuple(f.name for f in _MORE)
_DEALT: Final = (
    TABLES["trials"].field("trial"),
    Field("block", "text", tr("Matched set"), required=True, pattern=r"[^\s,;]{1,24}"),
    Field("reed", "text", tr("Reed"), required=True, pattern=TABLES["reeds"].field("reed").pattern),
    Field("day", "int", tr("Day of the trial, from 1; empty reed by reed"), low=1, high=3660),
    Field("habit", "text", tr("Habit dealt"), required=True),
)
DEALT: Final = tuple(f.name for f in _DEALT)


def protocol_from_tables(fields: Mapping[str, Any], dealt: Sequence[tuple[int, Mapping[str, Any]]],
                         line: int | None) -> Protocol:
    """Build the plan of a trial that was dealt by hand.

    Parameters
    ----------
    fields : mapping
        The `NEEDED` columns of the trial's row, as text or typed, and any of `MORE`.
    dealt : sequence of (int, mapping)
        One row per reed (reed by reed, `day` empty) or per reed and trial day (day by day), with columns block,
        reed, day and habit, each with its line for messages. Day by day, the rows of one block with the same habit
        form one unit: two of them are a diagonal of a square.
    line : int, optional
        The line of the trial's row, for messages.

    Returns
    -------
    Protocol
        With `how_dealt` "by hand", or "not" where the fields say so.

    Raises
    ------
    ExchangeError
        With every fault, by file and line.
    """
    faults: list[Fault] = []
    trial = _read_fields(fields, line, faults)
    cells = _read_dealt(dealt, trial, faults)
    if not dealt:
        faults.append(Fault("trials.csv", line, "trial", tr("a trial without reeds: {trial}").format(
                                                             trial=shown(trial.get("trial"))),
                            tr("rows for it in dealt.csv (trial, block, reed, day, habit)")))
    if faults:
        raise ExchangeError(faults)
    units, habits = _units(cells, trial["design"])
    order: dict[int, int] = {}
    slots = []
    for cell in cells:
        if cell["day"] is not None:
            order[cell["day"]] = order.get(cell["day"], 0) + 1
            slots.append(Slot(cell["day"], order[cell["day"]], cell["reed"]))
    more = {k: trial[k] for k in MORE if trial[k] is not None}
    one, two = sorted((Habit(trial[f"habit_{s}"], trial[f"habit_{s}_name"]) for s in "ab"), key=lambda h: h.key)
    try:
        return Protocol(
            trial=trial["trial"], question=trial["question"], ask=trial["ask"], instrument=trial["instrument"],
            habits=(one, two), design=trial["design"], outcome=trial["outcome"], matters=trial["matters"],
            start=trial["started"], days=trial["days"], units=tuple(units), dealt=tuple(habits), slots=tuple(slots),
            **({"how_dealt": "by hand"} | more))
    except ProtocolError as err:
        fault = Fault("trials.csv", line, None, tr("a plan that does not hold together"), str(err))
        raise ExchangeError([fault]) from err


def _read_fields(fields: Mapping[str, Any], line: int | None, faults: list[Fault]) -> dict[str, Any]:
    out, bad = read_fields((*_NEEDED, *_MORE), fields)
    faults += [Fault("trials.csv", line, *f) for f in bad]
    a, b = out["habit_a"], out["habit_b"]
    if a is not None and a == b:
        faults.append(Fault("trials.csv", line, "habit_b", shown(b), tr("another habit than `habit_a`")))
    if out["expected"] is not None and out["expected"] not in (a, b, "same"):
        faults.append(Fault("trials.csv", line, "expected", shown(out["expected"]),
                            tr("{a}, {b}, same or nothing").format(a=a, b=b)))
    return out


def _read_dealt(dealt: Sequence[tuple[int, Mapping[str, Any]]], trial: Mapping[str, Any],
                faults: list[Fault]) -> list[dict[str, Any]]:
    habits = [trial["habit_a"], trial["habit_b"]]
    cells: list[dict[str, Any]] = []
    seen: set[tuple[str, int | None]] = set()
    blocks: dict[str, tuple[set[str], int]] = {}
    for line, raw in dealt:
        cell, bad = read_fields(_DEALT[1:], raw)
        cell["line"] = line
        faults += [Fault("dealt.csv", line, *f) for f in bad]
        if cell["habit"] is not None and None not in habits and cell["habit"] not in habits:
            faults.append(Fault("dealt.csv", line, "habit", shown(cell["habit"]),
                                tr("one of the trial's two, {habits} or {habits2}{nearest}").format(
                                    habits=habits[0], habits2=habits[1], nearest=nearest(cell["habit"], habits))))
        if "day" not in {f.column for f in bad}:
            _check_day(cell, trial, faults)
        place = (cell["reed"], cell["day"])
        if cell["reed"] is not None and place in seen:
            when = "" if cell["day"] is None else " " + tr("on day {day}").format(day=cell["day"])
            faults.append(Fault("dealt.csv", line, "reed", tr("{reed} dealt twice{when}").format(
                                                               reed=shown(cell["reed"]), when=when),
                                tr("each once")))
        seen.add(place)
        if cell["block"] is not None:
            blocks.setdefault(cell["block"], (set(), line))[0].add(cell["habit"])
        cells.append(cell)
    faults += [Fault("dealt.csv", line, "block", tr("only one habit in the matched set {block}").format(
                                                     block=shown(block)),
                     tr("both habits in each matched set"))
               for block, (used, line) in blocks.items() if len(used - {None}) < 2]
    return cells


def _check_day(cell: Mapping[str, Any], trial: Mapping[str, Any], faults: list[Fault]) -> None:
    day, design = cell["day"], trial["design"]
    want = None
    if design == "reed_by_reed" and day is not None:
        want = tr("nothing: reed by reed, a reed keeps its habit")
    elif design == "day_by_day" and day is None:
        want = tr("the day of the trial, from 1")
    elif day is not None and trial["days"] is not None and day > trial["days"]:
        want = tr("a day from 1 to {days}").format(days=trial["days"])
    if want is not None:
        faults.append(Fault("dealt.csv", cell["line"], "day", shown(day), want))


def _units(cells: list[dict[str, Any]], design: str) -> tuple[list[Unit], list[str]]:
    if design == "reed_by_reed":
        return ([Unit(c["reed"], c["block"], (c["reed"],)) for c in cells], [c["habit"] for c in cells])
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for c in cells:
        groups.setdefault((c["block"], c["habit"]), []).append(c)
    # Named by day and reed, not by habit, so that the name gives nothing away.
    ordered = sorted(groups.items(), key=lambda g: (g[0][0], min((c["day"], c["reed"]) for c in g[1])))
    count: dict[str, int] = {}
    units, habits = [], []
    for (block, habit), members in ordered:
        count[block] = count.get(block, 0) + 1
        reeds = tuple(sorted({c["reed"] for c in members}))
        units.append(Unit(f"{block}-{count[block]}", block, reeds,
                          tuple(sorted(((c["reed"], c["day"]) for c in members), key=lambda rd: (rd[1], rd[0])))))
        habits.append(habit)
    return units, habits
