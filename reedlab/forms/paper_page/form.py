"""What a player takes along: the week's sheet, labels, calendar and spreadsheet as files in the folder."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, time
from pathlib import Path

import ipywidgets as w

from ...errands.book import Book
from ...errands.papers import Written, write_calendar, write_labels, write_sheet, write_spreadsheet
from ...errors import ExchangeError, InputError
from ...folder.filing import named_after
from ...handout.week import week_of
from ...wording import tr
from ..shared.fields import Choice, Number, Pick, Words, dressed, fold, heading, note, show_if, tick
from ..shared.form import NO_REEDS, NOT_SAVED, Form, NotYet, button, html, need, told_under
from ..shared.render import render

__all__ = ["PaperForm", "offer_trials"]

_WEEKS_AHEAD = 4  # offered where a trial has no last day, and in a spreadsheet


def offer_trials(pick: Pick, book: Book) -> None:
    """Offer the trials of a logbook; unless one is picked, the last that runs is, else the last."""
    plans = book.protocols()
    going = book.trial_days(book.today())
    usual = going[-1].protocol.trial if going else next(reversed(plans), None)
    pick.offer([(name, name) for name in plans], usual)


class PaperForm(Form):
    """One button for each file. A file of the same name that is another's is never written over."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.trial, self.week = dressed(Pick(tr("Trial"), []), "wide"), Pick(tr("Week"), [])
        self.paper = Choice(tr("Paper"), [("A4", "a4"), (tr("Letter"), "letter")], "a4")
        self.at = Words(tr("When you practise"), hint=tr("18:00, or empty"))
        self.remind = tick(tr("Remind me then"))
        self.weeks = Number(tr("Weeks in the spreadsheet"), _WEEKS_AHEAD)
        self.sheet = button(tr("Make the week's sheet"), main=True)
        self.labels = button(tr("Make labels for the case"))
        self.calendar = button(tr("Make the calendar file"))
        self.spreadsheet = button(tr("Make a spreadsheet to fill in"))
        self.filled = Pick(tr("Filled spreadsheet"), [], empty=tr("choose a file"))
        self.read_in = button(tr("Read it in"))
        jobs = ((self.sheet, self._sheet), (self.labels, self._labels), (self.calendar, self._calendar),
                (self.spreadsheet, self._spreadsheet), (self.read_in, self._read_in))
        answers = [dressed(html(""), "said") for _ in jobs]  # what was made is said below its own button
        self.of_trial = w.VBox([
            heading(tr("For the music stand"), 2),
            note(tr("One page for the week: what to play, and boxes to pencil in your "
                    "ratings.")), self.sheet, answers[0]])
        dates = w.VBox([
            note(tr("An entry for each day. After a change of plan make it again and open it once more.")),
            self.at, self.remind, self.calendar, answers[2]])
        back = w.VBox([self.filled, self.read_in, answers[4]])
        of_case = w.VBox([
            note(tr("A label for each slot, to cut out. It tells nothing of the ways.")), self.labels, answers[1]])
        to_fill = w.VBox([
            note(tr("A spreadsheet for minutes and ratings, to read in again. The rows of a running trial "
                    "stand in it.")),
            self.weeks, self.spreadsheet, answers[3]])
        self.dates, self.back = fold(tr("For your calendar"), dates), fold(tr("Back from a spreadsheet"), back)
        rarer = {fold(tr("For the reed case"), of_case): of_case, self.dates: dates,
                 fold(tr("To fill in anywhere"), to_fill): to_fill}
        self.none = html("")
        self.of_reeds = w.VBox([
            w.HBox([self.trial, self.week, self.paper]), self.of_trial, w.HBox(list(rarer)), *rarer.values()])
        self.show(self.none, self.of_reeds, self.back, back)
        for (control, job), answer in zip(jobs, answers, strict=True):
            control.on_click(self._said_in(answer))
            control.on_click(self.guarded(job))
        self.trial.observe(self.guarded(self._offer_weeks), "value")
        self.follow(self.refresh, now=True)

    @property
    def folder(self) -> Path:
        """The player's folder."""
        return self.book.path.resolve().parent

    def _said_in(self, answer: w.HTML) -> Callable[[object], None]:
        def turn_to(_: object) -> None:
            self.quiet()
            self.message = answer
            self.quiet()

        return turn_to

    def refresh(self) -> None:
        """Read the logbook again: which trials, which weeks, which spreadsheets lie in the folder."""
        self._protocols = self.book.protocols()
        offer_trials(self.trial, self.book)
        reeds = bool(len(self.book.frames().reeds))
        self.none.value = "" if self._protocols else NO_REEDS if not reeds else (
            render("no_trial"))
        show_if(reeds, self.of_reeds)
        show_if(self._protocols, self.trial, self.week, self.of_trial, self.dates)
        self._offer_weeks()
        self._offer_files()

    def _offer_weeks(self) -> None:
        protocol = self._protocols.get(self.trial.typed)
        if protocol is None:
            self.week.offer([])
            return
        try:
            now = week_of(protocol, self.book.frames(), today=self.book.today())
        except InputError:  # ended, or nothing left to play
            self.week.offer([])
            return
        last = now.weeks if now.weeks is not None else now.number + _WEEKS_AHEAD
        self.week.offer([((tr("week {n} (now)") if n == now.number else tr("week {n}")).format(n=n), n)
                         for n in range(1, last + 1)], now.number)

    def _offer_files(self) -> None:
        found = sorted(p.name for p in self.folder.iterdir()
                       if p.suffix.lower() in (".xlsx", ".ods") and not p.name.startswith(("~", ".")))
        self.filled.offer([(name, name) for name in found])
        show_if(found, self.back)
        if not found:
            self.back.value = False

    # --- making ------------------------------------------------------------------------------------------

    def _sheet(self) -> None:
        name = f"sheet-{named_after(self._trial())}-week-{self.week.typed or 1}.html"
        self._make(write_sheet, name, page=True, week=self.week.typed, trial=self._trial(), paper=self._paper())

    def _labels(self) -> None:
        self._make(write_labels, "labels.html", page=True, paper=self._paper())

    def _calendar(self) -> None:
        at = None
        if self.at.typed is None and self.remind.value:
            raise InputError(tr("When you practise: wanted a time of day as 18:00, for the reminder."))
        if self.at.typed is not None:
            try:
                at = time.fromisoformat(self.at.typed)
            except ValueError:
                at = None
            if at is None or at.tzinfo is not None:
                raise InputError(tr("When you practise: you gave {typed!r}; wanted a time of day as 18:00, "
                                    "or nothing.").format(typed=self.at.typed))
        name = tr("calendar-{named_after}.ics").format(named_after=named_after(self._trial()))
        self._make(write_calendar, name, trial=self._trial(), at=at, remind=self.remind.typed, stamp=datetime.now(UTC))

    def _spreadsheet(self) -> None:
        faults: list[str] = []
        weeks = self.weeks.within(1, 52, faults, whole=True, needed=False) or _WEEKS_AHEAD
        if faults:
            raise NotYet(faults)
        stem, n = f"fill-in-{self.book.today().isoformat()}", 1
        while (self.folder / f"{stem}{'' if n == 1 else f'-{n}'}.xlsx").exists():
            n += 1  # the one that is there may hold entries
        name = f"{stem}{'' if n == 1 else f'-{n}'}.xlsx"
        self._make(write_spreadsheet, name, weeks=int(weeks), trial=self._trial() if self._protocols else None)
        self._offer_files()

    def _trial(self) -> str:
        need(NOT_SAVED, (self.trial, tr("Choose a trial first.")))
        return str(self.trial.typed)

    def _paper(self) -> str:
        need(NOT_SAVED, (self.paper, tr("Choose the paper first: A4 or Letter.")))
        return str(self.paper.typed)

    def _make(self, write: Callable[..., Written], name: str, *, page: bool = False, **more: object) -> None:
        if not self.book.exists:
            raise InputError(tr("There are no reeds in your logbook yet. Save a box first."))
        with self.book.reading() as logbook:
            made = write(logbook, self.folder / name, today=self.book.today(), **more)
        self.done(tr("Made: {name}").format(name=name), render("made", name=name, page=page, path=str(made.path),
                                          told=made.told[page:]))  # the link says the first for a page

    # --- reading in --------------------------------------------------------------------------------------

    def _read_in(self) -> None:
        from ...logbook.exchange import import_folder

        need(NOT_SAVED, (self.filled, tr("Choose the spreadsheet first.")))
        head = tr("Nothing was read in. Please put this right in the file:")
        with told_under(head, ExchangeError), self.book.writing() as logbook:
            report = import_folder(self.folder / self.filled.typed, logbook)
        self.done(tr("Read in."), render("made", name="", page=False, path="", told=str(report).splitlines()))
