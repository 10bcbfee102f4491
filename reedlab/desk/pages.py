"""The pages: their files, their names in the line at the top, and their order. The one home of that line."""

from __future__ import annotations

import json
from typing import Final

from ..folder.resources import notebooks_dir
from ..wording import language, page_text, tr

__all__ = ["LINE", "PAGES", "SAYS", "fresh_page"]

#: Every page in the order a player meets it, with its name.
_NAMES: Final = {
    "start.ipynb": tr("Start"), "plan.ipynb": tr("New reeds and plan"), "today.ipynb": tr("Today"),
    "case.ipynb": tr("Reed case"),
    "paper.ipynb": tr("Paper"), "result.ipynb": tr("Answer"), "ear.ipynb": tr("Know your own ear"),
    "why.ipynb": tr("Why not just try it?"), "class.ipynb": tr("Class")}
PAGES: Final = tuple(_NAMES)
_SHORT: Final = {"plan.ipynb": tr("Plan"), "case.ipynb": tr("Case")}
#: File, name and short name of the pages that the line at the top leads to; the others are reached from a page.
LINE: Final = tuple((page, name, _SHORT.get(page, name)) for page, name in _NAMES.items()
                    if page not in ("ear.ipynb", "why.ipynb"))
#: What the script around the pages says.
SAYS: Final = {
    "pages": tr("Pages"), "code": tr("Code"),
    "show_code": tr("Show the code behind this page, with JupyterLab’s menus"),
    "again": tr("This page had to start again. What you saved is safe and stands in your logbook. What you had typed "
                "and not saved is gone: please enter it once more."),
    "close": tr("All right"),
}


def fresh_page(name: str) -> bytes:
    """Return a page as it goes into a player's folder, in the player's language."""
    shipped = (notebooks_dir() / name).read_bytes()
    if language() == "en":
        return shipped
    notebook = json.loads(shipped)
    for cell in notebook["cells"]:
        if cell["cell_type"] == "markdown":
            cell["source"] = page_text("".join(cell["source"]))
    return json.dumps(notebook, indent=1, ensure_ascii=False).encode()
