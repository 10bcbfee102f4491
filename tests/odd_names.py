"""Forty odd names for ways and trials: all free text that a player could type."""

from __future__ import annotations

import re
from html import unescape
from typing import Final

ODD: Final = (
    "on the windowsill", "water", "soak it long, then dry", 'the "blue" case', "„lange“ wässern", "naß; dünn",
    "5 minutes", "50 % humid", "a, b and c", "as usual.", "no", "None", "nan", "A", "B", "arm B", "it", "better",
    "<b>bold</b>", "&amp;", "C:\\reeds", "../up", "don't", "l'anche mouillée", "リード", "Ångström-Hülle", "🎷 case",
    "two\nlines", "tab\there", "  spaces  ", "what? which!", "{curly}", "$5 case", "_under_", "%s", "100%", "x" * 90,
    "a very long way of soaking the reed in a deep glass of warm water while the kettle sings", "…", "(in brackets)",
)


def in_a_row(name: str) -> str:
    """The name as a page shows it: a browser makes one space of several and of a line's end."""
    return " ".join(name.split())


def words_of(page: str) -> str:
    """What can be read on a page of HTML."""
    body = re.sub(r"<(style|script|title)\b.*?</\1>|<!.*?>", " ", page, flags=re.DOTALL)
    plain = re.sub(r"<[^>]+>", " ", re.sub(r"</?(b|i|u|span|code|em|strong|wbr)\b[^>]*>", "", body))
    return in_a_row(unescape(plain).replace("\u2011", "-"))


def raw_tags(page: str) -> list[str]:
    """Marks of a name that a browser would take for its own."""
    return [bad for bad in ("<b>bold", "bold</b>", "&amp;amp;amp;") if bad in page]
