"""What the phone's pages do with the logbook: show the day, save a form, take an entry back. No HTTP, no HTML."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from pathlib import Path
from typing import Final

from ..errands.book import Book
from ..errors import InputError, LogbookError
from ..folder.clock import is_invented
from ..folder.resources import find_logbook
from ..screens import Asked, Entry, Refused, Today, Written, entry_of, save, take_back, today
from ..screens.not_playing import DayOff, day_off
from ..screens.saving import written_words
from ..trial.pairs import in_words, of_ratings, said
from ..wording import tr

__all__ = ["GOES", "Answer", "Work"]

#: The columns that a form of the phone may fill.
COLUMNS: Final = ("reed", "date", "play_min", "overall", "response", "tone", "stiffness", "preference", "habit",
                  "where", "setup", "from_memory", "unsure_reed", "remark")
#: The fields of the two ratings, one of each go, that may be given in place of a preference.
GOES: Final = {"first_go": tr("First go, 0 to 10"), "second_go": tr("Second go, 0 to 10")}
_KEY: Final = re.compile(r"phone-[A-Za-z0-9_-]{16,32}")


@dataclass(frozen=True)
class Answer:
    """What to show: the day, what is said at its head, and what was typed where it has to be typed again.

    `state` is "shown", "written", "asked" or "refused". `at` names the form that was sent and `typed` its fields. `off`
    is what not playing today would mean, and `invented` whether all of it is the demo's.
    """

    day: Today
    state: str = "shown"
    said: str = ""
    lines: tuple[str, ...] = ()
    at: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    sure: str = ""
    entry_id: int | None = None
    off: DayOff | None = None
    invented: bool = False


class Work:
    """Works on the logbook of one folder."""

    def __init__(self, folder: Path) -> None:
        self._book = Book.here(find_logbook(folder))

    def show(self, saved: str = "") -> Answer:
        """Show the day; `saved` is the number of an entry to be read back, or what else was done: "back" or "away"."""
        return self._whole(self._show(saved))

    def changed(self) -> str:
        """Return what differs after each entry and on each day; the logbook is not opened."""
        try:
            stat = self._book.path.stat()
            return f"{self._book.today()} {stat.st_ino} {stat.st_mtime_ns} {stat.st_size}"
        except OSError:
            return str(self._book.today())

    def _show(self, saved: str) -> Answer:
        day = self._day()
        if saved == "back":
            return Answer(day, "written", tr("Taken back. It no longer counts."))
        if saved == "away":
            return Answer(day, "written", self._off_or_not(self._off(self._book.today()).stands))
        if saved not in {str(s.entry_id) for s in (*(s for x in day.lines for s in x.saved), *day.others)}:
            return Answer(day)
        spoken = entry_of(self._book.frames_now(), int(saved), self._book.plans_now())
        return Answer(day, "written", written_words([Written(int(saved), spoken)]), entry_id=int(saved))

    def take(self, what: str, typed: Mapping[str, str]) -> Answer:
        """Take a form of the phone in: "save" an entry, take one of today's "back", or say that one is "away" today."""
        jobs = {"save": self._save, "back": self._take_back, "away": self._not_playing}
        try:
            return self._whole(jobs[what](typed))
        except InputError as err:
            return self._whole(self._open(Refused(tuple(str(err).splitlines())), typed))

    def _whole(self, answer: Answer) -> Answer:
        return replace(answer, off=self._off(answer.day.on), invented=is_invented(self._book.path.parent))

    def _off(self, on: date) -> DayOff:
        return day_off(self._book.frames_now(on), self._book.plans_now(), on, self._book.today())

    @staticmethod
    def _off_or_not(off: bool) -> str:
        return tr("Saved: not playing today.") if off else tr("Saved: you play today after all.")

    def _not_playing(self, typed: Mapping[str, str]) -> Answer:
        today, wanted = self._book.today(), typed.get("off") == "yes"
        on = next((d for d in (today, today - timedelta(days=1)) if d.isoformat() == typed.get("date")), None)
        if on is None:
            raise InputError(tr("Days that are gone by are put right on the computer."))
        off = self._off(on)
        if off.stands == wanted or (not wanted and on != today):  # sent twice, or said at the desk meanwhile
            return Answer(self._day(), "written", self._off_or_not(off.stands))
        with self._book.writing() as logbook:
            off.meant.write(logbook)
        return Answer(self._day(), "written", self._off_or_not(wanted), (*off.meant.moved, *off.meant.lost))

    def _save(self, typed: Mapping[str, str]) -> Answer:
        row: dict[str, object] = {c: typed[c] for c in COLUMNS if c in typed}
        if "half" in typed and re.fullmatch(r"\d+", typed.get("overall", "")):
            row["overall"] = float(typed["overall"]) + 0.5
        for tick in ("from_memory", "unsure_reed"):
            row[tick] = typed.get(tick, "") == "yes"
        row.update(_both_rated(typed))
        key = typed.get("key", "")
        changed = self._of_today(typed["changed"]) if "changed" in typed else None
        if changed is None and not _KEY.fullmatch(key):
            raise InputError(tr("This form is not whole. Load the page again and type it once more."))
        with self._book.writing() as logbook:
            answer = save(logbook, Entry(row, key or None, changed, typed.get("sure")), self._book.trial_days)
        if isinstance(answer, Written):
            return Answer(self._day(), "written", written_words([answer]), entry_id=answer.entry_id)
        return self._open(answer, typed)

    def _take_back(self, typed: Mapping[str, str]) -> Answer:
        number = self._of_today(typed.get("changed", ""))
        if typed.get("sure") != "yes":
            asked = Asked((tr("Take this entry back? It no longer counts; the history keeps it."),), "yes")
            return self._open(asked, typed)
        with self._book.writing() as logbook:
            answer = take_back(logbook, number)
        return self._open(answer, typed) if isinstance(answer, Refused) else Answer(
            self._day(), "written", tr("Taken back. It no longer counts."))

    def _open(self, answer: Refused | Asked, typed: Mapping[str, str]) -> Answer:
        asked = isinstance(answer, Asked)
        return Answer(self._day(), "asked" if asked else "refused",
                      tr("Is this right?") if asked else tr("Not saved yet. Please put this right:"), answer.lines,
                      typed.get("form", ""), typed, answer.token if isinstance(answer, Asked) else "")

    def _day(self) -> Today:
        on = self._book.today()
        return today(self._book.frames_now(), self._book.plans_now(), on, days=self._book.trial_days(on))

    def _of_today(self, number: str) -> int:
        """Return the number of an entry, if the phone may change it: one of today's, or one it changed before."""
        on = self._book.today()
        if re.fullmatch(r"[0-9]{1,15}", number) and self._book.exists:
            with self._book.reading() as logbook, suppress(LogbookError):  # no such entry
                if logbook.history("sittings", int(number))["date"].iloc[-1].date() == on:
                    return int(number)
        raise InputError(tr("Entries of other days are changed on the computer."))


def _both_rated(typed: Mapping[str, str]) -> dict[str, object]:
    """Return what two ratings, one of each go, put into a row; nothing where none was given. InputError else."""
    given = {name: typed.get(name, "").strip() for name in GOES}
    if not any(given.values()):
        return {}
    points, faults = [], []
    for name, text in given.items():
        if re.fullmatch(r"(\d|10)([.,][05])?", text) and (point := float(text.replace(",", "."))) <= 10:
            points.append(point)
        else:
            faults.append(tr("{part}: you gave {found}; wanted {wanted}.").format(
                part=GOES[name], found=f"'{text}'" if text else tr("nothing"),
                wanted=tr("a number from 0 to 10, by halves, of both goes or of neither")))
    if faults:
        raise InputError("\n".join(faults))
    first, second = points
    meant, chosen = of_ratings(first, second), typed.get("preference", "")
    if chosen not in ("", f"{meant:g}"):
        raise InputError(tr("Which go was better? The two ratings say: {meant}. Choose that above, or empty them.")
                         .format(meant=said(meant)))
    remark = in_words(first, second) if not typed.get("remark") else f"{typed['remark']}; {in_words(first, second)}"
    return {"preference": meant, "remark": remark}
