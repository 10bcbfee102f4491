"""Make the demo data anew: ``python -m tests.demo FOLDER``."""

from __future__ import annotations

import sys
from pathlib import Path

from .write import write_demo

if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("Give the folder to write the demo data into.")
    write_demo(Path(sys.argv[1]))
