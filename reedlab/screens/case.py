"""What the reed case shows, as plain data: four facts, one row a reed, and what stands behind a word.

What would tell how a sealed trial goes is not among it (`reedcase.both_ways` says what may be shown).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Final

from ..reedcase import Against, CaseView, ConcertPick, ReedState, Span, deaths
from ..reedcase.ready import ON_THE_GO
from ..rows.tables import CHOICE_WORDS
from ..trial.practice import RAMP
from ..wording import all_of, date_month, spoken_date, spoken_day, tr, trn
from .today import minutes_words

__all__ = ["CasePage", "Fact", "Hours", "Ready", "ReedRow", "case_page", "ready_for"]

_NEEDS: Final = tr("needs {n} more days of break-in first").partition("{n}")[0]
_TREND: Final = {"down": tr("going down"), "up": tr("going up"), "steady": tr("steady")}
_WHY: Final = {"slot": tr("for {}"), "play": tr("for {}"), "break_in": tr("break-in"), "concert": tr("for the concert"),
               "free": tr("if you like")}
_LIFE_FROM: Final = 3  # worn-out reeds from which the width is called the player's own: our assumption
_NAMED: Final = 5  # reeds named in the fact of the day; all stand in their rows
_BOXES: Final = 2  # more boxes told in the fact; all stand in the fold
_SATURDAY: Final = 5


@dataclass(frozen=True)
class Fact:
    """One of the four facts: its title, what is so, and more in small."""

    title: str
    value: str
    more: tuple[str, ...] = ()


@dataclass(frozen=True)
class Hours:
    """Playing hours of a reed, as drawn and as said.

    `low` and `high` are the range of its whole life in playing hours (should hold four times in five), None where it is
    sealed. `at_least` is true where it was broken in before the logbook knew it.
    """

    played: float
    at_least: bool
    low: float | None
    high: float | None
    words: str


@dataclass(frozen=True)
class ReedRow:
    """One reed.

    `kind` of today is "play", "done", "rest", "played", "aside" or "free"; `today` says it in words. `course` are its
    last ratings, oldest first; `course_words` say where they go, or how a reed of a sealed trial stands against the
    others (`against`, drawn in the place of a course), or until when it is sealed. `stage` says what it is: break-in,
    worked on, in which trial. `rested` is how long it has rested.
    """

    reed: str
    kind: str
    today: str
    course: tuple[float, ...]
    course_words: str
    against: Against | None
    hours: Hours
    rested: str
    stage: str


@dataclass(frozen=True)
class Ready:
    """Which reeds for a day: the sentence, and one row for each reed (code, whether ready, why, mean rating)."""

    on: date
    head: str
    reeds: tuple[str, ...]
    rows: tuple[tuple[str, bool, str, str], ...]


@dataclass(frozen=True)
class CasePage:
    """The whole page.

    `widest` is the hours at the right end of the bars. `new` are the reeds not played in yet, by box. `notes` explain
    what is drawn. `ready` is for the next concert, or else for the next Saturday. `costs` are lines on every box;
    `deaths` (why, reeds, middle hours) and `gone` (reed, day, why, hours) are what left service, `older` how many more
    did before.
    """

    facts: tuple[Fact, ...]
    rows: tuple[ReedRow, ...]
    widest: float
    new: tuple[str, ...]
    notes: tuple[str, ...]
    ready: Ready
    costs: tuple[str, ...]
    deaths: tuple[tuple[str, int, str], ...]
    gone: tuple[tuple[str, str, str, str], ...]
    older: int


def case_page(case: CaseView, ever_gone: int = 0) -> CasePage:
    """Return what the page shows of a case; `ever_gone` reeds have left service in all."""
    asked = _today(case)
    new = [r for r in case.reeds if _is_new(r) and r.reed not in asked]
    rows = tuple(_row(r, case, asked) for r in sorted(case.reeds, key=lambda r: (r.set_aside, r.reed)) if r not in new)
    known = case.concerts[0].on if case.concerts else None
    ready = ready_for(case, known or case.on + timedelta(days=(_SATURDAY - case.on.weekday()) % 7))
    costs = _costs(case)
    return CasePage(
        facts=(_to_play(case, asked), _concert(ready, known), _good(case, costs), _next_box(case)),
        rows=rows, widest=max([r.hours.high or r.hours.played for r in rows], default=1.0) or 1.0,
        new=tuple(_new(new)), notes=tuple(_notes(case, rows)), ready=ready, costs=costs,
        deaths=tuple((CHOICE_WORDS[why], n, f"{hours:.1f}") for why, n, hours in deaths(case.gone)),
        gone=tuple((g.reed, g.on.isoformat(), CHOICE_WORDS[g.reason], f"{g.hours:.1f}") for g in case.gone),
        older=max(0, ever_gone - len(case.gone)))


# --- today --------------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Asked:
    kind: str
    minutes: float
    why: str


def _today(case: CaseView) -> dict[str, _Asked]:
    """Return what each reed is for today; where two trials speak of one, the first that wants it played."""
    out: dict[str, _Asked] = {}
    for name, play in case.plans.items():
        for x in play.lines:
            if x.kind == "rest":
                told = _Asked("rest", 0.0, tr("let it rest"))
            else:
                kind = "done" if x.done else "free" if x.kind == "free" else "play"
                told = _Asked(kind, x.minutes, _WHY[x.kind].format(name))
            if x.reed not in out or out[x.reed].kind == "rest":
                out[x.reed] = told
    for t in case.turns:
        out.setdefault(t.reed, _Asked("play", t.minutes, t.why))
    return out


def _to_play(case: CaseView, asked: Mapping[str, _Asked]) -> Fact:
    owed = {r: x for r, x in asked.items() if x.kind in ("play", "done")}
    waits = [r for r, x in owed.items() if x.kind == "play"]
    title = tr("Today, {day}").format(day=spoken_day(case.on))
    if not owed:
        return Fact(title, tr("None") if case.reeds else tr("No reeds yet"),
                    (tr("Nothing asks to be played today."),) if case.reeds else ())
    if not waits:
        return Fact(title, tr("✓ all done"), (", ".join(owed),))
    minutes = sum(owed[r].minutes for r in waits)
    done = [r for r in owed if r not in waits]
    said = tr("{minutes:g} minutes in all; done: {done}") if done else tr("{minutes:g} minutes in all")
    return Fact(title, _few(waits), (said.format(minutes=minutes, done=", ".join(done)),))


def _few(reeds: Sequence[str]) -> str:
    """Return reeds as the fact names them; of many the first ones."""
    if len(reeds) <= _NAMED + 1:
        return ", ".join(reeds)
    return tr("{reeds} and {n} more").format(reeds=", ".join(reeds[:_NAMED]), n=len(reeds) - _NAMED)


# --- a concert ----------------------------------------------------------------------------------


def ready_for(case: CaseView, on: date) -> Ready:
    """Return the reeds for a concert or rehearsal on a date. Where a running trial's plan has named them, those."""
    picks: Sequence[ConcertPick] = case.for_concert(on)
    fit = [p.reed for p in picks if p.ready]
    named = case.named.get(on, ())
    best = tuple(named or fit[:2])
    day = spoken_date(on)
    if named:
        head = tr("Your plan keeps {best} for {day}.").format(best=all_of(best), day=day)
    elif best:
        head = (tr("Ready for {day}: {reeds}.") if len(best) > 1 else
                tr("Ready for {day}: {reeds}, and no spare. Break in another.")).format(day=day, reeds=", ".join(best))
    else:
        head = tr("No reed is ready for {day} yet. Break in another soon.").format(day=day)
    rows = tuple((p.reed, p.ready, p.why, "" if p.mean is None else f"{p.mean:.1f}") for p in picks)
    return Ready(on, head, best, rows)


