"""My week: the usual minutes of each weekday, days off, and concerts to come."""

from __future__ import annotations

from datetime import date

import ipywidgets as w

from ...errands.book import Book
from ...rows.records import Concert as ConcertRow
from ...rows.records import Day, Weekday
from ...rows.tables import CHOICE_WORDS, WEEKDAYS, Frames
from ...rows.values import as_it_stands, read_row
from ...schedule import CONCERT_MIN, coming_concerts
from ...screens.words import faults_in_words
from ...wording import spoken_date, tr, trn
from ..shared.fields import DayPicker, Number, dressed, fold, heading, note, show_if, tick
from ..shared.form import Form, NotYet, html, need, rows_table
from ..shared.render import render
from .week_words import concert_words, days_off_cost, pause_words, week_html

__all__ = ["WeekForm"]


class WeekForm(Form):
    """One Save for the week and for concerts. It stands folded; what the plan reckons with is always in sight."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.state, self.lost = html(""), html("")
        self.pause = self.button(tr("Let the trial skip my days off"), self._pause)
        self.every = Number(tr("Same every day"), hint=tr("for example 60"))
        self.fill = dressed(self.button(tr("Put it in all seven"), self._fill), "beside")
        self.days = {name: Number(CHOICE_WORDS[name]) for name in WEEKDAYS}
        self.concert, self.play_min = DayPicker(tr("Concert on")), Number(tr("Minutes of the concert"), CONCERT_MIN)
        self.coming = w.VBox([])
        self.ticks: dict[date, w.Checkbox] = {}
        self.save = self.button(tr("Save my week"), self._save, main=True)
        box = w.VBox([
            heading(tr("Minutes you usually play")), note(tr("0 is a day off. The plan then asks for nothing.")),
            w.HBox([self.every, self.fill]), w.HBox(list(self.days.values())), heading(tr("Concerts")),
            w.HBox([self.concert, self.play_min]), self.coming, self.save])
        self.fold = fold(tr("Change my week, or add a concert"), box)
        self.show(self.state, self.lost, self.pause, self.fold, box)
        self._shown: dict[str, str | None] = dict.fromkeys(WEEKDAYS)
        self.follow(self.refresh)()

    # --- showing ---------------------------------------------------------------------------------

    @property
    def _touched(self) -> bool:
        return any(field.typed != self._shown[name] for name, field in self.days.items())

    def refresh(self) -> None:
        """Read the logbook again; fields that are being filled in stay as they are."""
        frames, today = self.book.frames_now(), self.book.today()
        self.state.value = week_html(frames, today)
        if not self._touched:
            self._put(frames)
        known = coming_concerts(frames, today)
        self.ticks = {c.on: self.ticks.get(c.on, tick("")) for c in known}
        for c in known:
            self.ticks[c.on].description = tr("Take back: {concert_words}").format(concert_words=concert_words(c))
        self.coming.children = tuple(self.ticks.values())
        cost = self._cost(frames)
        self.lost.value = render("tell", kind="ask", text=pause_words(cost)) if cost else ""
        show_if(cost, self.pause)

    def _put(self, frames: Frames) -> None:
        known = dict(zip(frames.week["weekday"], frames.week["play_min"], strict=True))
        for name, field in self.days.items():
            field.put(known.get(name))
            self._shown[name] = field.typed

    def _cost(self, frames: Frames) -> dict[str, list[date]]:
        today = self.book.today()
        plans = [d.protocol for d in self.book.trial_days(today)]
        return days_off_cost(plans, frames, today)

    def _fill(self) -> None:
        need(tr("Nothing to put in yet."), (self.every, tr("Same every day: fill in the minutes.")))
        self.quiet()
        for field in self.days.values():
            field.value = self.every.value

    # --- saving ----------------------------------------------------------------------------------

    def _save(self) -> None:
        frames = self.book.frames_now()
        faults: list[str] = []
        week = self._week(frames, faults)
        concert = self._concert(frames, faults)
        back = [on for on, box in self.ticks.items() if box.value]
        if faults:
            raise NotYet(faults)
        if not week and concert is None and not back:
            raise NotYet([tr("Fill in your minutes, or the date of a concert.")], tr("Nothing to save yet."))
        gone = frames.concerts[frames.concerts["date"].dt.date.isin(back)]
        numbers = [int(n) for n in gone["entry_id"]] if back else []
        with self.book.writing() as logbook:
            for number in numbers:
                logbook.withdraw("concerts", number)
            for weekday in week:
                logbook.put(weekday)
            if concert is not None:
                logbook.put(concert)
            self._shown = {name: field.typed for name, field in self.days.items()}  # safe: may be shown anew
            self.ticks = {}
            self.concert.value = None
            self.play_min.put(CONCERT_MIN)
            self.every.put(None)
        self.done(tr("Saved. This now stands in your logbook:"), self._read_back())

    def _week(self, frames: Frames, faults: list[str]) -> list[Weekday]:
        """Return the weekdays to write; none where no minutes were changed."""
        if not self._touched:
            if self.every.typed is not None:
                faults.append(tr("Same every day: press \"Put it in all seven\" first."))
            return []
        remarks = dict(zip(frames.week["weekday"], frames.week["remark"], strict=True))
        out = []
        for name, field in self.days.items():
            values, bad = read_row("week", {"weekday": name, "play_min": field.typed, "remark": remarks.get(name)})
            if field.typed is None:
                faults.append(tr("{name}: fill in the minutes. 0 is a day off.").format(name=CHOICE_WORDS[name]))
            else:
                faults += faults_in_words(bad, {"play_min": CHOICE_WORDS[name]})
            if not bad:
                out.append(Weekday(**values))
        return out

    def _concert(self, frames: Frames, faults: list[str]) -> ConcertRow | None:
        on = self.concert.value
        if on is None:
            if self.play_min.typed != f"{CONCERT_MIN:g}":
                faults.append(tr("Concert on: choose the date."))
            return None
        old = frames.concerts[frames.concerts["date"].dt.date == on]
        remark = old["remark"].iloc[0] if len(old) else None
        values, bad = read_row("concerts", {"date": on, "play_min": self.play_min.typed, "remark": remark})
        faults += faults_in_words(bad, {"play_min": tr("Minutes of the concert"), "date": tr("Concert on")})
        if on < self.book.today():
            faults.append(tr("Concert on: choose today or a day to come."))
        if not bad and not values["play_min"]:
            faults.append(tr("Minutes of the concert: wanted a number from 1 to 720."))
        return None if bad else ConcertRow(**values)

    def _read_back(self) -> str:
        frames = self.book.frames_now()
        known = dict(zip(frames.week["weekday"], frames.week["play_min"], strict=True))
        out = ""
        if known:
            out += rows_table([CHOICE_WORDS[n] for n in WEEKDAYS],
                              [["" if n not in known else f"{known[n]:g}" for n in WEEKDAYS]], cards=True)
        coming = coming_concerts(frames, self.book.today())
        if coming:
            out += rows_table([tr("Concert on"),
                               tr("Minutes")], [[spoken_date(c.on), f"{c.minutes:g}"] for c in coming])
        return out

    # --- days off of a running trial -------------------------------------------------------------

    def _pause(self) -> None:
        frames = self.book.frames_now()
        dates = sorted({d for days in self._cost(frames).values() for d in days})
        if not dates:
            self.refresh()
            return
        rows = [Day(**read_row("days", {**as_it_stands("days", frames.days, date=d), "date": d, "pause": True})[0])
                for d in dates]
        with self.book.writing() as logbook:
            for row in rows:
                logbook.put(row)
        self.done(trn("Skipped: {n} day. Nothing is lost.", "Skipped: {n} days. Nothing is lost.",
                      len(rows)).format(n=len(rows)),
                  rows_table([tr("Skipped")], [[spoken_date(d)] for d in dates]))
