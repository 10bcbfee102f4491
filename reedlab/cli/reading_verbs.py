"""The commands that only read: what to play now, what a player's reeds can settle, what an old diary hints at."""

from __future__ import annotations

import argparse
import json
import sys
import textwrap
from typing import TYPE_CHECKING, Any

from ..errors import InputError
from ..wording import tr
from .arguments import AddVerb, logbook_of, tell

if TYPE_CHECKING:
    from ..plan.ranking import Ranked, Ranking

__all__ = ["add_reading_verbs"]

_BAR = 10  # letters


def add_reading_verbs(verb: AddVerb) -> None:
    """Add the commands to the command line."""
    today = verb("today", _today, tr("say what to play now"))
    today.add_argument("logbook", metavar="LOGBOOK")
    today.add_argument("--today", metavar="DATE", help=tr("for this day instead"))
    plan = verb("plan", _plan, tr("say which questions your reeds, minutes and weeks can settle"))
    plan.add_argument("logbook", metavar="LOGBOOK")
    plan.add_argument("--weeks", type=int, default=8, metavar="WEEKS", help=tr("the most you would give (else 8)"))
    plan.add_argument("--minutes", type=float, metavar="MINUTES",
                      help=tr("playing a day (else those of your week, or 60)"))
    plan.add_argument("--question", metavar="QUESTION", help=tr("all plans of one question, such as wetting"))
    plan.add_argument("--json", action="store_true", help=tr("for programs"))
    plan.add_argument("--today", metavar="DATE", help=tr("as of this day"))
    diary = verb("diary", _diary, tr("read an old diary: a hint, and the fair trial that would settle it"))
    diary.add_argument("logbook", metavar="LOGBOOK", help=tr("entries in no trial are read, by their column `habit`"))
    diary.add_argument("--question", metavar="KEY",
                       help=tr("which question, such as wetting; own: the two ways that the diary names"))
    diary.add_argument("--life", action="store_true", help=tr("compare playing hours until worn out, not ratings"))
    diary.add_argument("--gone-next-day", action="store_true",
                       help=tr("for a question of your own: the effect is gone by the next day"))
    diary.add_argument("--json", action="store_true", help=tr("for programs"))
    diary.add_argument("--today", metavar="DATE", help=tr("read it as of this day"))


def _today(args: argparse.Namespace) -> None:
    from .now import what_now

    with logbook_of(args) as (logbook, on):
        frames = logbook.frames_since(on)
        protocols = logbook.protocols(frames)
    print("\n".join(what_now(protocols, frames, on)))


def _diary(args: argparse.Namespace) -> None:
    from ..errands.read_diary import read_diary

    with logbook_of(args) as (logbook, on):
        found = read_diary(logbook, args.question, today=on, life=args.life, lasts=not args.gone_next_day)
    tell(found, as_json=args.json)


def _plan(args: argparse.Namespace) -> None:
    from ..errands.what_can_be_settled import past_answers, settle
    from ..questions import CATALOGUE

    if args.question is not None and (args.question not in CATALOGUE or args.question == "own"):
        known = ", ".join(k for k in CATALOGUE if k != "own")
        raise InputError(tr("There is no question {question!r} to rank. Choose one of: {known}.").format(
                             question=args.question, known=known))
    with logbook_of(args) as (logbook, on):
        found = settle(logbook.frames(), on, minutes_a_day=args.minutes, weeks=args.weeks,
                       questions=None if args.question is None else [args.question],
                       progress=sys.stderr.isatty())
        past = {} if args.json or args.question else past_answers(logbook, on)
    if args.json:
        print(json.dumps([_plain(r) for r in found.rows], indent=2, allow_nan=False))
    else:
        print("\n".join(_of_one(found) if args.question else _of_all(found, past)))


def _head(found: Ranking) -> list[str]:
    from ..screens.questions import weeks_words

    means = found.means
    reeds = (tr("a new box of ten reeds (none of yours is free)") if means.imagined else
             tr("your {n} free reeds").format(n=len(means.reeds)))
    return [*textwrap.wrap(tr("What {reeds}, {minutes_a_day:g} minutes a day and up to {weeks_words} can settle. Each "
                              "plan was played through {trials} times on paper.").format(
                               reeds=reeds, minutes_a_day=means.minutes_a_day, weeks_words=weeks_words(means.weeks),
                               trials=found.trials), 80), ""]


def _of_all(found: Ranking, past: Any) -> list[str]:
    from ..screens.questions import burden, question_lines

    out = _head(found)
    for x in question_lines(found, past):
        if x.best is None:
            continue
        chance = " " + tr("no plan") + "  " if x.chance is None else tr("{chance:3d} of 100").format(chance=x.chance)
        out.append(f"{chance}  {_bar(x.chance or 0)}  {x.title}{f' ({x.key})' if x.key else ''}")
        told = tr("in {span}: {burden}").format(span=x.span, burden=burden(x.best)) if x.settles else x.why
        said = (told if told.endswith(".") else f"{told}.", x.past, x.changing, x.later)
        out += textwrap.wrap(" ".join(t for t in said if t), 80,
                             initial_indent=" " * 12, subsequent_indent=" " * 12)
    return [*out, "", *textwrap.wrap(
        tr("A useful answer: the better way named if they differ by what matters, \"no difference that matters\" if "
           "they do not. For all plans of one question add --question and its short name."), 80)]


def _of_one(found: Ranking) -> list[str]:
    from ..screens.questions import burden, in_100, span
    from ..trial.outcomes import OUTCOMES
    from ..trial.protocol import DESIGN_NAMES

    out = _head(found)
    for row in found.rows:
        asked = f"{DESIGN_NAMES[row.design]}, {OUTCOMES[row.outcome].asked_of}" if row.outcome else row.design
        if row.refused:
            out += [" " + tr("no plan    in {span}: {asked}").format(span=span(row), asked=asked),
                    *textwrap.wrap(f"{row.refused} {row.instead}", 80, initial_indent=" " * 12,
                                   subsequent_indent=" " * 12)]
        else:
            out += [tr("{in_100:3d} of 100  in {span}: {asked}").format(
                        in_100=in_100(row.useful), span=span(row), asked=asked),
                    f"            {burden(row)}",
                    "            " + tr("finds the better way in {in_100}, says \"no difference\" in "
                                        "{in_100_2} of 100").format(
                                         in_100=in_100(row.right), in_100_2=in_100(row.same))]
    return out


def _bar(chance: int) -> str:
    full = round(_BAR * chance / 100)
    return "#" * full + "." * (_BAR - full)


def _plain(row: Ranked) -> dict[str, Any]:
    from dataclasses import asdict

    out = asdict(row)
    return {**{k: None if v != v else v for k, v in out.items()}, "useful": row.useful}
