"""Run the command line: ``python -m reedlab``."""

import sys

from .cli import main

sys.exit(main())
