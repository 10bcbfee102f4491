"""Print the pages of twenty awkward trials, to be read whole: `python -m tests.benchmarks.awkward_pages FOLDER`."""

from __future__ import annotations

import sys
from pathlib import Path

from tests.summary._awkward import write_pages


def main() -> None:
    """Write each page as text and HTML into the folder named."""
    if len(sys.argv) != 2:
        raise SystemExit("Say where the pages go: python -m tests.benchmarks.awkward_pages FOLDER")
    files = write_pages(Path(sys.argv[1]))
    print(f"{len(files)} files in {sys.argv[1]}")


if __name__ == "__main__":
    main()
