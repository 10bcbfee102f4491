"""Whatever is wrong with the file, a page says it in words; what is saved is never called unsaved."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path

import pytest

from reedlab import forms
from reedlab.errors import LogbookError
from reedlab.forms import Book
from reedlab.forms.shared.form import Form
from reedlab.forms.shared.opened import Unread
from reedlab.logbook import Logbook
from reedlab.rows.records import Box, Reed

DAY = date(2026, 3, 20)
FORMS = ["away", "boxes", "case", "class_deal", "class_files", "class_hand_in", "class_paper", "class_plan",
         "class_together", "day", "diary", "ear", "end", "first_play", "new_reeds", "not_playing", "old_diary",
         "outing", "paper", "plan", "plan_more", "result", "retire", "setup", "sheet", "standing", "start", "today",
         "week", "worked_on"]


def now() -> datetime:
    return datetime(2026, 3, 20, 18).astimezone()


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "reeds.logbook"
    with Logbook.create(path, now=now) as logbook:
        logbook.add_many([Box(box="1", instrument="clarinet"),
                          *(Reed(reed=f"1-{n:02d}", box="1", first_play=6) for n in range(1, 4))])
    return path


def texts(form: Form) -> str:
    return "\n".join(str(c.value) for c in (form.notice, form.message))


def test_the_list_of_forms_is_whole() -> None:
    assert {*FORMS, "why"} == {n for n in forms.__all__ if n[0].islower()} - {"here", "bring_up_to_date", "get_ready"}


@pytest.mark.parametrize("name", FORMS)
def test_every_form_opens_on_a_logbook_that_cannot_be_read(name: str, tmp_path: Path) -> None:
    path = tmp_path / "reeds.logbook"
    path.write_text("no logbook at all\n" * 50)
    form = getattr(forms, name)(Book(path, lambda: DAY))
    assert isinstance(form, Form)
    assert "Traceback" not in texts(form)
    if isinstance(form, Unread):
        assert "is not a logbook" in texts(form)


def test_form_that_could_not_be_shown_comes_when_tried_again(file: Path, tmp_path: Path) -> None:
    sound = shutil.copy(file, tmp_path / "sound")
    file.write_text("no logbook at all\n" * 50)
    form = forms.today(Book(file, lambda: DAY))
    assert "be shown" in form.message.value
    shutil.copy(sound, file)
    form.again.click()  # type: ignore[attr-defined]
    (shown,) = form.children[0].children
    assert type(shown).__name__ == "TodayForm"


def test_damaged_entry_is_told_on_the_page_and_the_rest_shown(file: Path) -> None:
    raw = file.read_bytes()
    assert raw.count(b"1-021") == 1  # reed 1-02 of box 1, as it lies in the file
    file.write_bytes(raw.replace(b"1-021", b"1-921"))
    form = forms.retire(Book(file, lambda: DAY))
    assert "reeds: entry 2" in form.notice.value
    assert "Earlier copies" in form.notice.value


@pytest.fixture
def today(file: Path) -> Form:
    """The sheet that opens by itself where no trial runs."""
    sheet = forms.today(Book(file, lambda: DAY)).rarer.shown  # type: ignore[attr-defined]
    assert isinstance(sheet, Form)
    return sheet


def entered(form: Form) -> None:
    form.entry.reed.put("1-01")  # type: ignore[attr-defined]
    form.entry.play_min.put(20)  # type: ignore[attr-defined]


def failing_from(n: int, book: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Have the n-th reading of the logbook fail, and every later one."""
    true, done = Book.reading, [0]

    @contextmanager
    def reading(self: Book) -> Iterator[Logbook]:
        done[0] += 1
        if done[0] >= n:
            raise LogbookError("Another program has this logbook open.")
        with true(self) as logbook:
            yield logbook

    monkeypatch.setattr(Book, "reading", reading)


@pytest.mark.parametrize("n", [3, 4, 5, 6])
def test_saved_entry_whose_refresh_fails_is_never_called_unsaved(
        n: int, today: Form, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two readings come before the Save; any later one may fail while another program is writing."""
    entered(today)
    failing_from(n, today.book, monkeypatch)  # type: ignore[attr-defined]
    today.save.click()  # type: ignore[attr-defined]
    with Logbook.open(file, read_only=True) as logbook:
        assert len(logbook.frame("sittings")) == 1
    assert "Not saved" not in today.message.value
    assert "Saved" in today.message.value


def test_entry_that_is_not_saved_is_called_so(today: Form, file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    entered(today)

    def busy(*_: object, **__: object) -> Logbook:
        raise LogbookError("Another program has this logbook open.")

    monkeypatch.setattr(Logbook, "open_or_create", busy)
    today.save.click()  # type: ignore[attr-defined]
    assert "Not saved yet" in today.message.value
    with Logbook.open(file, read_only=True) as logbook:
        assert len(logbook.frame("sittings")) == 0


def test_copy_that_could_not_be_made_is_told_beside_saved(today: Form, file: Path) -> None:
    backups = file.parent / "backups"
    if backups.exists():
        shutil.rmtree(backups)
    backups.write_text("a file in the way")
    entered(today)
    today.save.click()  # type: ignore[attr-defined]
    assert "Saved" in today.message.value
    assert "The day&#39;s copy could not be put into" in today.message.value
