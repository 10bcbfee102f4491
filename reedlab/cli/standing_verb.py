"""The command for a standing trial: what it can show, begin it, deal the next box."""

from __future__ import annotations

import argparse
import secrets
import textwrap

from ..errors import InputError
from ..wording import tr
from .arguments import AddVerb, dashed, logbook_of

__all__ = ["add_standing_verb"]


def add_standing_verb(verb: AddVerb) -> None:
    """Add the command to the command line."""
    stand = verb("standing", _standing, tr("a trial that goes on until it is settled: when that may be, begin, "
                                           "deal a box"))
    stand.add_argument("logbook", metavar="LOGBOOK")
    stand.add_argument("question", nargs="?", metavar="QUESTION", help=tr("one of the catalogue, such as rinse"))
    stand.add_argument("--begin", action="store_true", help=tr("freeze the plan and begin"))
    stand.add_argument("--box", action="append", default=[], metavar="BOX",
                       help=tr("deal this box: with --begin the first one, else the next of the running trial"))
    stand.add_argument("--trial", metavar="NAME", help=tr("what to call it, or which trial takes the box"))
    stand.add_argument("--matters", type=float, metavar="RATIO", help=tr("the smallest ratio of lives that matters"))
    stand.add_argument("--minutes", type=float, metavar="MINUTES", help=tr("what you play a day (else your own "
                                                                           "week)"))
    stand.add_argument("--expected", metavar="WAY", help=tr("the way you think is better, or same"))
    stand.add_argument("--fours", action="store_true", help=tr("deal each box in fours by first play"))
    stand.add_argument("--today", metavar="DATE", help=tr("as of this day"))


def _standing(args: argparse.Namespace) -> None:
    if args.question is None:
        if not args.box:
            raise InputError(tr("Name a question to see what a standing trial can show, or a box to deal: --box 2."))
        _deal(args)
    elif args.begin:
        _begin(args)
    else:
        _show(args)


def _show(args: argparse.Namespace) -> None:
    from ..errands.standing_steps import outlook_for
    from ..plan.standing import question_that_stands
    from ..summary.words.standing import outlook_sentences

    question = question_that_stands(args.question)
    with logbook_of(args) as (logbook, _):
        seen = outlook_for(logbook.frames(), minutes=args.minutes,
                           matters=question.matters["life_hours"] if args.matters is None else args.matters)
    print(question.ask_for("life_hours"))
    dashed(outlook_sentences(seen))
    print(tr("Nothing was begun. To begin, say --begin, and --box for the box to deal first."))


def _begin(args: argparse.Namespace) -> None:
    from ..errands.standing_steps import draft_standing

    with logbook_of(args, read_only=False) as (logbook, today):
        draft = draft_standing(
            logbook.frames(), args.question, start=today, seed=secrets.randbelow(2**31), deal=args.box,
            trial=args.trial, matters=args.matters, expected=args.expected, sets="fours" if args.fours else "box")
        logbook.start_trial(draft.protocol)
    plan = draft.protocol
    print(tr("Begun: {trial}. It goes on until it is settled, or until you end it.").format(trial=plan.trial))
    print(tr("Fingerprint of the plan: {sha256}").format(sha256=plan.sha256[:12]))
    for habit in plan.habits:
        mine = [u.unit for u, k in zip(plan.units, plan.dealt, strict=True) if k == habit.key]
        if mine and plan.masked != "helper":
            print(textwrap.fill(f"{habit.name}: {', '.join(sorted(mine))}", 80, initial_indent="  ",
                                subsequent_indent="    "))
    dashed(draft.remarks)


def _deal(args: argparse.Namespace) -> None:
    from ..errands.standing_steps import deal_next

    for box in args.box:
        with logbook_of(args, read_only=False) as (logbook, today):
            dealt = deal_next(logbook, box, today, args.trial)
        print(tr("Dealt: box {box}, the trial's box {number}, in {trial}.").format(
                  box=box, number=dealt.number, trial=dealt.plan.trial))
        if dealt.plan.masked == "helper":
            print("  " + tr("Your helper makes the reeds ready; the ways are not shown here."))
        for habit, reeds in zip(dealt.plan.habits, dealt.reeds, strict=True):
            if dealt.plan.masked != "helper":
                print(textwrap.fill(f"{habit.name}: {', '.join(reeds)}", 80, initial_indent="  ",
                                    subsequent_indent="    "))
        if dealt.left_out:
            print("  " + tr("Left out: {names}").format(names=", ".join(dealt.left_out)))
