"""The catalogue of texts, for a translator: ``python -m tests.wording.catalogue reedlab.pot`` writes it.

Babel reads the code and the templates; it comes with JupyterLab's server and is never imported by reedlab.
"""

from __future__ import annotations

import argparse
import json
import sys
from functools import cache
from pathlib import Path
from typing import Final

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir, extract_from_file
from babel.messages.mofile import write_mo
from babel.messages.pofile import write_po

import reedlab
from reedlab.desk.pages import PAGES
from reedlab.folder.resources import notebooks_dir

PACKAGE: Final = Path(reedlab.__file__).parent
_METHODS: Final = [("**.py", "python"), ("**.j2", "jinja2")]
_OPTIONS: Final = {"**.j2": {"trimmed": "false", "silent": "false", "trim_blocks": "true", "lstrip_blocks": "true"}}
_LOOKED_UP: Final = {"tr": None, "trn": (1, 2), "_": None, "gettext": None, "ngettext": (1, 2)}


@cache
def texts() -> Catalog:
    """Return every text that the package looks up, with the files and lines where it stands."""
    made = Catalog(project="reedlab", version=reedlab.__version__, charset="utf-8", fuzzy=False)
    for file, line, text, _, context in extract_from_dir(PACKAGE, _METHODS, _OPTIONS, _LOOKED_UP):
        made.add(text, locations=[(Path(file).as_posix(), line)], context=context)
    for line, text, _, _ in extract_from_file("python", argparse.__file__, _LOOKED_UP):  # what it says of a command
        made.add(text, locations=[("argparse.py", line)])
    for page in PAGES:  # each cell of text whole
        cells = json.loads((notebooks_dir() / page).read_text(encoding="utf-8"))["cells"]
        for cell in cells:
            if cell["cell_type"] == "markdown":
                made.add("".join(cell["source"]), locations=[(f"notebooks/{page}", 1)])
    return made


def write_pot(path: Path) -> None:
    """Write the catalogue as a template for translators."""
    with path.open("wb") as out:
        write_po(out, texts(), width=120)


def write_language(folder: Path, language: str, turned: dict[str, str]) -> None:
    """Write the catalogue of a made-up language, in which each text is told as `turned` says."""
    made = Catalog(locale="en", charset="utf-8", fuzzy=False)
    for message in texts():
        if message.id:
            said = tuple(map(turned.__getitem__, message.id)) if message.pluralizable else turned[message.id]
            made.add(message.id, said)
    target = folder / language / "LC_MESSAGES" / "reedlab.mo"
    target.parent.mkdir(parents=True)
    with target.open("wb") as out:
        write_mo(out, made)


if __name__ == "__main__":
    write_pot(Path(sys.argv[1]))
