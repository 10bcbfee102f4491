"""The look: type, spacing and colours for all, and the pages that stand by themselves (the phone's, and of one file).

Pure but for templates, which every face fills in alike, and its own two files: `page.css`, and `parts.html.j2` with the
controls of a sitting.
"""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Final

from markupsafe import Markup

from ..wording import speak_in, tr
from .tokens import BAND, DARK, FONT, LIGHT, PRINT_FONT, tokens, variables

__all__ = ["BAND", "DARK", "FONT", "INVENTED", "LIGHT", "PARTS", "PRINT_FONT", "in_page", "page_style", "templates",
           "tokens", "variables"]

if TYPE_CHECKING:
    from jinja2 import Environment

#: What every page of the demo says of itself.
INVENTED: Final = tr("Invented: the player, the reeds and the ratings.")
#: Where templates find `parts.html.j2`.
PARTS: Final = Path(__file__).parent


def in_page(*files: Path) -> Markup:
    """Return style sheets or scripts of ours as they go into a page, without their indents."""
    return Markup("\n".join(re.sub(r"\n\s*", "\n", f.read_text(encoding="utf-8")) for f in files))


def page_style(*more: Path) -> Markup:
    """Return the style of a page that stands by itself, and what one page adds to it."""
    return Markup(tokens()) + in_page(PARTS / "page.css", *more)


@cache
def templates(*folders: Path) -> Environment:
    """Return what fills in the templates of these folders: every value is escaped, and none may be missing."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined  # only where a page is made: most commands don't

    made = Environment(loader=FileSystemLoader(folders), autoescape=True, trim_blocks=True, lstrip_blocks=True,
                       undefined=StrictUndefined)
    speak_in(made)
    return made
