"""In a made-up language every visible text is another: what stays English was never looked up.

Every letter of every text in the catalogue is turned into one with a mark. All that can be shown without a browser is
then built in a process that speaks this language, and no letter without a mark may be left but in what a player typed,
in what must be typed as it stands, and in names of files.
"""

from __future__ import annotations

import importlib.util
import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest

_spec = importlib.util.spec_from_file_location("wording_catalogue", Path(__file__).with_name("catalogue.py"))
catalogue: Any = importlib.util.module_from_spec(_spec)  # type: ignore[arg-type]
_spec.loader.exec_module(catalogue)  # type: ignore[union-attr]

MARKED: Final = str.maketrans("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ",
                              "áƀćđéƒǵĥíĵķłḿńóṕɋŕśťúṽẃẋýźÁɃĆĐÉƑǴĤÍĴĶŁḾŃÓṔɊŔŚŤÚṼẂẊÝŹ")
#: Fields to be filled in, tags and signs of a page: they stay.
KEPT: Final = re.compile(r"\{[^{}]*\}|%(?:\([a-z_]+\))?[sdr]|<[^<>]+>|&\w+;")
WORD: Final = re.compile(r"(?<![\w/.-])[A-Za-z][A-Za-z'’]+(?![\w/-])")

#: What is typed as it stands, and what the run itself typed.
TYPED: Final = re.compile(
    r"\b[A-Z]{2,}\b|\breedlab\b|FILE\.pdf|\{a4,letter\}|datapackage|^main$|'(Ann|nothing|yesterday)'")


def turned(text: str) -> str:
    """Return a text with every letter marked."""
    out, at = [], 0
    for kept in KEPT.finditer(text):
        out += [text[at:kept.start()].translate(MARKED), kept[0]]
        at = kept.end()
    return "".join(out) + text[at:].translate(MARKED)


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("language")
    texts = [t for m in catalogue.texts() if m.id for t in (m.id if m.pluralizable else (m.id,))]
    catalogue.write_language(folder / "locale", "xx", {t: turned(t) for t in texts})
    done = subprocess.run(
        [sys.executable, "-m", "tests.wording.faces", str(folder / "faces")], check=True, capture_output=True,
        text=True, cwd=Path(__file__).parents[2],
        env={**os.environ, "REEDLAB_LANG": "xx", "REEDLAB_LOCALE": str(folder / "locale"), "COLUMNS": "100"})
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def left(told: dict[str, Any]) -> Iterator[str]:
    """Yield what still holds an unmarked word of two letters or more, with where it stands."""
    names = sorted({n for n in told["data"] if len(n) > 2}, key=len, reverse=True)
    typed = re.compile(rf"(?<!\w)(?:{'|'.join(re.escape(' '.join(n.split())) for n in names)})(?!\w)", re.IGNORECASE)
    for where, text in told["seen"]:
        rest = TYPED.sub(" ", typed.sub(" ", " ".join(text.split())))
        words = [w for w in WORD.findall(rest) if w.lower() not in told["as_typed"]]
        if words:
            yield f"{where}: {text[:100]!r}: {words[:5]}"


@pytest.mark.slow
def test_nothing_breaks_in_another_language(told: dict[str, Any]) -> None:
    assert not told["broken"]


@pytest.mark.slow
def test_every_visible_text_is_another(told: dict[str, Any]) -> None:
    assert len({text for _, text in told["seen"]}) > 4000
    assert not list(left(told))


@pytest.mark.slow
def test_what_python_says_of_a_command_is_looked_up_too(told: dict[str, Any]) -> None:
    said = " ".join(text for _, text in told["seen"])
    for text in ("usage: ", "options", "positional arguments", "show this help message and exit",
                 "the following arguments are required: "):
        assert turned(text) in said


@pytest.mark.slow
def test_the_walk_sees_a_text_that_stays(told: dict[str, Any]) -> None:
    seen = [("here", turned("Save") + " the reed"), ("there", turned("Save the reed"))]
    assert len(list(left({**told, "seen": seen}))) == 1
