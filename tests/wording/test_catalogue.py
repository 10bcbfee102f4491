"""Every text for a player can be looked up: whole patterns with named fields, found by the usual tools."""

from __future__ import annotations

import ast
import importlib.util
import re
import string
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pytest


def _load(name: str) -> Any:
    spec = importlib.util.spec_from_file_location(f"wording_{name}", Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)  # type: ignore[arg-type]
    spec.loader.exec_module(module)  # type: ignore[union-attr]
    return module


catalogue = _load("catalogue")
PACKAGE: Final[Path] = catalogue.PACKAGE
LOOK_UPS: Final = {"tr": 1, "trn": 2}


def calls() -> Iterator[tuple[str, ast.Call]]:
    """Yield (where, call) of each `tr` and `trn` in the code."""
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in LOOK_UPS:
                yield f"{path.relative_to(PACKAGE)}:{node.lineno}", node


def test_a_text_is_looked_up_as_it_stands() -> None:
    """No f-string, no sum, no name: what a tool cannot read from the code, no translator is shown."""
    wrong = [where for where, call in calls() if call.keywords
             or len(call.args) != (1 if call.func.id == "tr" else 3)  # type: ignore[attr-defined]
             or not all(isinstance(a, ast.Constant) and isinstance(a.value, str) and a.value.strip()
                        for a in call.args[:LOOK_UPS[call.func.id]])]  # type: ignore[attr-defined]
    assert not wrong


def test_fields_have_names() -> None:
    """A field without a name cannot change its place in another language; the few lone ``{}`` have one place."""
    lone = [t for t in _texts() if t.count("{}") > 1]
    numbered = [t for t in _texts() if re.search(r"\{\d", t)]
    assert not lone
    assert not numbered


def test_patterns_can_be_filled_in() -> None:
    """A text whose braces do not pair would stop the page that says it."""
    for text in _texts():
        if "%(" not in text:
            assert all(name is None or re.fullmatch(r"\w*", name) for _, name, _, _ in string.Formatter().parse(text))


def test_one_and_many_have_the_same_fields() -> None:
    """The one may leave a field out, as in "one reed"; it may not have one of its own."""
    for message in catalogue.texts():
        if message.id and message.pluralizable:
            one, many = ({n for _, n, _, _ in string.Formatter().parse(t) if n} for t in message.id)
            assert one <= many, message.id


def test_no_blank_hangs_at_the_edge_of_a_text() -> None:
    """A blank at the edge is lost on the way through most tools; it stands in the code (but of argparse)."""
    assert [t for t in _texts() if t != t.strip(" ")] == ["usage: "]


def test_the_catalogue_can_be_written_and_read(tmp_path: Path) -> None:
    """What a translator is handed holds every text, from the code and from the templates, with where it stands."""
    from babel.messages.pofile import read_po

    catalogue.write_pot(tmp_path / "reedlab.pot")
    with (tmp_path / "reedlab.pot").open("rb") as file:
        read = read_po(file)
    assert len(read) == len([m for m in catalogue.texts() if m.id]) > 1500
    where = {Path(file).suffix for m in read for file, _ in m.locations}
    assert where == {".py", ".j2", ".ipynb"}


def _texts() -> list[str]:
    return [t for m in catalogue.texts() if m.id for t in (m.id if m.pluralizable else (m.id,))]


# --- what is not looked up ----------------------------------------------------------------------

#: Files with sentences that no player reads, or only one who scripts or helps to develop: they stay English.
NOT_FOR_PLAYERS: Final = {
    "analysis/remarks/catalogue.py": "the contract between analysis and words",
    "analysis/shuffling/compare.py": "what a result of scripting prints",
    "analysis/shuffling/compared.py": "what a result of scripting prints",
    "analysis/shuffling/follow.py": "what a result of scripting prints",
    "analysis/shuffling/lives.py": "what a result of scripting prints",
    "forms/__init__.py": "what a form is, told to who opens it from Python",
    "desk/launchers.py": "scripts of the shell",
    "diaries/matching.py": "the name of a file's format, and what a column may hold",
    "diaries/values.py": "the names of months that a diary may be written in",
    "folder/printing.py": "where browsers stand on a disk",
    "logbook/_damage.py": "what the database says, to be told apart",
    "look/tokens.py": "style sheets",
    "phone/door.py": "lines of the server's log",
    "trial/protocol.py": "the words of a frozen plan do not change with the language it is read in",
}
#: Names of things inside the code, of files and formats; never shown as they stand.
NAMES: Final = {
    "outside lower left", "day of play", "pair of days", "pair of ratings", "reed and day", "one set a box",
    "in the list of", "reedlab class plan", '"reedlab class plan"', "reedlab shared trial",
    "reedlab page entries", "reedlab class roster",
    "-//reedlab//plan of a trial//EN", "module … has no attribute …", "… handed in.json", "… (my copy …).ipynb",
    "(?:no|not|never|don'?t|do not|without|skip|skipping|stop|leave out|instead of)",
    "in My week on the page Today", "under Something else, in My week",
}
#: What is no sentence at all: the language of the database, style sheets, rules for browsers, regular expressions.
NO_SENTENCE: Final = re.compile(
    r"\b(SELECT|PRAGMA|CREATE|ALTER|INSERT|CHECK|WHERE|TEXT|INTEGER|NULL|EXISTS|BLOB|BETWEEN|ROLLBACK|BEGIN)\b"
    r"|[=<>] \?|\\[swdb]|[{;]\s*[.@\w-]+.*[{:]|-src |^\d[\w ]*px|font-family|instr\(|^<\w+ (class|style|role)=|@media")


def bare_sentences(path: Path) -> list[str]:
    """Return the texts of three words or more in a file that are not looked up; docstrings and errors of ours aside."""
    tree = ast.parse(path.read_text(encoding="utf8"))
    skip = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in {
                *LOOK_UPS, "ValueError", "KeyError", "TypeError", "RuntimeError", "AssertionError"}:
            skip |= {id(n) for a in node.args for n in ast.walk(a)}
        if isinstance(node, ast.Assert) and node.msg is not None:
            skip.add(id(node.msg))
        if isinstance(node, ast.JoinedStr):
            skip |= {id(v) for v in node.values}
    found = []
    for node in ast.walk(tree):
        if id(node) in skip:
            continue
        if isinstance(node, ast.JoinedStr):
            text = "".join(str(v.value) if isinstance(v, ast.Constant) else "…" for v in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if len(re.findall(r"(?<![\w-])[A-Za-z’']{2,}(?![\w-])", text)) >= 3 and text.count(" ") >= 2 \
                and text not in NAMES and not NO_SENTENCE.search(text):
            found.append(text)
    return found


@pytest.mark.parametrize("path", sorted(PACKAGE.rglob("*.py")), ids=lambda p: p.relative_to(PACKAGE).as_posix())
def test_every_sentence_is_looked_up(path: Path) -> None:
    name = path.relative_to(PACKAGE).as_posix()
    if name in NOT_FOR_PLAYERS:
        return
    found = bare_sentences(path)
    assert not found
