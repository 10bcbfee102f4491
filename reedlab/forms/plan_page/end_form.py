"""A trial is ended by hand, before its last day."""

from __future__ import annotations

from ...errands.book import Book
from ...screens.due import running
from ...wording import tr
from ..shared.fields import Pick, Words, note, show_if
from ..shared.form import Form, html, need, rows_table
from ..shared.render import render

__all__ = ["EndForm"]


class EndForm(Form):
    """Ends a running trial for good, with a reason, after a second yes."""

    def __init__(self, book: Book) -> None:
        super().__init__(book)
        self.none = html(render("line", text=tr("No trial is running.")))
        self.trial = Pick(tr("Trial"), [], empty=tr("choose a trial"))
        self.why = Words(tr("Why does it end now?"))
        self.save = self.button(tr("End this trial"), self._ask)
        self.show(note(tr("A trial ended early keeps its entries, and its answer says that it was cut short. Never end "
                          "one because of how it seems to go.")),
                  self.none, self.trial, self.why, self.save)
        self.follow(self.refresh, now=True)

    def refresh(self) -> None:
        """Read the logbook again and offer the running trials."""
        frames = self.book.frames()
        names = [d.protocol.trial for d in running(self.book.protocols(), frames, self.book.today())]
        self.trial.offer([(n, n) for n in names])
        show_if(names, self.trial, self.why, self.save)
        show_if(not names, self.none)

    def _ask(self) -> None:
        need(tr("Not ended. Please put this right:"), (self.trial, tr("Trial: choose one.")),
             (self.why, tr("Why: a few words. They stay with the trial.")))
        self.ask([tr("End \"{typed}\" for good? It cannot go on afterwards.").format(
                      typed=self.trial.typed)], self._end,
                 yes=tr("Yes, end it"))

    def _end(self) -> None:
        name, why = self.trial.typed, self.why.typed
        with self.book.writing() as logbook:
            logbook.end_trial(name, self.book.today(), why or "")
        self.why.put(None)
        trials = self.book.frames().trials
        row = trials[trials["trial"] == name].iloc[0]
        self.done(tr("Ended. This now stands in your logbook:"), rows_table(
                [tr("Trial"), tr("Ended"), tr("Why")], [[name, row["ended"].date().isoformat(), row["ended_why"]]]))
