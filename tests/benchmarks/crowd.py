"""Three writers and four readers on one logbook at once: is anything lost, doubled, refused, or kept waiting?

    python tests/benchmarks/crowd.py [--entries 10000] [--writers 3] [--readers 4]

Each writer is a process that opens the logbook, saves one entry and closes it, as a page does; each reader opens it
and reads all boxes, and never sees fewer than before. Told are the longest and the median time of each.
"""

from __future__ import annotations

import argparse
import multiprocessing as mp
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import Any

from reedlab.errors import ReedlabError
from reedlab.logbook import Logbook
from reedlab.rows.records import Box


@dataclass
class Seen:
    """What came of it: entries there, faults in words, seconds of each save and each reading."""

    there: int
    faults: list[str]
    saves: list[float]
    readings: list[float]


def _write(path: Path, who: int, n: int, out: Any) -> None:
    took, faults = [], []
    for k in range(n):
        begun = time.perf_counter()
        try:
            with Logbook.open_or_create(path) as book:
                book.add(Box(box=f"{who}.{k}", instrument="clarinet"))
        except ReedlabError as err:
            faults.append(f"writer {who}: {err}")
        took.append(time.perf_counter() - begun)
    out.put(("save", took, faults))


def _read(path: Path, who: int, stop: Any, out: Any) -> None:
    took, faults, before = [], [], 0
    while not stop.is_set():
        begun = time.perf_counter()
        try:
            with Logbook.open(path, read_only=True) as book:
                now = len(book.frame("boxes"))
            if now < before:
                faults.append(f"reader {who}: {before} entries, then {now}")
            before = now
        except ReedlabError as err:
            faults.append(f"reader {who}: {err}")
        took.append(time.perf_counter() - begun)
    out.put(("read", took, faults))


def crowd(path: Path, entries: int, writers: int = 3, readers: int = 4) -> Seen:
    """Have them all at work until the entries are written."""
    Logbook.open_or_create(path).close()
    context = mp.get_context("fork")
    stop, out = context.Event(), context.Queue()
    each = entries // writers
    at_work = [context.Process(target=_write, args=(path, k, each, out)) for k in range(writers)]
    looking = [context.Process(target=_read, args=(path, k, stop, out)) for k in range(readers)]
    for p in (*looking, *at_work):
        p.start()
    told = [out.get() for _ in at_work]
    stop.set()
    told += [out.get() for _ in looking]
    for p in (*looking, *at_work):
        p.join()
    faults = [f for _, _, some in told for f in some]
    with Logbook.open(path, read_only=True) as book:
        boxes = list(book.frame("boxes")["box"])
        faults += book.check()
    if len(set(boxes)) != len(boxes) or len(boxes) != each * writers:
        faults.append(f"{each * writers} saved, {len(boxes)} there, {len(set(boxes))} different")
    times = {kind: [t for k, took, _ in told if k == kind for t in took] for kind in ("save", "read")}
    return Seen(len(boxes), faults, times["save"], times["read"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--entries", type=int, default=10_000)
    parser.add_argument("--writers", type=int, default=3)
    parser.add_argument("--readers", type=int, default=4)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        seen = crowd(Path(made) / "reeds.logbook", args.entries, args.writers, args.readers)
    print(f"{seen.there} entries by {args.writers} writers beside {args.readers} readers: {len(seen.faults)} faults")
    for name, took in (("save", seen.saves), ("reading", seen.readings)):
        print(f"  {name}: {len(took)} times, median {1000 * median(took):.0f} ms, longest {1000 * max(took):.0f} ms")
    print("\n".join(seen.faults[:20]))


if __name__ == "__main__":
    main()
