"""Everything that a player can read without a browser, built once and told as texts: run in a process of its own.

``python -m tests.wording.faces FOLDER`` prints a JSON object: `seen` is a list of [where, text], `data` what a player
typed into the demo's logbook. The language is that of the process (`REEDLAB_LANG`).
"""

from __future__ import annotations

import base64
import io
import json
import re
import sys
import traceback
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout, suppress
from datetime import date, timedelta
from html.parser import HTMLParser
from pathlib import Path
from typing import Any, Final

import ipywidgets as w

from reedlab import forms
from reedlab.cli.main import _parser, main
from reedlab.demo import set_up_demo
from reedlab.desk.pages import LINE, SAYS
from reedlab.errands.read_trial import read_trial
from reedlab.forms import Book
from reedlab.logbook import Logbook
from reedlab.phone.pages import day_page, plain_page
from reedlab.phone.work import Answer
from reedlab.plan import look_ahead
from reedlab.plan.forecast import forecast
from reedlab.questions import CATALOGUE
from reedlab.rows.tables import TABLES
from reedlab.screens import today as day_of
from reedlab.trial.calendar import going
from reedlab.trial.outlook import Outlook
from tests.forms.test_guarded import FORMS

_SHOWN: Final = {"title", "alt", "aria-label", "placeholder", "label", "data-label", "content", "value"}
#: A figure that a page holds; its letters stay letters.
_DRAWN: Final = "data:image/svg+xml;base64,"
Seen = list[tuple[str, str]]


class _Texts(HTMLParser):
    """The texts of a page, and of the attributes that are read out or shown."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in ("style", "script")
        told = dict(attrs)
        for name in ("src", "srcset"):
            if (told.get(name) or "").startswith(_DRAWN):
                drawn = base64.b64decode((told[name] or "")[len(_DRAWN):]).decode()
                letters = re.findall(r">([^<>]*[^<>\s][^<>]*)</(?:text|tspan)", drawn)
                self.found.append(" ".join(" ".join(letters).split()))
        inner = tag in ("meta", "input", "button", "option") and told.get("type") != "submit"
        self.found += [v for k, v in attrs if k in _SHOWN and v and not (inner and k in ("content", "value"))]

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("style", "script")

    def handle_data(self, data: str) -> None:
        if not self._hidden and data.strip():
            self.found.append(" ".join(data.split()))


def texts_of(page: str) -> list[str]:
    """Return the visible texts of a piece of HTML."""
    parser = _Texts()
    parser.feed(page)
    return parser.found


def widget_texts(widget: w.Widget) -> Iterator[str]:
    """Yield what a control and all in it say."""
    for name in ("description", "placeholder", "tooltip", "busy"):
        said = getattr(widget, name, None)
        if isinstance(said, str) and said:
            yield said
    if isinstance(widget, w.HTML):
        yield from texts_of(widget.value)
    for option in getattr(widget, "options", ()) or ():
        yield str(option[0] if isinstance(option, tuple) else option)
    for title in getattr(widget, "titles", ()) or ():
        yield str(title)
    for tip in getattr(widget, "tooltips", ()) or ():
        yield str(tip)
    for child in getattr(widget, "children", ()):
        yield from widget_texts(child)


def leaves(data: Any) -> Iterator[str]:
    """Yield every text in nested data."""
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict):
        for value in data.values():
            yield from leaves(value)
    elif isinstance(data, list | tuple):
        for value in data:
            yield from leaves(value)


def typed_in(book: Path) -> set[str]:
    """Return every text of a logbook's rows and frozen plans."""
    out: set[str] = set()
    with Logbook.open(book, read_only=True) as logbook:
        frames = logbook.frames()
        for table in TABLES:
            frame = getattr(frames, table, None)
            if frame is None:
                continue
            for column in frame.columns:
                out |= {str(x) for x in frame[column].dropna().unique() if isinstance(x, str)}
        for name in logbook.trial_names():
            out |= set(leaves(json.loads(logbook.protocol(name).to_json())))
    return {x for x in out if re.search("[A-Za-z]", x)}