def _concert(ready: Ready, known: date | None) -> Fact:
    title = spoken_day(ready.on)
    if known is not None:
        title = tr("{day}, concert").format(day=title)
    if not ready.reeds:
        return Fact(title, tr("None is ready yet"), (tr("Break in another reed soon."),))
    spare = tr("no spare yet")
    if len(ready.reeds) > 1:
        spare = tr("spare: {reeds}").format(reeds=", ".join(ready.reeds[1:]))
    lacks = next((why for reed, fit, why, _ in ready.rows if reed == ready.reeds[0] and not fit), "")
    first = lacks.split(", ")[0]
    rest = tr("for a concert, if any") if known is None else tr("rest it the day before")
    return Fact(title, ready.reeds[0], (spare, f"{ready.reeds[0]} {first}" if first.startswith(_NEEDS) else rest))


# --- boxes --------------------------------------------------------------------------------------


def _costs(case: CaseView) -> tuple[str, ...]:
    out = []
    for c in case.costs:
        if c.per_hour is not None:
            said = tr("Box {box}: {hours:.0f} h at {each:.2f} each")
        else:
            said = tr("Box {box}: {hours:.0f} h, no price") if c.price is None else tr("Box {box}: {hours:.0f} h")
        told = said.format(box=c.box, hours=c.good_h, each=c.per_hour)
        out.append(told if c.done or c.good_h < 0.5 else tr("{told}, so far").format(told=told))
    return (*out, *(tr("Box {b}: sealed, in a trial").format(b=b) for b in case.sealed_boxes))


