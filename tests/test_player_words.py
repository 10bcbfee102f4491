"""No code word in front of a player: every sentence in the package is read for names with underscores and banned words.

A sentence is a string constant with at least three spaces that is no docstring; an f-string counts with its gaps, a
pattern without its fields.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest

import reedlab
from reedlab.rows.tables import TABLES
from reedlab.rows.values import read_value, wanted

PACKAGE: Final = Path(reedlab.__file__).parent
BANNED: Final = re.compile(
    r"\b(arms?|blocks?|subjects?|treatments?|hazards?|null|p-values?|significan\w+|scores?|intervals?|protocols?|squares?"
    r"|diagonals?|censor\w*|randomi[sz]\w+)\b", re.IGNORECASE)
CODE: Final = re.compile(r"\b[a-z]+(?:_[a-z0-9]+)+\b")
FIELD: Final = re.compile(r"\{\w*(?:![rs])?(?::[^{}]*)?\}")


def sentences(path: Path) -> Iterator[tuple[int, str]]:
    """Yield (line, text) of every string of a file that reads like a sentence, docstrings left out."""
    tree = ast.parse(path.read_text(encoding="utf8"))
    skip = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef) and node.body:
            first = node.body[0]
            if isinstance(first, ast.Expr) and isinstance(first.value, ast.Constant):
                skip.add(id(first.value))
        if isinstance(node, ast.JoinedStr):
            skip |= {id(v) for v in node.values}
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            text = "".join(str(v.value) if isinstance(v, ast.Constant) else "…" for v in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in skip:
            text = node.value
        else:
            continue
        if text.count(" ") >= 3:
            yield node.lineno, FIELD.sub("…", text)


#: Where a sentence is read by one who scripts, who passes these very names: numbers, shuffling and simulated worlds.
FOR_SCRIPTS: Final = ("analysis/", "trial/dealing.py", "trial/world.py", "worlds/", "demo/")
#: The database's own language and the style sheets: no one reads them.
NO_SENTENCE: Final = re.compile(r"\b(SELECT|PRAGMA|CREATE|ALTER|INSERT|CHECK|WHERE|TEXT|INTEGER|REAL|NULL|EXISTS|LIMIT|"
                                r"BLOB)\b|entry_id (=|IN)|instr\(|coalesce\(|[{;]\s*[a-z-]+: ")
#: Names of columns, files and functions that a player really types.
TYPED: Final = {
    "logbook/by_hand.py": {"block", "habit_a"}, "logbook/merging.py": {"entry_id"},
    "summary/figures/joined.py": {"lives_figure", "ratings_figure"},
}


def faults(path: Path) -> list[str]:
    """Return the code words and banned words in the sentences of a file."""
    name = path.relative_to(PACKAGE).as_posix()
    if name.startswith(FOR_SCRIPTS):
        return []
    found = []
    for line, text in sentences(path):
        if NO_SENTENCE.search(text):
            continue
        wrong = {w for w in [*CODE.findall(text), *BANNED.findall(text)] if w not in TYPED.get(name, ())}
        found += [f"{name}:{line}: {w!r} in {text!r}" for w in sorted(wrong)]
    return found


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_no_sentence_holds_a_code_word_or_a_banned_word(path: Path) -> None:
    assert not faults(path)


def test_the_walk_sees_what_it_should(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A message with a code word in an f-string is found; a docstring and a key are not."""
    monkeypatch.setattr("tests.test_player_words.PACKAGE", tmp_path)
    file = tmp_path / "said.py"
    file.write_text('"""A docstring with reeds_a_day in it."""\nx = {"reeds_a_day": 1}\n'
                    'raise ValueError(f"`reeds_a_day` is {x}, wanted 1 to 5")\n'
                    'print("This arm of the trial won.")\n')
    assert len(faults(file)) == 2


@pytest.mark.parametrize("column", ["reason", "where", "instrument"])
def test_choices_are_told_in_words_and_taken_in_words(column: str) -> None:
    table = {"reason": "retirements", "where": "sittings", "instrument": "boxes"}[column]
    field = TABLES[table].field(column)
    assert not CODE.search(wanted(field))
    for choice in field.choices:
        assert read_value(field, choice.replace("_", " ")) == (choice, None)
