"""The jobs of `kills.py` that go through a face: the Today page, the phone's door, the command line, written files.

A job says on its pipe what was acknowledged: the form shows "Saved", the phone has read the answer, the command has
ended with 0. What was sent from the phone and not answered is sent once more afterwards with the same key.
"""

from __future__ import annotations

import asyncio
import contextlib
import http.client
import io
import re
import shutil
import tempfile
import threading
from collections import Counter
from collections.abc import Callable
from datetime import date
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import urlencode

from reedlab import forms
from reedlab.cli.main import main as command
from reedlab.errands.book import Book
from reedlab.errors import ReedlabError
from reedlab.folder.clock import TODAY_FILE
from reedlab.folder.resources import demo_data_dir
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder, import_folder
from reedlab.phone import keys
from reedlab.phone.work import Work
from reedlab.rows.records import Box, Reed

__all__ = ["FACES", "faults_of_face", "ready", "run", "sitting_pages"]

Say = Callable[[object], None]
TODAY = date(2026, 6, 1)
_PAPERS = ("page", "spreadsheet", "calendar", "labels", "sheet")


def ready(job: str, path: Path) -> None:
    """Put there what a job needs, once."""
    if path.exists():
        return
    if job in ("export", "papers"):
        with Logbook.create(path) as book:
            import_folder(demo_data_dir() / "logbook", book)
        shutil.copy(demo_data_dir() / TODAY_FILE, path.parent)
        return
    (path.parent / TODAY_FILE).write_text(TODAY.isoformat(), encoding="utf-8")
    if job in ("form", "phone"):
        with Logbook.create(path) as book:
            book.add(Box(box="1", instrument="clarinet"))
            book.add_many([Reed(reed=f"1-{n:02d}", box="1", first_play=6, first_played=date(2026, 5, 1))
                           for n in range(1, 10)])


def run(*words: str) -> None:
    """Run a command line; raise if it does not end well."""
    told = io.StringIO()
    with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
        code = command(list(words))
    if code:
        raise ReedlabError(f"{words}: {told.getvalue()}")


def _form(path: Path, turn: int, say: Say) -> None:
    form = forms.today(Book.here(path))
    for n in range(1000):
        form.entry.reed.put(f"1-{1 + n % 9:02d}")  # type: ignore[attr-defined]
        form.entry.play_min.put(1)  # type: ignore[attr-defined]
        form.entry.overall.put(7)  # type: ignore[attr-defined]
        form.entry.remark.put(f"{turn}.{n}")  # type: ignore[attr-defined]
        form.save.click()  # type: ignore[attr-defined]
        if "Is this right" in form.message.value:
            form._yes.click()
        if "Saved" not in form.message.value:
            raise ReedlabError(f"the form said {form.message.value}")
        say(n)


def _phone(path: Path, turn: int, say: Say) -> None:
    port = _served(path.parent)
    key = keys.read(path.parent)
    assert key is not None
    cookie = _ask(port, "GET", f"/in/{key.key}")[1].partition(";")[0]
    token = _found(r'name="token" value="([^"]+)"', _ask(port, "GET", "/", cookie)[2])
    for n in range(1000):
        typed = _typed(turn, n) | {"token": token}
        status, _, page = _ask(port, "POST", "/save", cookie, typed)
        if 'name="sure"' in page:
            sure = _found(r'name="sure" value="([^"]+)"', page)
            status, _, page = _ask(port, "POST", "/save", cookie, typed | {"sure": sure})
        if status != 303:
            raise ReedlabError(f"the phone was told {status} {page[-800:]}")
        say(n)


def _typed(turn: int, n: int) -> dict[str, str]:
    return {"form": "other", "key": f"phone-{turn:010d}{n:010d}", "reed": f"1-{1 + n % 9:02d}", "play_min": "1",
            "overall": "7", "where": "practice", "date": TODAY.isoformat(), "remark": f"{turn}.{n}"}


def _found(pattern: str, text: str) -> str:
    found = re.search(pattern, text)
    if found is None:
        raise ReedlabError(f"no {pattern} in {text[-500:]}")
    return found[1]


def _served(folder: Path) -> int:
    """Answer phones on a thread of this process; return the port."""
    from tornado.httpserver import HTTPServer
    from tornado.testing import bind_unused_port

    from reedlab.phone.door import application

    port: list[int] = []
    up = threading.Event()

    async def stay() -> None:
        socket, free = bind_unused_port()
        keys.begin(folder, host="127.0.0.1", port=free)
        HTTPServer(application(folder, f"127.0.0.1:{free}"), max_body_size=16_000).add_socket(socket)
        port.append(free)
        up.set()
        await asyncio.Event().wait()

    threading.Thread(target=lambda: asyncio.run(stay()), daemon=True).start()
    up.wait(30)
    return port[0]


