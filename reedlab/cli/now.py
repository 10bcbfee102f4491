"""What to play now, in plain sentences: what the Today page shows, for the command line. Pure, read only."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from ..reedcase import states, turn
from ..rows.tables import Frames
from ..schedule import Line, PlayDay, running_schedules, usual_from, week_unsaid
from ..trial.pairs import told_steps, told_way
from ..trial.protocol import Protocol
from ..wording import spoken_date, spoken_day, tr

__all__ = ["what_now"]


def what_now(protocols: Mapping[str, Protocol], frames: Frames, on: date) -> list[str]:
    """Return the lines to print for a day.

    Parameters
    ----------
    protocols : mapping
        Every trial's plan by name.
    frames : Frames
        Its week, days off and concerts count.
    on : date
    """
    out = [spoken_date(on)]
    plays = {name: made.days[0] for name, made in running_schedules(protocols, frames, on).items()}
    running = {name: protocols[name] for name in plays}
    told: set[str] = set()
    for name, plan in running.items():
        lines = _trial(name, plan, plays[name])
        out += ["", *(x for n, x in enumerate(lines) if n == 0 or x not in told)]  # one word for all is said once
        told.update(lines)
    if not running:
        usual = usual_from(frames)
        turns = [] if usual.off(on) else turn(states(frames, running, on), usual.minutes_on(on))
        out += ["", " ".join([tr("No trial is running."), *([tr("Not playing today.")] if usual.off(on) else []),
                              *([tr("Your reeds in turn:")] if turns else [])])]
        out += ["  " + tr("{reed}, {minutes:g} minutes ({why})").format(reed=t.reed, minutes=t.minutes, why=t.why)
                for t in turns]
        if not len(frames.reeds):
            out.append(tr("There are no reeds in this logbook yet."))
    unsaid = week_unsaid(frames)
    reckons = len(frames.reeds) and not (running and all(p.standing for p in running.values()))
    return [*out, "", unsaid] if reckons and unsaid is not None else out


def _trial(name: str, plan: Protocol, day: PlayDay) -> list[str]:
    if day.state == "waiting":
        head = tr("{name} begins on {date}.").format(name=name, date=spoken_day(plan.start))
    elif day.state == "paused":
        head = tr("{name}: not playing today, the rest moves along.").format(name=name)
    elif day.state == "day_off":
        head = tr("{name}, day {number} of {days}: not playing today.").format(
                   name=name, number=day.number, days=plan.days)
    elif plan.standing:
        serve = len(day.owed)
        head = (tr("{name}. Play the reeds you like, each with its way:").format(name=name) if serve else
                tr("{name}. No reed of it is in service. Deal the next box when you open it.").format(name=name))
    else:
        head = tr("{name}, day {number} of {days}.").format(name=name, number=day.number, days=plan.days)
        if not day.owed:
            head += " " + tr("No reed of it is due today.")
        elif all(x.done for x in day.owed):
            head += " " + tr("All done for today.")
    out = [head, *(f"  {text}" for text in day.said)]
    for x in day.lines:
        out += _line(x, plan)
    return out + [f"  {u.text}" for u in day.unmet]


def _line(x: Line, plan: Protocol) -> list[str]:
    if x.kind == "rest":
        return ["  " + tr("{reed} rests").format(reed=x.reed)]
    minutes = tr("{minutes:g} minutes").format(minutes=x.minutes) if x.minutes else tr("a spare")
    done = " " + tr("(done)") if x.done else ""
    if plan.standing:
        way = tr("your helper makes it ready") if plan.masked == "helper" else plan.habit(x.habit or "").name
        return [f"  {x.reed}: {way}{done}"]
    if x.kind in ("slot", "play"):
        place = f"{x.order}. " if x.order is not None else ""
        said = (tr("{reed}, {minutes}, then say which go was better") if x.rate and plan.pairs else
                tr("{reed}, {minutes}, then rate it") if x.rate else tr("{reed}, {minutes}"))
        text = f"  {place}{said.format(reed=x.reed, minutes=minutes)}{done}"
        if x.habit is None:
            return [text]
        way = told_way(plan, x.habit)
        steps = "" if plan.masked == "helper" else told_steps(plan, x.habit)
        return [text, f"     {way[:1].upper()}{way[1:]}. {steps}".rstrip()]
    why = {"break_in": tr("break-in"), "concert": tr("for the concert"),
           "free": tr("would suit the rest of your practice")}
    return [f"  {x.reed}, {minutes} ({why[x.kind]})"]
