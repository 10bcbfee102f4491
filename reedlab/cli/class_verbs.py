"""The command-line verbs for a class, and for one player's repeats: plan, deal, share, put together."""

from __future__ import annotations

import argparse
import secrets
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from ..errors import InputError
from ..folder.clock import day_called, today_in
from ..folder.filing import write_file
from ..wording import tr
from .arguments import AddVerb, logbook_of, tell

if TYPE_CHECKING:
    from ..classes.hand_in import Shared
    from ..errands.class_steps import Shelf

__all__ = ["add_class_verbs", "deal_plan", "make_plan", "put_together", "share_trial"]


def add_class_verbs(verb: AddVerb) -> None:
    """Add the verbs to the parser."""
    made = verb("plan", make_plan, tr("make one plan for a whole class to hand out"))
    made.add_argument("question", metavar="QUESTION", help=tr("one of the catalogue, such as wetting"))
    made.add_argument("-o", "--output", required=True, metavar="FILE")
    made.add_argument("--outcome", metavar="OUTCOME")
    made.add_argument("--design", metavar="DESIGN")
    made.add_argument("--rating", default="overall", metavar="RATING")
    made.add_argument("--days", type=int, metavar="DAYS")
    made.add_argument("--matters", type=float, metavar="GAP", help=tr("the smallest difference that matters"))
    made.add_argument("--reeds-a-day", type=int, metavar="REEDS")
    made.add_argument("--pupils", type=int, metavar="PUPILS", help=tr("say what a class of so many can show"))
    made.add_argument("--reeds", type=int, default=4, metavar="REEDS", help=tr("each of them has (4)"))
    dealt = verb("deal", deal_plan, tr("deal your own reeds afresh from a class's plan and start the trial"))
    dealt.add_argument("plan", metavar="PLAN")
    dealt.add_argument("logbook", metavar="LOGBOOK")
    dealt.add_argument("--start", metavar="DATE", help=tr("the first day (else tomorrow)"))
    dealt.add_argument("--trial", metavar="NAME", help=tr("what to call it"))
    dealt.add_argument("--expected", metavar="WAY", help=tr("the way you think is better, or same"))
    dealt.add_argument("--left-out", nargs="*", default=[], metavar="REED", help=tr("reeds kept out of it"))
    given = verb("share", share_trial, tr("write one ended trial to a small file: no name, no date, no remark"))
    given.add_argument("logbook", metavar="LOGBOOK")
    given.add_argument("--trial", metavar="NAME", help=tr("which trial (else the one started last)"))
    given.add_argument("--code", required=True, metavar="CODE", help=tr("such as P07; never a name"))
    given.add_argument("-o", "--output", required=True, metavar="FILE")
    given.add_argument("--today", metavar="DATE", help=tr("read it as of this day"))
    joined = verb("together", put_together, tr("put shared trials of one question together"))
    joined.add_argument("files", nargs="+", metavar="FILE", help=tr("shared trials, or a folder of them"))
    joined.add_argument("--plan", metavar="PLAN", help=tr("the class's plan, to check the trials against"))
    joined.add_argument("--matters", type=float, metavar="GAP", help=tr("where the trials' own differ"))
    joined.add_argument("--json", action="store_true", help=tr("for programs"))
    joined.add_argument("--full", action="store_true", help=tr("all of it: every player, remark and number"))
    joined.add_argument("--page", metavar="FILE", help=tr("write it as a page, too"))


def make_plan(args: argparse.Namespace) -> None:
    """Make a class's plan and write it."""
    from ..classes.class_outlook import class_outlook, outlook_words
    from ..classes.class_plan import class_plan
    from ..logbook.class_files import write_plan_file

    plan = class_plan(args.question, design=args.design, outcome=args.outcome, days=args.days,
                      matters=args.matters, rating=args.rating, reeds_a_day=args.reeds_a_day)
    write_plan_file(args.output, plan)
    print(tr("Written to {output}. Hand the file out just as it is.").format(output=args.output))
    print(tr("Fingerprint of the plan: {sha256}").format(sha256=plan.sha256[:12]))
    if args.pupils is not None:
        for line in outlook_words(class_outlook(plan, reeds=args.reeds, pupils=args.pupils)):
            print(line)


def deal_plan(args: argparse.Namespace) -> None:
    """Deal a pupil's own reeds from a class's plan and start the trial."""
    from datetime import timedelta

    from ..errands.class_steps import deal_own
    from ..logbook import Logbook
    from ..logbook.class_files import read_plan_file

    plan = read_plan_file(args.plan)
    path = Path(args.logbook)
    start = day_called(args.start, option="--start") if args.start else today_in(path.parent) + timedelta(days=1)
    with Logbook.open(path) as logbook:
        draft = deal_own(plan, logbook.frames(), start=start, seed=secrets.randbelow(2**31), trial=args.trial,
                         left_out=args.left_out, expected=args.expected)
        logbook.start_trial(draft.protocol)
    print(tr("Started: {trial}, from {start}, {days} days.").format(
              trial=draft.protocol.trial, start=start.isoformat(), days=draft.protocol.days))
    for said in draft.remarks:
        print(f"  - {said}")


def share_trial(args: argparse.Namespace) -> None:
    """Write one ended trial to a file that can be handed on."""
    from ..errands.class_steps import hand_in

    with logbook_of(args) as (logbook, on):
        hand_in(logbook, args.code, Path(args.output), today=on, trial=args.trial)
    print(tr("Written to {output}, under the code {code}: the deal, ratings, minutes, the room's air, and whether "
             "a reed was worked on or the set-up changed. Nothing else.").format(output=args.output, code=args.code))


def put_together(args: argparse.Namespace) -> None:
    """Combine shared trials and print the answer."""
    from ..errands import class_steps as classwork
    from ..logbook.class_files import read_plan_file, read_share_file

    plan = None if args.plan is None else read_plan_file(args.plan)
    shared, of, said = [], None, []
    for name in args.files:
        if Path(name).is_dir():
            shelf = classwork.look_through(Path(name))
            found = shelf.roster(today_in(Path(name)))
            shared += _of_folder(shelf)
            of = (of or 0) + len(found.pupils)
            said += [found.headline, *(f"  {a.code or a.file}: {a.wrong}" for a in shelf.arrivals if not a.counts)]
        else:
            shared.append(read_share_file(name))
    for line in said:
        print(line, file=sys.stderr)
    answer = classwork.put_together(shared, plan, matters=args.matters, pupils=of)
    if args.page:
        write_file(args.page, answer.to_html())
    tell(answer, as_json=args.json, full=args.full)
    if not args.json and not args.full:
        print("\n" + tr("With --full: whether players differ, who adds how much, every remark and trial."))


def _of_folder(shelf: Shelf) -> list[Shared]:
    """Return what can be put together of a folder; what is wrong with the rest is told beside it."""
    if shelf.troubles:
        raise InputError("\n".join([tr("In {folder}, these can't be read. Mend them or take them away:").format(
            folder=shelf.folder), *(f"  {name}: {why}" for name, why in shelf.troubles)]))
    return [s for _, s in shelf.handed_in]
