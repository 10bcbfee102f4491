"""What one player hands on of a trial, so that others can put it together with theirs. Pure.

A shared trial holds the deal, the ratings and the minutes that its answer is worked out from, under a code such
as P07. It has no name, no date (days are counted from the trial's first), no remark and no words of the
player's own. That a reed was worked on, and that the set-up was changed, is told (set-ups by number), for either
may bend an answer. Who reads it works the answer out anew with the same analysis.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any, Final

import pandas as pd

from ..analysis.together.parts import Part, read_part
from ..analysis.units.blind import blind
from ..analysis.verdicts.state import state_of
from ..errors import ExchangeError, Fault, InputError, ProtocolError
from ..rows.structure import Flag, Many, Maybe, Number, Shape, Text, Thing, be_like
from ..rows.tables import TABLES, Frames
from ..rows.values import as_json, read_rows, shown
from ..trial.plan_shape import DAY, PLAN, REED
from ..trial.protocol import Habit, Protocol, Slot, Unit
from ..wording import tr
from .class_plan import RATINGS, ClassPlan, marks, misfits, with_words

__all__ = ["CODE", "SHARE_FORMAT", "Shared", "is_sealed", "parts_of", "read_shared", "share"]

SHARE_FORMAT: Final = "reedlab shared trial"
_VERSION: Final = 1
CODE: Final = re.compile(r"[A-Z]{1,3}[0-9]{1,4}")
_WORD: Final = re.compile(r"[a-z_]{1,24}")
_DAY_ONE: Final = date(2000, 1, 1)  # shared days are counted; this is only where the counting starts
_SITTING: Final = ("order", "play_min", "habit", "where", "from_memory", "unsure_reed")


@dataclass(frozen=True)
class Shared:
    """One shared trial, read: everything `analyse` needs, and nothing else."""

    code: str
    protocol: Protocol
    frames: Frames
    today: date
    fingerprint: str  # of the plan as it stands in the player's own logbook


def share(protocol: Protocol, frames: Frames, code: str, *, today: date) -> dict[str, Any]:
    """Return one ended trial as plain data to hand on.

    Parameters
    ----------
    protocol, frames
        The frozen plan and the rows of the player's logbook.
    code : str
        One to three capital letters and a number, such as P07; never a name.
    today : date
        The day it is read on.

    Raises
    ------
    InputError
        The code looks like a name, the trial still runs, or it was never shuffled.
    """
    if not CODE.fullmatch(code):
        raise InputError(tr("`code` is {code!r}; wanted one to three capital letters and a number, such as P07. "
                            "Never use a name.").format(code=code))
    if protocol.standing:
        raise InputError(tr("The trial {trial!r} is a standing trial. It stops when its odds say so, and can't be "
                            "put together with others as if its end had been planned. Hand in its page "
                            "instead.").format(trial=protocol.trial))
    now = state_of(protocol, frames, today=today, open_early=False)
    if now.state == "running":
        raise InputError(tr("The trial {trial!r} still runs. Share it once it has ended.").format(
                             trial=protocol.trial))
    if now.state == "diary":
        raise InputError(tr("The trial {trial!r} was never shuffled, so it can't be put together with others.").format(
                             trial=protocol.trial))
    reeds = _new_names(protocol.reeds)
    bare = _bare(protocol, code, reeds, _setups(protocol, frames))
    content = {
        "format": SHARE_FORMAT, "version": _VERSION, "code": code, "plan_sha256": protocol.sha256,
        "read_on": (today - protocol.start).days, "plan": json.loads(bare.to_json()),
        **_rows(protocol, frames, reeds, now.trial.until)}
    return {**content, "sha256": _seal(content)}


def _seal(content: Mapping[str, Any]) -> str:
    text = json.dumps(content, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)
    return hashlib.sha256(text.encode()).hexdigest()


def is_sealed(content: Mapping[str, Any]) -> bool:
    """Say whether a shared trial is as it was made."""
    try:
        return _seal({k: v for k, v in content.items() if k != "sha256"}) == content.get("sha256")
    except (TypeError, ValueError):
        return False


def _new_names(reeds: Iterable[str]) -> dict[str, str]:
    """Return new names for reeds: boxes are numbered, a reed keeps its number."""
    split = [r.rpartition("-") for r in reeds]
    boxes = {b: str(i) for i, b in enumerate(sorted({b for b, _, _ in split}), start=1)}
    return {f"{b}-{n}": f"{boxes[b]}-{n}" for b, _, n in split}


def _setups(protocol: Protocol, frames: Frames) -> dict[str, str]:
    """Return numbers for the set-ups that the trial's reeds were played on, the plan's own first."""
    sat = frames.sittings[frames.sittings["reed"].isin(protocol.reeds)].sort_values("date", kind="stable")
    own = [] if protocol.setup is None else [protocol.setup]
    return {name: f"setup{i}" for i, name in enumerate(dict.fromkeys([*own, *sat["setup"].dropna()]), start=1)}


def _bare(protocol: Protocol, code: str, reeds: Mapping[str, str], setups: Mapping[str, str]) -> Protocol:
    """Return a plan without words, dates and the player's own names."""
    blocks = {b: f"set{i}" for i, b in enumerate(dict.fromkeys(u.block for u in protocol.units), start=1)}
    by_reed = protocol.design == "reed_by_reed"
    units = tuple(
        Unit(reeds[u.unit] if by_reed else f"unit{i}", blocks[u.block], tuple(reeds[r] for r in u.reeds),
             tuple((reeds[r], d) for r, d in u.cells))
        for i, u in enumerate(protocol.units, start=1))
    question = protocol.question if _WORD.fullmatch(protocol.question) else _mark(protocol.question)
    a, b = (Habit(h.key, h.key) for h in protocol.habits)
    return replace(
        protocol, trial=code, question=question, ask="", habits=(a, b), units=units, start=_DAY_ONE,
        slots=tuple(Slot(s.day, s.order, reeds[s.reed]) for s in protocol.slots),
        setup=None if protocol.setup is None else setups[protocol.setup],
        scale=marks(protocol.scale))


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _rows(protocol: Protocol, frames: Frames, reeds: Mapping[str, str], until: date) -> dict[str, Any]:
    """Return the rows the analysis reads, days counted from the trial's first."""
    sat = frames.sittings
    sat = sat[sat["reed"].isin(list(reeds)).to_numpy() & (sat["date"].dt.date <= until).to_numpy()]
    sat = sat.sort_values(["date", "order", "sitting"], kind="stable")
    keys = {h.key for h in protocol.habits}
    ratings = dict.fromkeys((protocol.rating, "overall"))
    setups = _setups(protocol, frames)
    sittings = []
    for row in sat.to_dict("records"):
        kept = {c: row[c] for c in (*_SITTING, *ratings)}
        kept["habit"] = kept["habit"] if kept["habit"] in keys else None
        kept["setup"] = setups.get(row["setup"])
        sittings.append({"day": _count(row["date"], protocol), "reed": reeds[row["reed"]], **kept})
    air = frames.days
    inside = (air["date"].dt.date >= protocol.start) & (air["date"].dt.date <= until)
    days = [{"day": _count(d["date"], protocol), "humidity_pct": d["humidity_pct"], "temp_c": d["temp_c"],
             "pause": d["pause"]} for d in air[inside.to_numpy()].to_dict("records")]
    left = frames.retirements[frames.retirements["reed"].isin(list(reeds)).to_numpy()]
    gone = [{"day": _count(r["date"], protocol), "reed": reeds[r["reed"]], "reason": r["reason"]}
            for r in left.to_dict("records") if r["date"].date() <= until]
    known = frames.reeds.set_index("reed")
    first, worked = known["first_play"].to_dict(), known["worked_on"].dropna().to_dict()
    # what was done before the trial is told, but not when
    since = {r: max(_count(d, protocol), -1) for r, d in worked.items() if d.date() <= until}
    looks = frames.looks[frames.looks["trial"] == protocol.trial]
    row_of = frames.trials[frames.trials["trial"] == protocol.trial]
    ended = row_of["ended"].dropna()
    return _plain({
        "reeds": [{"reed": new, "first_play": first.get(old), "worked_on": since.get(old)}
                  for old, new in reeds.items()], "sittings": sittings,
        "days": days, "retirements": gone, "looks": [_count(d, protocol) for d in looks["date"]],
        "ended": _count(ended.iloc[-1], protocol) if len(ended) else None})