def as_typed() -> set[str]:
    """Return what is typed or read as it stands whatever the language: commands, columns, questions, codes."""
    verbs = next(a for a in _parser()._actions if getattr(a, "choices", None))
    inner = [w for sub in verbs.choices.values() for a in sub._actions  # type: ignore[union-attr]
             if getattr(a, "choices", None) for w in a.choices]  # type: ignore[union-attr]
    keys = {k for q in CATALOGUE.values() for k in (q.key, *(h.key for h in q.habits))}
    names = {n for t in TABLES.values() for n in (t.name, *t.columns, "supersedes", "withdrawn", "part", "text")}
    return {x.lower() for x in (*verbs.choices, *inner, *keys, *names)}  # type: ignore[misc]


def command(seen: Seen, *argv: str) -> None:
    """Run a command and tell what it printed."""
    out = io.StringIO()
    with redirect_stdout(out), redirect_stderr(out), suppress(SystemExit):
        main(argv)
    where = "$ " + " ".join(Path(a).name for a in argv)
    seen += [(where, " ".join(part.split())) for part in out.getvalue().split("\n\n") if part.strip()]


def commands(seen: Seen, folder: Path, book: Path) -> None:
    """Every command's help, and what each says of the demo."""
    command(seen, "--help")
    command(seen, "today")  # without what it needs
    verbs = next(a for a in _parser()._actions if getattr(a, "choices", None))
    for name, sub in verbs.choices.items():  # type: ignore[union-attr]
        command(seen, name, "--help")
        for inner in (a for a in sub._actions if getattr(a, "choices", None) and a.dest == "what"):
            for what in inner.choices:
                command(seen, name, what, "--help")
    b = str(book)
    with Logbook.open(book, read_only=True) as logbook:
        trials = logbook.trial_names()
    for name in trials:
        command(seen, "result", b, "--trial", name, "--full")
    command(seen, "page", b, "--trial", trials[0], "-o", str(folder / "page.html"), "--report")
    out = str(folder / "out")
    for argv in (
            ("check", b), ("today", b), ("diary", b), ("plan", b), ("plan", b, "--question", "wetting"),
            ("plan", b, "--question", "no_question"), ("standing", b), ("standing", b, "rinse"), ("restore", b),
            ("result", b, "--trial", "nothing"), ("result", b, "--today", "yesterday"), ("export", b, out),
            ("export", b, f"{out}.xlsx"), ("import", out, "--into", str(folder / "again.logbook")),
            ("import", str(folder / "none"), "--into", str(folder / "again.logbook")),
            ("paper", "sheet", b, "-o", str(folder / "sheet.html")),
            ("paper", "labels", b, "-o", str(folder / "labels.html")),
            ("paper", "calendar", b, "-o", str(folder / "trial.ics")),
            ("paper", "away", b, "-o", str(folder / "away.html")),
            ("paper", "spreadsheet", b, "-o", str(folder / "sheet.xlsx")),
            ("class", "plan", "wetting", "-o", str(folder / "plan.json"), "--pupils", "6"),
            ("class", "share", b, "--trial", trials[-1], "--code", "Ann", "-o", str(folder / "P07.json")),
            ("class", "together", out), ("open", b)):
        command(seen, *argv)


def form_texts(seen: Seen, where: str, form: Any) -> None:
    """Tell what a form says."""
    seen += [(where, text) for text in widget_texts(form)]


def open_forms(seen: Seen, what: str, path: Path, on: date) -> None:
    """Every form on a logbook, and after its buttons were pressed with nothing typed."""
    for name in FORMS:
        form = getattr(forms, name)(Book(path, lambda: on))
        form_texts(seen, f"{name} ({what})", form)
        for control in list(_buttons(form)):
            if control.description in ("×", "½") or getattr(control, "disabled", False):
                continue
            try:
                control.click()
            except Exception as err:  # what a press makes of nothing typed is told by the form
                seen.append((f"{name} ({what}), pressed", f"{type(err).__name__}"))
        form_texts(seen, f"{name} ({what}), pressed", form)


