"""A week of the plan as a page for the music stand, to pencil in."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment
from markupsafe import Markup

from ..errors import InputError
from ..look import PARTS, PRINT_FONT, templates
from ..rows.tables import RATING_WORDS
from ..schedule import Line, PlayDay
from ..trial.change_of_ways import told_of_ways
from ..trial.pairs import HOW
from ..trial.practice import CAUTIONS, value
from ..trial.protocol import Protocol
from ..wording import short_date, tr
from .week import NO_WAY, Week, to_play

__all__ = ["PAPERS", "Paper", "environment", "in_one_line", "paper_called", "sheet"]

_TEMPLATES: Final = Path(__file__).parent / "templates"


@dataclass(frozen=True)
class Paper:
    """A sheet of paper: its CSS name, width and height in mm."""

    name: str
    width: float
    height: float


PAPERS: Final = {"a4": Paper("A4", 210.0, 297.0), "letter": Paper("letter", 215.9, 279.4)}
MARGIN: Final = 11.0
#: Heights in mm: all that is not a row of the table (head, ways, scale, footer; long texts are cut to two
#: lines so that this holds), and the lowest and highest row that is good to write in.
_REST: Final = 56.0
_LOWEST, _HIGHEST = 5.0, 10.0
_TOLD: Final = 12.0  # what the days ask beside playing, cut to three lines, where they ask anything
#: Widths in mm: the columns day, order, plan, played and as planned together; the widest column for the way.
_FIXED: Final = 27.0 + 6.0 + 9.0 + 15.0 + 13.0
_WIDEST_WAY: Final = 50.0
_DAY_ROWS: Final = 2  # a day's own cell (date, air, day off) needs so many rows
_RATINGS: Final = {**RATING_WORDS, "preference": tr("Better go")}


def sheet(protocol: Protocol, week: Week, *, paper: str = "a4", for_helper: bool = False) -> str:
    """Return a week as a page of HTML that prints on one sheet of paper, in black on white.

    Parameters
    ----------
    protocol : Protocol
        With a helper, the page leaves out which way a reed is dealt.
    week : Week
    paper : {"a4", "letter"}
    for_helper : bool
        The helper's own page, with every way: not for the player's eyes.

    Returns
    -------
    str
        A page that stands alone. A week of more reeds than one page can hold at rows of 5 mm (about 40 a week)
        becomes two pages.

    Raises
    ------
    InputError
        If the paper is not known.
    """
    size = paper_called(paper)
    shown = replace(protocol, masked="none") if for_helper else protocol
    told = _told(shown, week)
    room = size.height - 2 * MARGIN - _REST - (_TOLD if told else 0.0)
    pages = _split(shown, week.days, room)
    names = ["preference"] if protocol.pairs else list(dict.fromkeys(("overall", protocol.rating, "stiffness")))
    code_mm = max([19.0, *(_width(x.reed) for d in week.days for x in to_play(d))])
    left = size.width - 2 * MARGIN - _FIXED - 15.0 * len(names) - code_mm
    context: dict[str, Any] = {
        **on_paper(shown, size), "ask": protocol.ask,
        "week": week.number, "weeks": week.weeks, "days": protocol.days,
        "first": short_date(week.days[0].on), "last": f"{short_date(week.days[-1].on)} {week.days[-1].on.year}",
        "told": told, "for_helper": for_helper, "pairs": protocol.pairs, "two_reeds": protocol.two_reeds, "better": HOW,
        "code_mm": round(code_mm, 1), "way_mm": round(min(_WIDEST_WAY, 0.58 * left), 1),
        "code_pt": 13 if code_mm == 19.0 else 12,
        "pages": pages, "ratings": [_RATINGS[n] for n in names], "asked": _RATINGS[protocol.rating],
        "scale": [(mark, words) for mark, words in protocol.scale],
        "rate_after": f"{value('rate_after_min'):g}",
        "rates": any(x.rate for d in week.days for x in d.lines),
        "minutes_count": any(x.kind == "play" for d in week.days for x in d.lines),
    }
    return environment().get_template("sheet.html.j2").render(context)


def _told(protocol: Protocol, week: Week) -> list[tuple[str, str]]:
    """Return what the days of a week ask beside playing, by date; each is said once."""
    said: set[str] = set()
    out = []
    for day in week.days:
        fresh = [t for t in (() if day.number is None else told_of_ways(protocol, day.number)) if t not in said]
        said.update(fresh)
        if fresh:
            out.append((short_date(day.on), " ".join(fresh)))
    return out


def on_paper(protocol: Protocol, size: Paper) -> dict[str, Any]:
    """Return what every sheet for the music stand shows: the paper, the trial, its ways unless they are hidden."""
    hidden = protocol.masked == "helper"
    return {"css": style(), "paper": size, "margin": MARGIN, "trial": protocol.trial, "masked": hidden,
            "ways": () if hidden else list(enumerate(protocol.habits)),
            "cautions": [c.text for c in CAUTIONS.values() if "today" in c.shown_with]}


def paper_called(name: str) -> Paper:
    """Return a paper by its name. Raises InputError if it is not known."""
    try:
        return PAPERS[name.casefold()]
    except KeyError:
        raise InputError(tr("`paper` is {name!r}; wanted a4 or letter.").format(name=name)) from None


def _width(code: str) -> float:
    """Return about how many mm a code takes, in 12 points bold."""
    return 3.0 + sum(4.5 if c in "mwMW" else 3.6 if c.isupper() else 2.9 for c in code)


@cache
def environment() -> Environment:
    """Return the template environment; everything put into a page is escaped."""
    made = templates(_TEMPLATES, PARTS)
    made.filters["as_sentence"] = as_sentence
    return made


def in_one_line(text: str) -> str:
    """Return a player's own words in one line."""
    return " ".join(text.split())


