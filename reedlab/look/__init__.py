"""The look of the pages that stand by themselves: the phone's Today page and the page of one file.

Pure but for its own two files: `page.css`, and `parts.html.j2` with the controls of a sitting.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

from markupsafe import Markup

__all__ = ["PARTS", "in_page"]

#: Where templates find `parts.html.j2`.
PARTS: Final = Path(__file__).parent


def in_page(*files: Path) -> Markup:
    """Return style sheets or scripts of ours as they go into a page, without their indents."""
    return Markup("\n".join(re.sub(r"\n\s*", "\n", f.read_text(encoding="utf-8")) for f in files))
