"""A page of one file for a player away from the computer: it takes ratings in any browser and gives them back.

Pure. The page holds what the player must do and nothing else: no rating, no matched set, no seed, no other plan.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any, Final

from markupsafe import Markup

from ..look import in_page, page_style
from ..rows.tables import CHOICE_WORDS, PLACES
from ..schedule import Line, PlayDay
from ..trial.pairs import ASKED, answers_to, told_steps, told_way
from ..trial.practice import CAUTIONS
from ..trial.protocol import Protocol
from ..wording import language, tr
from .sheet import environment, in_one_line
from .week import to_play

__all__ = ["FORMAT", "VERSION", "away_page"]

FORMAT: Final = "reedlab page entries"
VERSION: Final = 1
_TEMPLATES: Final = Path(__file__).parent / "templates"
_PLACES: Final = {c: CHOICE_WORDS[c] for c in PLACES}
_REASONS: Final = {c: CHOICE_WORDS[c] for c in ("worn_out", "damaged", "mouldy", "lost")}
#: What the page's script says.
_SAID: Final = {
    "the_reed": tr("the reed"), "now": " " + tr("(today)"), "day": tr("· day {n}"), "min": tr("{n} min"),
    "short_off": tr("day off"),
    "change": tr("Save the change"), "draft": tr("not saved yet"),
    "future": tr("This day is still to come: nothing can be written down yet."),
    "off": tr("A day off. It is no fault."),
    "nothing": tr("Nothing is due on this day."),
    "not_saved": tr("Not saved yet. Please put this right:"),
    "no_reed": tr("Reed: choose one."),
    "no_minutes": tr("Minutes: wanted a number from 0 to 720."),
    "no_rating": tr("Overall: tap how the reed played, from 0 to 10."),
    "right": tr("Is this right? If so, save once more."),
    "long": tr("{n} minutes on {reed} is a lot."),
    "again": tr("{reed} has an entry on this day already. This is one more."),
    "saved": tr("Saved in this browser: {reed}, {n}."),
    "held": tr("Noted: {reed}, {n}. This browser cannot keep it."),
    "take_back": tr("Take this entry back? If so, press once more."),
    "taken": tr("Taken back. It no longer counts."),
    "day_saved": tr("Saved: the day."),
    "ready": [tr("Ready to hand back: 1 entry in all."), tr("Ready to hand back: {n} entries in all.")],
    "copied": tr("Copied. Paste it into a message."),
    "fresh": [tr("Nothing new since you last handed it back."), tr("1 new thing is not handed back yet."),
              tr("{n} new things are not handed back yet.")],
    "not_kept": tr("This browser cannot keep what you type. Hand it back before you close this page, or open the page "
                   "in another browser."),
}
_HOW: Final = {
    False: tr("Bring the file to the computer with your logbook and read it in on the page Paper."),
    True: tr("Send the file to your teacher."),
}
_ONCE: Final = tr("Everything is in it each time; what was read in before counts once.")


def away_page(protocol: Protocol, days: Sequence[PlayDay], reeds: Sequence[str], *, code: str = "",
              made: date) -> str:
    """Return the page as HTML that needs no other file, no server and no network.

    What is typed is kept under the fingerprint of the plan, so that a page made anew for the same plan finds it again
    in the same browser. Pauses and reeds that left service since are in a page made anew, not in this one.

    Parameters
    ----------
    protocol : Protocol
        With a helper, the page leaves out which way a reed is dealt.
    days : sequence of PlayDay
        The days that it offers; others may be written down too, without a plan.
    reeds : sequence of str
        All that may be chosen for an entry beside the plan.
    code : str
        A pupil's, where it goes to a teacher; else the player's own logbook takes it in.
    made : date
        The day it is made.
    """
    hidden = protocol.masked == "helper"
    ways = () if hidden else protocol.habits
    words: dict[str, Any] = {**_SAID, "how": f"{_HOW[bool(code)]} {_ONCE}", "places": _PLACES, "reasons": _REASONS}
    rating = protocol.rating if protocol.rating != "overall" else None
    if protocol.pairs:
        words |= {"no_rating": tr("Better go: choose which go was better. No difference will do."),
                  "better": dict(answers_to("preference"))}
    data = {
        "head": {"format": FORMAT, "version": VERSION, "trial": in_one_line(protocol.trial), "code": code,
                 "plan": protocol.sha256, "made": made.isoformat()},
        "lang": {"en": "en-GB"}.get(language(), language()), "setup": protocol.setup or "",
        "ways": [{"key": h.key, "steps": told_steps(protocol, h.key)} for h in ways], "words": words,
        "days": [{"on": d.on.isoformat(), "n": d.number, "said": " ".join(d.said), "free": _free(d),
                  "lines": [_line(protocol, x) for x in to_play(d)]} for d in days]}
    script = in_page(_TEMPLATES / "away.js")
    digest = base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()
    blank = SimpleNamespace(
        name=Markup("<span data-name></span>"), values={}, anchors=sorted(protocol.scale), ways=ways,
        more_rating=None if rating is None else (rating, ASKED[rating], answers_to(rating)))
    return environment().get_template("away.html.j2").render(
        f=blank, pairs=protocol.pairs, data=data, words=words, trial=protocol.trial, code=code, reeds=reeds,
        places=_PLACES, reasons=_REASONS, script=script, allowed=Markup(f"'sha256-{digest}'"),
        stiffness=[] if rating in ("stiffness", "preference") else answers_to("stiffness"),
        style=page_style(_TEMPLATES / "away.css"),
        cautions=[CAUTIONS[key].text for key in ("pain", "sharing")])


def _line(protocol: Protocol, line: Line) -> dict[str, Any]:
    """Return what the script needs of one line: the reed, its place, way, minutes, whether it is rated, and where."""
    hidden = protocol.masked == "helper"
    way, told = "", {"break_in": tr("Break in"), "concert": tr("Concert")}.get(line.kind, "")
    if line.habit is not None and not told:
        name = in_one_line(told_way(protocol, line.habit))
        way, told = "" if hidden else line.habit, name[:1].upper() + name[1:] + ("." if hidden else "")
    return {"r": line.reed, "o": line.order or 0, "w": way, "way": told, "m": line.minutes, "ask": line.rate,
            "fill": line.kind == "slot", "p": "concert" if line.kind == "concert" else "practice"}


def _free(day: PlayDay) -> str:
    free = [x.reed for x in day.lines if x.kind == "free"]
    told = tr("For the rest of your practice, as you like: {reeds}.").format(reeds=", ".join(free))
    return told.replace("-", "\u2011") if free else ""
