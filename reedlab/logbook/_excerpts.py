"""What a page needs of the logbook, so that none reads ten years to show a day.

Each excerpt holds every row that its page looks at: what the page says is what it would say of the whole logbook
(`tests/logbook/test_excerpts.py`).
"""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from typing import Any, Final

from ..trial.calendar import calendar_with, runs_until_done
from ..trial.protocol import Protocol
from ._finding import Find, Gathered, Row, find_in, surely_over
from .between import plan_of, plans_in

__all__ = ["of_the_case", "of_trial", "since"]

Excerpt = dict[str, list[dict[str, Any]]]

#: Tables that stay short for life.
_SHORT: Final = ("setups", "week", "concerts", "looks")
_GONE: Final = 100  # reeds that left last: they can be taken back
_IN_SERVICE: Final = ("NOT EXISTS (SELECT 1 FROM current_retirements AS gone WHERE gone.reed = one.reed "
                      "AND gone.date < ?)")


class _Taken(Gathered):
    """Rows gathered for a page."""

    def reeds(self, codes: Collection[str]) -> None:
        """Take reeds with their boxes and with all that was ever written of them."""
        self.take_in("boxes", "box", {r["box"] for r in self.take_in("reeds", "reed", codes)})
        self.take_in("sittings", "reed", codes)
        self.take_in("retirements", "reed", codes)


def of_trial(find: Find, plan: Protocol) -> Excerpt:
    """Return the rows about one trial: its reeds, days, looks, guesses, and whether earlier ones were played."""
    taken = _Taken(find)
    taken.reeds(plan.reeds)
    for table in ("looks", "guesses"):
        taken.take(table, "trial = ?", (plan.trial,))
    deals = taken.take("deals")
    for row, other in plans_in(taken.take("trials"), deals):
        if row["trial"] != plan.trial and other.question == plan.question:
            reeds = ", ".join("?" * len(other.reeds))
            taken.take("sittings", "entry_id = (SELECT entry_id FROM current_sittings WHERE date BETWEEN ? AND ? "
                       f"AND reed IN ({reeds}) LIMIT 1)",
                       (other.start.isoformat(), (row["ended"] or date.max).isoformat(), *other.reeds))
    paused = [r["date"] for r in taken.take("days", "pause = 1 AND date >= ?", (plan.start.isoformat(),))]
    last = calendar_with(plan, paused).last
    if runs_until_done(plan):  # its days go on as long as anything is played
        taken.take("sittings", "entry_id = (SELECT entry_id FROM current_sittings ORDER BY date DESC LIMIT 1)")
        last = date.max
    taken.take("days", "date BETWEEN ? AND ?", (plan.start.isoformat(), last.isoformat()))
    return taken.rows()


def since(find: Find, day: date) -> Excerpt:
    """Return the rows that matter for a day and all after it.

    These are the trials that are not over then; all that was ever written of their reeds and of those in service;
    sittings and days from then on; days since the first of these trials began; the reeds that left service last.
    """
    return _since(find, day).rows()


def of_the_case(find: Find, day: date, sittings: int, gone: int) -> Excerpt:
    """Return the rows that matter for a day and after, and those that the player's own numbers rest on.

    The latter are the boxes whose reeds are in service, are among those that left it last (`gone` of them) or were
    played on the days of the last `sittings` (`rows.recent`).
    """
    taken = _since(find, day)
    late = find("sittings", "date >= coalesce((SELECT date FROM current_sittings ORDER BY date DESC "
                "LIMIT 1 OFFSET ?), '')", (sittings - 1,))
    last = find("retirements", "entry_id IN (SELECT entry_id FROM current_retirements ORDER BY date DESC, "
                "entry_id DESC LIMIT ?)", (gone,))
    reeds = {r["reed"] for r in (*late, *last, *taken.rows()["reeds"])}
    boxes = {r["box"] for r in find_in(find, "reeds", "reed", reeds)}
    taken.reeds({r["reed"] for r in find_in(find, "reeds", "box", boxes)})
    taken.put("sittings", late)
    played = {r["date"] for r in taken.rows()["sittings"]}  # their days tell the air of each rating
    taken.take_in("days", "date", played)
    first = min(r["date"] for r in late) if len(late) >= sittings else date.min
    taken.take("days", "date >= ?", (first.isoformat(),))
    return taken.rows()


def _since(find: Find, day: date) -> _Taken:
    taken = _Taken(find)
    paused = [r["date"] for r in taken.take("days", "pause = 1")]
    trials = [r for r in find("trials", "ended IS NULL OR ended > ?", (day.isoformat(),))
              if _matters(r, day, paused)]
    taken.put("trials", trials)
    deals = taken.put("deals", find_in(find, "deals", "trial", {r["trial"] for r in trials}))
    plans = [plan for _, plan in plans_in(trials, deals)]
    reeds = {r["reed"] for r in find("reeds", _IN_SERVICE, (day.isoformat(),))}
    taken.reeds(reeds.union(*(p.reeds for p in plans if not p.standing)))
    for p in plans:  # of a standing trial, what has ended asks for nothing any more
        taken.take_in("retirements", "reed", p.reeds if p.standing else ())
    taken.take("sittings", "date >= ?", (day.isoformat(),))
    taken.take("days", "date >= ?", (min([day, *(p.start for p in plans)]).isoformat(),))
    taken.take_in("guesses", "trial", {r["trial"] for r in trials})
    taken.take("retirements", "entry_id IN (SELECT entry_id FROM current_retirements ORDER BY date DESC LIMIT ?)",
               (_GONE,))
    for table in _SHORT:
        taken.take(table)
    return taken


def _matters(trial: Row, day: date, paused: Collection[date]) -> bool:
    if '"cap_hours":null' in trial["protocol"] and surely_over(trial, day, len(paused)):
        return False
    plan = plan_of(trial["protocol"])
    return isinstance(plan, str) or not calendar_with(plan, paused, trial["ended"]).over(day)