def _count(when: Any, protocol: Protocol) -> int:
    return int((pd.Timestamp(when).date() - protocol.start).days)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _plain(v) for k, v in value.items()}
    return [_plain(v) for v in value] if isinstance(value, list) else as_json(value)


def _row_shape(table: str, names: Iterable[str], may_lack: Iterable[str] = ()) -> Thing:
    """Return the shape of one row: its day, and the table's columns of these names. Ranges are checked later."""
    number = Maybe(Number(-1e9, 1e9))
    kinds: dict[str, Shape] = {"int": number, "float": number, "bool": Maybe(Flag())}
    columns = {n: kinds.get(TABLES[table].field(n).kind, Maybe(Text())) for n in names}
    return Thing({"day": DAY, **columns}, frozenset(may_lack))


_FILE: Final = Thing({
    "format": Text(), "version": Number(_VERSION, _VERSION, whole=True),
    "code": Text(pattern=CODE.pattern, words=tr("a code such as P07, no name")),
    "plan_sha256": Text(pattern="[0-9a-f]{64}", words="a fingerprint"), "read_on": DAY, "plan": PLAN,
    "reeds": Many(Thing({"reed": REED, "first_play": Maybe(Number(-1e9, 1e9)), "worked_on": Maybe(DAY)},
                        frozenset({"worked_on"})), most=1000),
    "sittings": Many(_row_shape("sittings", ("reed", "setup", *_SITTING, *RATINGS), ("setup", *RATINGS))),
    "days": Many(_row_shape("days", ("humidity_pct", "temp_c", "pause")), most=5000),
    "retirements": Many(_row_shape("retirements", ("reed", "reason")), most=1000), "looks": Many(DAY, most=5000),
    "ended": Maybe(DAY), "sha256": Text(),
})


