"""One bit turned over anywhere in a logbook: is it noticed, or does it change nothing that is read?

    python tests/benchmarks/bit_flips.py [--flips 300] [--seed 1]

The logbook is the demo's. Each flip is done on a fresh copy of the file, which is then opened and read whole, every
entry of every table with its history. A flip is *silent* where what is read differs without a word, *wrong* where a
word is said and yet an entry is read that was never written, an *error* where it gives anything but a message.
"""

from __future__ import annotations

import argparse
import random
import tempfile
import warnings
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from reedlab.errors import ReedlabError
from reedlab.folder.resources import demo_data_dir
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import import_folder

Read = dict[str, tuple[dict[int, Any], dict[int, Any]]]


def demo_file(folder: Path) -> Path:
    """Write the demo's logbook into a folder."""
    path = folder / "reeds.logbook"
    with Logbook.create(path) as book:
        import_folder(demo_data_dir() / "logbook", book)
    return path


def read(path: Path) -> tuple[Read, list[str]]:
    """Read every entry by table and number: those that hold now, and the others; and what is said to be lost."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with Logbook.open(path, read_only=True) as book:
            book.frames()
            with book.entries() as entries:
                found = {t: (_by_number(now), _by_number(past)) for t, (now, past) in entries.items()}
            return found, book.lost


def _by_number(rows: Iterable[Mapping[str, Any]]) -> dict[int, str]:
    return {r["entry_id"]: repr(dict(r)) for r in rows}


def kind_of(path: Path, true: Read) -> str:
    """Say what a flip did: refused, named, nothing; or silent, wrong, error."""
    try:
        found, lost = read(path)
    except ReedlabError:
        return "refused"
    except Exception as err:
        return f"error ({type(err).__name__}: {err})"
    if not lost:
        return "nothing" if found == true else "silent"
    for table, (now, past) in found.items():
        written = {**true[table][0], **true[table][1]}
        if any(written.get(number) != row for number, row in {**now, **past}.items()):
            return "wrong"
    return "named"


def flips(path: Path, n: int, seed: int) -> Counter[str]:
    """Turn `n` bits over, one at a time, and count what each did; `path` is left as it was."""
    data, true = path.read_bytes(), read(path)[0]
    rng = random.Random(seed)
    found: Counter[str] = Counter()
    other = path.with_name("flipped.logbook")
    for _ in range(n):
        at = rng.randrange(8 * len(data))
        spoilt = bytearray(data)
        spoilt[at // 8] ^= 1 << at % 8
        other.unlink(missing_ok=True)
        other.write_bytes(bytes(spoilt))
        found[kind_of(other, true)] += 1
    return found


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--flips", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as made:
        found = flips(demo_file(Path(made)), args.flips, args.seed)
    for kind, n in found.most_common():
        print(f"{n:5d}  {kind}")


if __name__ == "__main__":
    main()
