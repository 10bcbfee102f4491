"""What a page of one file hands back, read and checked. Pure: text in, rows out.

The checksum (CRC-32, ISO 3309) is over the plan's fingerprint and all entries. It finds what a mail, a cable or a slip
of the hand did to the text. It proves nothing of who typed it: whoever can open the page can also make it anew.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from ..errors import ExchangeError, Fault
from ..rows.structure import Many, Number, Shape, Text, Thing, be_like, read_json
from ..rows.values import read_row
from ..wording import tr
from .away import FORMAT, VERSION

__all__ = ["LARGEST", "SITTING", "THE_TEXT", "HandedBack", "is_handed_back", "read_handed_back"]

#: How a text is called that came without a file.
THE_TEXT: Final = tr("the text")
#: Bytes of a file that may be one; a year of four reeds a day takes a few hundred thousand.
LARGEST: Final = 5_000_000
#: The columns of a sitting that the page fills; its place in the day is the logbook's to give.
SITTING: Final = ("date", "reed", "setup", "play_min", "overall", "response", "tone", "stiffness", "preference",
                  "habit", "where", "from_memory", "unsure_reed", "remark")
_DAY: Final = ("humidity_pct", "temp_c", "day_off")
_KEY: Final = Text(40, pattern=r"away-[a-z0-9]{6,12}-[a-z0-9]{1,8}", words=tr("a name that the page gave"))


def _rows(key: str, shape: Shape, columns: tuple[str, ...]) -> Many:
    more = {c: Text(2000) for c in columns}
    return Many(Thing({key: shape, **more}, frozenset(more)), most=20_000)


_FILE: Final = Thing({
    "format": Text(), "version": Number(VERSION, VERSION, whole=True), "trial": Text(), "code": Text(20),
    "plan": Text(pattern="[0-9a-f]{64}", words=tr("a fingerprint")), "made": Text(10), "check": Text(8),
    "sittings": _rows("sitting", _KEY, (*SITTING, "order", "gone")), "days": _rows("date", Text(10), _DAY),
    "gone": _rows("reed", Text(20), ("date", "reason"))})


@dataclass(frozen=True)
class HandedBack:
    """What a page handed back.

    `plan` is the fingerprint of the plan that it was made for. `sittings` are rows with all columns of the table, their
    names as the page gave them; `taken_back` names sittings that no longer count. `days` hold only what was said of
    each day. `retirements` have no reason where the reed is in service after all.
    """

    code: str
    trial: str
    plan: str
    sittings: tuple[dict[str, Any], ...]
    taken_back: tuple[str, ...]
    days: tuple[dict[str, Any], ...]
    retirements: tuple[dict[str, Any], ...]


def is_handed_back(text: str) -> bool:
    """Say whether a text looks like what a page hands back, sound or not."""
    return f'"{FORMAT}"' in text


def read_handed_back(text: str, name: str = THE_TEXT) -> HandedBack:
    """Read what a page handed back: its file, or its text with a message around it and lines broken on the way.

    Raises
    ------
    ExchangeError
        It is no such text, was changed since the page made it, or holds values that cannot be: each of them named.
    """
    raw = _found(text, name)
    body = {k: v for k, v in raw.items() if k != "check"}
    if raw.get("version") != VERSION:
        raise ExchangeError.of(
            name, tr("entries from a page of another version of reedlab"),
            tr("a page of this one: make it anew, open it in the same browser and hand back from there"))
    if raw.get("check") != _sum(body):
        raise ExchangeError.of(name, tr("entries that were changed, or cut short, after the page made them"),
                               tr("the file just as the page made it. Hand it back once more"))
    be_like(_FILE, raw, name)
    faults: list[Fault] = []
    sittings = [_read("sittings", {c: v for c, v in row.items() if c != "gone"}, name, faults)
                for row in raw["sittings"] if "gone" not in row]
    days = [_read("days", row, name, faults) for row in raw["days"]]
    gone = [_read("retirements", {"reason": "lost", **{c: v for c, v in row.items() if v}}, name, faults)
            | ({} if row.get("reason") else {"reason": None}) for row in raw["gone"]]
    if faults:
        raise ExchangeError(faults)
    said = [{c: day[c] for c in ("date", *_DAY) if c in row} for day, row in zip(days, raw["days"], strict=True)]
    return HandedBack(raw["code"], raw["trial"], raw["plan"], tuple(sittings),
                      tuple(row["sitting"] for row in raw["sittings"] if "gone" in row), tuple(said), tuple(gone))


def _found(text: str, name: str) -> Mapping[str, Any]:
    """Return the entries in a text, whatever stands before and after them."""
    lines = (re.sub(r"^[> ]+", "", line) for line in text.replace("\ufeff", "").splitlines())
    plain = " ".join(lines).replace("\u00a0", " ")
    try:
        raw = read_json(plain[plain.index("{"):plain.rindex("}") + 1])
    except ValueError:
        raw = None
    if not isinstance(raw, dict) or raw.get("format") != FORMAT:
        raise ExchangeError.of(name, tr("no entries from a page that reedlab can read") if not is_handed_back(text) else
                               tr("entries that were changed, or cut short, on the way"),
                               tr("the file, or the whole text, that the page makes under \"Hand it back\""))
    return raw


def _sum(body: Mapping[str, Any]) -> str:
    """Return the checksum as the page reckons it: over the text with no space between its parts."""
    text = json.dumps(_one_spaced(body), separators=(",", ":"), ensure_ascii=False)
    return f"{zlib.crc32(text.encode('utf-8', 'surrogatepass')):08x}"


def _one_spaced(value: Any) -> Any:
    """Return text with single spaces, as the page keeps it: a mail may have broken a line in two."""
    if isinstance(value, str):
        return re.sub(r"\s+", " ", value)
    if isinstance(value, dict):
        return {k: _one_spaced(v) for k, v in value.items()}
    return [_one_spaced(v) for v in value] if isinstance(value, list) else value


def _read(table: str, row: Mapping[str, Any], name: str, faults: list[Fault]) -> dict[str, Any]:
    values, bad = read_row(table, _one_spaced(row))
    where = " ".join(str(row[c]) for c in ("date", "reed") if c in row)
    faults += [Fault(f"{name}, {where}", None, *f) for f in bad]
    return values