def _good(case: CaseView, costs: Sequence[str]) -> Fact:
    told = [c for c in case.costs if c.per_hour is not None] or [c for c in case.costs if c.good_h >= 0.5]
    if not told:
        why = tr("none yet") if case.reeds else tr("no reeds yet")
        why = tr("sealed while a trial runs") if case.sealed_boxes else why
        return Fact(tr("Good hours, and their price"), "–", (why,))
    last = told[-1]
    value = f"{last.good_h:.0f} h"
    if last.per_hour is not None:
        value = tr("{hours:.0f} h at {each:.2f} each").format(hours=last.good_h, each=last.per_hour)
    mine = tr("Box {box}:").format(box=last.box)
    rest = [c for c in costs if not c.startswith(mine)][-_BOXES:]
    title = tr("Good hours of box {box}") if last.done else tr("Good hours of box {box}, so far")
    return Fact(title.format(box=last.box), value, tuple(rest))


def _next_box(case: CaseView) -> Fact:
    title = tr("Open the next box")
    if not case.reeds:
        return Fact(title, tr("now"))
    if case.box_days is None:
        return Fact(title, tr("now"), (tr("{reeds} on the go; at least {on_the_go} are wanted").format(
                                       reeds=_reeds(case.counted), on_the_go=ON_THE_GO),))
    weeks = [max(0, round(d / 7)) for d in (case.box_days.low, case.box_days.high)]
    by = case.open_by
    day = date_month(by) + (f" {by.year}" if by.year != case.on.year else "")
    value = tr("now") if by <= case.on else tr("by {day}").format(day=day)
    return Fact(title, value, (tr("{reeds} in use; in {weeks} to {weeks2} weeks fewer than {on_the_go} may "
                                  "be left").format(reeds=_reeds(case.counted), weeks=weeks[0], weeks2=weeks[1],
                                                    on_the_go=ON_THE_GO),))


def _reeds(n: int) -> str:
    return trn("{n} reed", "{n} reeds", n).format(n=n)


# --- one row a reed -----------------------------------------------------------------------------


def _is_new(r: ReedState) -> bool:
    return r.play_days == 0 and r.trial is None and not r.set_aside and not r.at_least and r.today_min == 0


def _new(reeds: Sequence[ReedState]) -> list[str]:
    boxes: dict[str, list[str]] = {}
    for r in reeds:
        boxes.setdefault(r.box, []).append(r.reed)
    return [tr("Box {box}, not played in yet: {codes}").format(
                box=box, codes=", ".join(codes)) for box, codes in boxes.items()]


