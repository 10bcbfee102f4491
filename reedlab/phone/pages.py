"""The phone's pages as HTML: what the screens say, in forms that work without any script."""

from __future__ import annotations

import re
import secrets
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment

from ..look import INVENTED, PARTS, in_page, page_style, templates
from ..rows.tables import CHOICE_WORDS, PLACES
from ..screens import Line, Saved, Today, Way
from ..screens.saving import AS_PLANNED
from ..screens.today import in_a_word, minutes_words
from ..trial.pairs import ASKED, answers_to, said
from ..trial.practice import CAUTIONS
from ..wording import tr
from .work import GOES, Answer

__all__ = ["day_page", "plain_page"]

_TEMPLATES: Final = Path(__file__).parent / "templates"
_NO_FURTHER: Final = ("", "overall")  # what a trial goes by where no further rating is asked for
_BETWEEN: Final = re.compile(r"-?[0-5](\.5)?")
#: What the page's script says.
_SAYS: Final = {
    "away": tr("The computer does not answer. Is it on, and on the same network?"),
    "kept": tr("Kept on this phone: {reeds}. It goes out by itself."),
    "goon": tr("You can go on writing: it is kept here."),
    "locked": tr("This phone is locked out. Scan the code on the computer; what you typed is kept here."),
    "busy": tr("The computer is busy. What you typed is kept here and tried again."),
    "waits": tr("waits on this phone"), "unsaved": tr("not saved yet"), "entry": tr("an entry"),
}


#: A further rating: its column, its name, and what may be chosen, as value and text.
More = tuple[str, str, Sequence[tuple[str, str]]]


@dataclass(frozen=True)
class FormView:
    """One form: its fields' values as text by name, and what there is to choose from.

    `asked` says that a rating stands in sight; `more_rating` is a further rating that the reed's trial goes by.
    `reeds` and `days` are given where they are chosen in the form.
    """

    id: str
    name: str
    values: Mapping[str, str]
    typed: bool
    anchors: Sequence[tuple[int, str]] = ()
    ways: Sequence[Way] = ()
    asked: bool = True
    more_rating: More | None = None
    changed: int | None = None
    reeds: Sequence[str] = ()
    days: Sequence[tuple[str, str]] = ()
    places: Sequence[tuple[str, str]] = ()
    sure: str = ""
    take_back: str = ""


@dataclass(frozen=True)
class LineView:
    """One line of the page with the forms behind it."""

    reed: str
    way: str
    steps: str
    mark: int | None
    state: str
    done: bool
    forms: Sequence[FormView]


@cache
def _environment() -> Environment:
    made = templates(_TEMPLATES, PARTS)
    made.globals.update(says=_SAYS, goes=GOES, invented=INVENTED, style=page_style(),
                        script=in_page(_TEMPLATES / "phone.js"))
    return made


def plain_page(said: str, *, nonce: str) -> str:
    """Return a page that says one thing."""
    return _environment().get_template("plain.html.j2").render(said=said, nonce=nonce)


def day_page(answer: Answer, *, nonce: str, token: str, book: str) -> str:
    """Return the day's page; the page after an entry says what became of it.

    Parameters
    ----------
    answer : Answer
    nonce : str
        Of this page's own style and script.
    token : str
        What each form must carry.
    book : str
        Names the logbook, so that what waits on the phone for one is not sent to another at the same address.
    """
    day = answer.day
    lines = [*(_due(x, answer) for x in day.lines), *(_beside(s, day, answer) for s in day.others)]
    return _environment().get_template("day.html.j2").render(
        day=day, lines=lines, opened=_opened(lines, answer), other=_other(day, answer), answer=answer, nonce=nonce,
        token=token, book=book, cautions=[CAUTIONS[key].text for key in ("pain", "sharing")])


def _opened(lines: Sequence[LineView], answer: Answer) -> LineView | None:
    """Return the line that stands open: the one that was sent, else the first that is owed, with how long to play."""
    sent = next((x for x in lines if any(f.typed for f in x.forms)), None)
    return sent if sent or answer.typed else next((x for x in lines if not x.done and x.state), None)


