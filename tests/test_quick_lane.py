"""The list of tests that take time names only tests that there are."""

from __future__ import annotations

import re
from pathlib import Path

SLOW = Path(__file__).with_name("slow.txt")


def test_every_slow_test_on_the_list_exists() -> None:
    lines = SLOW.read_text(encoding="utf8").splitlines()
    assert lines == sorted(set(lines))
    gone = []
    for line in lines:
        path, _, name = line.partition("::")
        file = SLOW.parents[1] / path
        if not file.exists() or not re.search(rf"def {re.escape(name.rpartition('::')[2])}\b",
                                              file.read_text(encoding="utf8")):
            gone.append(line)
    assert gone == []