def _ask(port: int, method: str, at: str, cookie: str = "",
         typed: dict[str, str] | None = None) -> tuple[int, str, str]:
    head = {"Cookie": cookie} | ({} if typed is None else {
        "Content-Type": "application/x-www-form-urlencoded", "Origin": f"http://127.0.0.1:{port}"})
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=30)
    line.request(method, at, None if typed is None else urlencode(typed), head)
    got = line.getresponse()
    out = got.status, got.headers.get("Set-Cookie", ""), got.read().decode()
    line.close()
    return out


def _import(path: Path, turn: int, say: Say) -> None:
    folder = path.parent / "folder"
    folder.mkdir(exist_ok=True)
    for n in range(1000):
        rows = "".join(f"{turn}.{n}.{k},clarinet\n" for k in range(60))
        (folder / "boxes.csv").write_text("box,instrument\n" + rows)
        run("import", str(folder), "--into", str(path))
        say(n)


def _restore(path: Path, turn: int, say: Say) -> None:
    day = sorted((path.parent / "backups").glob("reeds-????-??-??.logbook"))[-1].stem.removeprefix("reeds-")
    for n in range(1000):
        run("restore", str(path), "--copy", day, "--yes")
        say(n)


def _export(path: Path, turn: int, say: Say) -> None:
    for n in range(1000):
        run("export", str(path), str(path.parent / "out"))
        say(n)


def _papers(path: Path, turn: int, say: Say) -> None:
    verb = _PAPERS[turn % len(_PAPERS)]
    end = {"spreadsheet": "xlsx", "calendar": "ics"}.get(verb, "html")
    more = ["--trial", "High or low"] if verb not in ("page", "labels") else []
    more += ["--trial", "Water or mouth"] if verb == "page" else []
    for n in range(1000):
        own = f"-{turn}-{n}" if verb == "spreadsheet" else ""  # one that may hold entries is never written over
        run(verb, str(path), "-o", str(path.parent / f"{verb}{own}.{end}"), *more)
        say(n)


FACES: dict[str, Callable[[Path, int, Say], None]] = {
    "form": _form, "phone": _phone, "import": _import, "restore": _restore, "export": _export, "papers": _papers}


def faults_of_face(job: str, path: Path, turn: int, said: list[str]) -> list[str]:
    """Return what a kill spoilt, of the entries and files of a job of this module."""
    if job == "phone":  # the phone sends again what was not answered, with the same key
        for n in (len(said), len(said)):
            typed = _typed(turn, n)
            answer = Work(path.parent).take("save", typed)
            if answer.state == "asked":
                answer = Work(path.parent).take("save", typed | {"sure": answer.sure})
            if answer.state != "written":
                return [f"phone: sent again: {answer.said} {answer.lines}"]
    if job in ("form", "phone"):
        with Logbook.open(path, read_only=True) as book:
            mine = Counter(r for r in book.frame("sittings")["remark"].dropna() if r.startswith(f"{turn}."))
        most = len(said) + 1
        if max(mine.values(), default=1) > 1 or not most - (job == "form") <= len(mine) <= most:
            return [f"{job}: {len(said)} acknowledged, there {mine}"]
    if job == "export" and (path.parent / "out").exists():
        return _good_export(path, path.parent / "out")
    return _good_papers(path.parent) if job == "papers" else []


def _good_export(path: Path, out: Path) -> list[str]:
    with tempfile.TemporaryDirectory() as made:
        again = Path(made) / "again.logbook"
        try:
            with Logbook.create(again) as book:
                changed = import_folder(out, book).changed
                export_folder(book, Path(made) / "twice")
        except ReedlabError as err:
            return [f"export: {err}"]
        there, twice = ({p.relative_to(f).as_posix(): p.read_bytes() for p in f.rglob("*") if p.is_file()}
                        for f in (out, Path(made) / "twice"))
    return [f"export: changed {changed}"] * bool(changed) + ["export: not whole"] * (there != twice)


def _good_papers(folder: Path) -> list[str]:
    import openpyxl

    faults = []
    for verb in _PAPERS:
        for file in folder.glob(f"{verb}[-.]*"):
            if file.suffix == ".xlsx":
                try:
                    openpyxl.load_workbook(file).close()
                except Exception as err:
                    faults.append(f"papers: {file.name}: {err!r}")
                file.unlink()
                continue
            text = file.read_text(encoding="utf-8")
            HTMLParser().feed(text)
            if not text.rstrip().endswith("END:VCALENDAR" if file.suffix == ".ics" else "</html>"):
                faults.append(f"papers: {file.name} is cut short")
    return faults


def sitting_pages(path: Path) -> list[str]:
    """Open the pages on a logbook as a player would, and return what they complain of."""
    book = Book.here(path)
    told = []
    for name in ("start", "today", "day", "outing", "retire", "case", "plan"):
        form = getattr(forms, name)(book)
        if "reedlab-bad" in form.message.value:
            told.append(f"the page {name}: {re.sub('<[^>]+>', ' ', form.message.value)[:300]}")
    if "refused" in (state := Work(path.parent).show().state):
        told.append(f"the phone: {state}")
    return told