def _buttons(widget: w.Widget) -> Iterator[Any]:
    if isinstance(widget, w.Button):
        yield widget
    for child in getattr(widget, "children", ()):
        yield from _buttons(child)


def answers(seen: Seen, book: Path, on: date) -> None:
    """The answer and the report of each trial, as pages."""
    with Logbook.open(book, read_only=True) as logbook:
        for name in logbook.trial_names():
            found = read_trial(logbook, name, today=on)
            for what, page in (("answer", found.to_html()), ("report", found.report_html())):
                seen += [(f"{what} of {name}", text) for text in texts_of(page)]


def phone(seen: Seen, book: Path, on: date) -> None:
    """The phone's pages."""
    with Logbook.open(book, read_only=True) as logbook:
        for day in (on, on - timedelta(days=400), on + timedelta(days=1)):
            frames = logbook.frames()
            shown = day_of(frames, {n: logbook.protocol(n) for n in going(frames, day)}, day)
            seen += [("phone", text) for text in texts_of(
                day_page(Answer(shown), nonce="x", token="x", book="x"))]
    seen += [("phone, plain", text) for text in texts_of(plain_page("…", nonce="x"))]


def files(seen: Seen, folder: Path) -> None:
    """What was written beside: pages, sheets, calendars, notebooks, launchers; and what the pages' own script says."""
    seen += [("around the pages", text) for text in (*SAYS.values(), *(name for _, *names in LINE for name in names))]
    for path in sorted(folder.rglob("*")):
        if path.suffix == ".html":
            seen += [(path.name, text) for text in texts_of(path.read_text(encoding="utf8"))]
        elif path.suffix == ".ics":
            said = re.sub(r"\r?\n ", "", path.read_text(encoding="utf8"))
            seen += [(path.name, line.split(":", 1)[1]) for line in said.splitlines()
                     if line.startswith(("SUMMARY", "DESCRIPTION", "X-WR-CALNAME", "X-WR-CALDESC"))]
        elif path.suffix == ".sh":
            told = re.findall("(?:echo|printf '%s ') '(.*?)'", path.read_text(encoding="utf8"))
            seen += [(path.name, said) for said in told]
        elif path.suffix == ".ipynb":
            cells = json.loads(path.read_text(encoding="utf8"))["cells"]
            seen += [(path.name, line) for c in cells if c["cell_type"] == "markdown"
                     for line in "".join(c["source"]).splitlines() if line.strip()]
        elif path.suffix == ".xlsx":
            from openpyxl import load_workbook

            sheets = load_workbook(path)
            seen += [(path.name, str(cell)) for sheet in sheets for row in sheet.iter_rows(values_only=True)
                     for cell in row if isinstance(cell, str)]


def few_trials(*plan: Any, trials: int, **more: Any) -> Outlook:
    """Play a plan through a few times only: what is said of it has other numbers and the same words."""
    return forecast(*plan, trials=min(trials, 20), **more)


def everything(folder: Path) -> dict[str, Any]:
    """Build it all; what breaks on the way is told beside it."""
    look_ahead.forecast = few_trials
    seen: Seen = []
    broken: list[str] = []
    book = set_up_demo(folder / "demo")
    on = date.fromisoformat((book.parent / "demo_today.txt").read_text(encoding="utf8").strip())
    data = typed_in(book)
    (folder / "new").mkdir()
    for part in (lambda: commands(seen, folder, book), lambda: answers(seen, book, on), lambda: phone(seen, book, on),
                 lambda: form_texts(seen, "why", forms.why()),
                 lambda: open_forms(seen, "new", folder / "new" / "reeds.logbook", on),
                 lambda: open_forms(seen, "demo", book, on), lambda: files(seen, folder)):
        try:
            part()
        except Exception:
            broken.append(traceback.format_exc())
    return {"seen": seen, "data": sorted(data), "as_typed": sorted(as_typed()), "broken": broken}


if __name__ == "__main__":
    print(json.dumps(everything(Path(sys.argv[1]))))