def as_sentence(name: str) -> str:
    """Return the name of a way as a short sentence: a capital in front, one closing mark."""
    plain = in_one_line(name)
    return plain[:1].upper() + plain[1:] + ("" if plain.endswith((".", "?", "!", "…")) else ".")


def style() -> Markup:
    """Return the style of what is printed: black on white, in a type that can be measured beforehand."""
    css = (_TEMPLATES / "sheet.css").read_text(encoding="utf8")
    return Markup(f":root {{ --font: {PRINT_FONT}; }}\n{css}")


@dataclass(frozen=True)
class _Page:
    row_mm: float
    days: tuple[dict[str, Any], ...]


def _split(protocol: Protocol, days: Sequence[PlayDay], room: float) -> list[_Page]:
    """Lay the days on as few pages as rows of `_LOWEST` mm allow: one, for any usual plan."""
    for spare in (2, 1, 0):  # blank rows a day for what was not planned: two, one or none
        made = [_day(protocol, d, spare) for d in days]
        rows = sum(d["rows"] for d in made)
        if rows * _LOWEST <= room:
            high = min(_HIGHEST, room / rows)
            if spare == 0 or high >= 5.6:
                return [_Page(round(high, 2), tuple(made))]
    if len(made) == 1:
        raise InputError(tr("{spoken} has {n} reeds: too many for one page.").format(
                             spoken=short_date(days[0].on), n=len(days[0].lines)))
    half = (len(days) + 1) // 2
    return [*_split(protocol, days[:half], room), *_split(protocol, days[half:], room)]


def _day(protocol: Protocol, day: PlayDay, spare: int) -> dict[str, Any]:
    planned = to_play(day)
    if day.state in ("day_off", "paused", "over", "waiting") and not planned:
        planned, spare = [], min(spare, 1)
    blank = max(spare, _DAY_ROWS - len(planned), 0)
    return {"day": day, "date": short_date(day.on), "state": day.state, "number": day.number,
            "lines": [_row(protocol, x) for x in planned], "blank": range(blank), "rows": len(planned) + blank,
            "free": [x.reed for x in day.lines if x.kind == "free"]}


def _row(protocol: Protocol, line: Line) -> dict[str, Any]:
    mark, name = way_of(protocol, line.habit)
    return {"order": line.order, "reed": line.reed, "minutes": f"{line.minutes:g}" if line.minutes else "",
            "mark": mark, "way": NO_WAY.get(line.kind, name)}


def way_of(protocol: Protocol, key: str | None) -> tuple[int | None, str]:
    """Return the mark of a way, which is also its place in the plan, and its name; no mark where none is to be seen."""
    if protocol.masked == "helper":
        return None, tr("helper")
    mark = next((n for n, h in enumerate(protocol.habits) if h.key == key), None)
    if mark is None:
        return None, ""
    name = protocol.habits[mark].name
    return mark, tr("{name} first").format(name=name) if protocol.pairs else name