def _due(line: Line, answer: Answer) -> LineView:
    blank = {"reed": line.reed, "date": answer.day.on.isoformat(), "where": "practice", "setup": line.setup or "",
             "play_min": f"{line.minutes:g}" if line.fills else "", "habit": line.planned.key if line.planned else ""}
    again = answer.at == f"line-{line.reed}" and bool(answer.typed)  # rated meanwhile somewhere else
    forms = [] if line.done and not again else [
        _form(f"line-{line.reed}", line.reed, blank, answer, anchors=line.anchors, ways=line.ways,
              asked=line.rate and line.rating != "preference", rating=line.rating)]
    forms += [_change(s, answer, line.anchors, line.ways, line.rating) for s in line.saved]
    owed = minutes_words(line.minutes) if line.minutes else ""
    return LineView(line.reed, line.way, line.steps, line.planned.mark if line.planned else None,
                    f"✓ {in_a_word(line.stands)}" if line.stands else owed, line.done, forms)


def _beside(saved: Saved, day: Today, answer: Answer) -> LineView:
    where = saved.values["where"] or "practice"
    return LineView(saved.reed, CHOICE_WORDS.get(str(where), str(where)), "", None, f"✓ {in_a_word(saved)}", True,
                    [_change(saved, answer, day.anchors, (), "")])


def _change(saved: Saved, answer: Answer, anchors: Sequence[tuple[int, str]], ways: Sequence[Way],
            rating: str) -> FormView:
    old, points = saved.values, saved.values["overall"]
    values = {"play_min": f"{old['play_min']:g}", "overall": "" if points is None else f"{int(points)}",
              "half": "yes" if points is not None and points % 1 else "", "habit": old["habit"] or "",
              "remark": old["remark"] or "", **{t: "yes" if old[t] else "" for t in ("from_memory", "unsure_reed")}}
    if rating not in _NO_FURTHER:
        values[rating] = "" if old[rating] is None else f"{old[rating]:g}"
    return _form(f"change-{saved.entry_id}", saved.reed, values, answer, anchors=anchors, ways=ways,
                 asked=rating != "preference", rating=rating, changed=saved.entry_id,
                 take_back=answer.sure if answer.at == f"back-{saved.entry_id}" else "")


def _other(day: Today, answer: Answer) -> FormView:
    days = [(day.on.isoformat(), tr("Today")), ((day.on - timedelta(days=1)).isoformat(), tr("Yesterday"))]
    blank = {"date": day.on.isoformat(), "where": "practice", "habit": AS_PLANNED}
    ways = (Way(AS_PLANNED, tr("as planned"), 0), *day.ways) if day.ways else ()
    return _form("other", tr("the reed"), blank, answer, anchors=day.anchors, ways=ways, reeds=day.reeds, days=days,
                 places=tuple((c, CHOICE_WORDS[c]) for c in PLACES))


def _form(name: str, reed: str, values: Mapping[str, str], answer: Answer, *, rating: str = "",
          take_back: str = "", **more: Any) -> FormView:
    """Return a form with its usual values, or with what was typed where it was sent and not written."""
    sent = answer.at == name and answer.state in ("asked", "refused")
    key = answer.typed.get("key", "") if sent else f"phone-{secrets.token_urlsafe(16)}"
    shown = answer.typed if sent else values
    return FormView(name, reed, {**shown, "key": key}, sent or bool(take_back), sure=answer.sure if sent else "",
                    more_rating=_more_rating(rating, shown.get(rating, "")), take_back=take_back, **more)


def _more_rating(column: str, chosen: str) -> More | None:
    """Return what may be chosen of a further rating; of preferences also one that two ratings left between those."""
    if column in _NO_FURTHER:
        return None
    offered = list(answers_to(column))
    if column == "preference" and _BETWEEN.fullmatch(chosen) and chosen not in dict(offered):
        offered = sorted([*offered, (chosen, said(float(chosen)))], key=lambda x: -float(x[0]))
    return column, ASKED[column], offered