def _row(r: ReedState, case: CaseView, asked: Mapping[str, _Asked]) -> ReedRow:
    mine = asked.get(r.reed)
    if mine is not None:
        minutes = minutes_words(mine.minutes) if mine.minutes else tr("spare") if mine.kind == "play" else ""
        kind, today = mine.kind, ", ".join(x for x in (minutes, mine.why) if x)
    elif r.set_aside:
        kind, today = "aside", tr("set aside")
    elif r.today_min:
        kind, today = "played", tr("played {today_min:g} min").format(today_min=r.today_min)
    else:
        kind, today = "free", "–"
    stage = [] if r.broken_in or r.set_aside else [tr("break-in, day {step} of {n}").format(step=r.step, n=len(RAMP))]
    stage += [tr("worked on")] if r.worked_on else []
    stage += [tr("in {trial}").format(trial=r.trial)] if r.trial is not None and mine is None else []
    return ReedRow(r.reed, kind, today, r.recent, _course_words(r, case), case.against.get(r.reed),
                   _hours(r, case.lives.get(r.reed)),
                   _rested(r.last_played, case.on), ", ".join(stage))


def _course_words(r: ReedState, case: CaseView) -> str:
    if not r.sealed:
        return _TREND[r.trend] if r.trend else tr("too few ratings yet") if r.recent else tr("not rated yet")
    if r.reed in case.against:
        return _against(case.against[r.reed])
    opens = case.opens.get(r.trial or "")
    if opens is None:
        return tr("sealed while its trial runs")
    return tr("sealed until {day}").format(day=date_month(opens))


def _against(x: Against) -> str:
    if x.above == 0:
        return tr("about average")
    n = abs(x.above)
    size = tr("½ point") if n == 0.5 else trn("{n} point", "{n} points", n).format(n=f"{n:g}".replace(".5", "½"))
    return (tr("{size} above average") if x.above > 0 else tr("{size} below average")).format(size=size)


def _hours(r: ReedState, left: Span | None) -> Hours:
    played = f"{r.hours:.1f}{'+' if r.at_least else ''}"
    if left is None:
        return Hours(r.hours, r.at_least, None, None, f"{played} h")
    low, high = r.hours + left.low, r.hours + left.high
    return Hours(r.hours, r.at_least, low, high, tr("{played} of {low:.0f}–{high:.0f} h").format(
                                                     played=played, low=low, high=high))


def _rested(last: date | None, on: date) -> str:
    if last is None:
        return tr("never played")
    days = (on - last).days
    if days < 2:
        return (tr("played today"), tr("played yesterday"))[days]
    return trn("rested {n} day", "rested {n} days", days - 1).format(n=days - 1)


def _notes(case: CaseView, rows: Sequence[ReedRow]) -> list[str]:
    n = case.life.worn_out
    if not n:
        rests = tr("It rests on a common guess, for none of your reeds has worn out yet and will tighten as more wear "
                   "out; "
                   "chips and losses do not count.")
    elif n < _LIFE_FROM:
        rests = trn("It rests on {n} worn-out reed of yours and will tighten as more wear out; chips and losses do not "
                    "count.",
                    "It rests on {n} worn-out reeds of yours and will tighten as more wear out; chips and losses do "
                    "not "
                    "count.", n)
    else:
        rests = trn("It rests on {n} worn-out reed of yours; chips and losses do not count.",
                    "It rests on {n} worn-out reeds of yours; chips and losses do not count.", n)
    drawn = tr("Ratings are drawn from 0 to 10, the last on the right; the line is your rehearsal mark, 6. The bar is "
               "the "
               "hours played, the pale part how long such a reed should last, four times in five.")
    out = [f"{drawn} {rests.format(n=n)}"]
    if any(r.hours.at_least for r in rows):
        out.append(tr("A + marks a reed that was broken in before its first entry; the usual minutes were added."))
    if case.against:
        out.append(tr("The reeds of a running trial are compared with each other only, by days on which each was rated "
                      "both ways: the dot against the line in the middle, with its give and take. Which way is better "
                      "cannot be seen in it."))
    return out