def read_shared(content: Any, name: str = "file") -> Shared:
    """Read one shared trial, checking all of it.

    Raises
    ------
    ExchangeError
        With every fault, by the file's `name` and the place in it.
    """
    if not isinstance(content, dict) or content.get("format") != SHARE_FORMAT:
        raise ExchangeError.of(name, tr("no shared trial"), tr("a file made with `reedlab class share`"))
    if content.get("version") != _VERSION:
        raise ExchangeError.of(
            name, tr("a shared trial of version {version}").format(version=shown(content.get("version"))),
            tr("version {version}").format(version=_VERSION))
    if not is_sealed(content):
        raise ExchangeError.of(name, tr("a shared trial that was changed after it was made"),
                               tr("the file just as it was made"))
    be_like(_FILE, content, name)
    try:
        plan = Protocol.from_plain(content["plan"])
        frames = _frames(plan, content, name)
        blind(plan, frames)
    except ExchangeError:
        raise
    except (KeyError, ValueError, ProtocolError) as err:
        raise ExchangeError.of(name, tr("a shared trial that does not hold together ({err})").format(err=err),
                               tr("a file made with `reedlab class share`")) from err
    today = plan.start + timedelta(days=content["read_on"])
    return Shared(content["code"], plan, frames, today, content["plan_sha256"])


def _frames(plan: Protocol, content: Mapping[str, Any], name: str) -> Frames:
    def on(day: int) -> date:
        return plan.start + timedelta(days=day)

    raw: dict[str, list[dict[str, Any]]] = {
        "reeds": [{"reed": r["reed"], "box": r["reed"].rpartition("-")[0], "first_play": r["first_play"],
                   "worked_on": None if r.get("worked_on") is None else on(r["worked_on"])}
                  for r in content["reeds"]],
        "sittings": [{**{k: v for k, v in s.items() if k != "day"}, "date": on(s["day"]), "sitting": f"s{i}"}
                     for i, s in enumerate(content["sittings"], start=1)],
        "days": [{**{k: v for k, v in d.items() if k != "day"}, "date": on(d["day"])} for d in content["days"]],
        "retirements": [{"reed": r["reed"], "date": on(r["day"]), "reason": r["reason"]}
                        for r in content["retirements"]],
        "looks": [{"trial": plan.trial, "date": on(d), "why": "not shared"} for d in content["looks"]]}
    rows, bad = read_rows(raw)
    faults = [replace(f, file=f"{name}, {f.file}") for f in bad]
    known = {r["reed"] for r in raw["reeds"]}
    if set(plan.reeds) - known:
        faults.append(Fault(name, None, "reeds", tr("a reed of the plan missing"), tr("every reed of the plan")))
    if faults:
        raise ExchangeError(faults)
    boxes = [{"box": b, "instrument": plan.instrument} for b in sorted({r["box"] for r in rows["reeds"]})]
    ended = None if content["ended"] is None else on(content["ended"])
    trials = [{"trial": plan.trial, "started": plan.start, "ended": ended, "ended_why": None,
               "protocol_sha256": plan.sha256, "protocol": plan.to_json()}]
    return Frames.trusted(**rows, boxes=boxes, trials=trials)


def parts_of(shared: Iterable[Shared], plan: ClassPlan | None = None) -> list[Part]:
    """Return shared trials ready to be combined, in the words of the class's plan or of the catalogue.

    Several trials under one code are one player's own repeats.

    Raises
    ------
    InputError
        A trial does not fit the class's plan, still runs or was not shuffled; says every one.
    """
    parts, faults = [], []
    count: dict[str, int] = {}
    for s in shared:
        count[s.code] = count.get(s.code, 0) + 1
        label = s.code if count[s.code] == 1 else f"{s.code} again" if count[s.code] == 2 else (
            tr("{code}, number {n}").format(code=s.code, n=count[s.code]))
        if plan is not None:
            faults += [f"{label}: {why}" for why in misfits(plan, s.protocol)]
        try:
            part = read_part(label, s.code, s.protocol, s.frames, today=s.today)
            parts.append(replace(part, protocol=with_words(s.protocol, plan), fingerprint=s.fingerprint))
        except InputError as err:
            faults.append(str(err))
    if faults:
        raise InputError(tr("These trials can't be put together:") + "\n" + "\n".join(f"  {f}" for f in faults))
    return parts
