"""Write the story down: through a logbook, as a player would, then out as a folder of CSV files."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from reedlab.errands.read_trial import read_trial
from reedlab.errors import InputError
from reedlab.folder.clock import TODAY_FILE, is_invented
from reedlab.folder.filing import write_file
from reedlab.logbook import Logbook
from reedlab.logbook.exchange import export_folder
from reedlab.trial.outcomes import OUTCOMES

from .story import SEED, Story, Told, tell

__all__ = ["write_demo", "write_logbook"]


@dataclass
class _Clock:
    """The evening of the day the story is on; each correction a second after the one before."""

    day: date
    second: int = 0

    def __call__(self) -> datetime:
        evening = datetime(self.day.year, self.day.month, self.day.day, 18, tzinfo=UTC)
        return evening + timedelta(seconds=self.second)

    def turn_to(self, day: date) -> None:
        """Go on to a day, or a second further on the same day."""
        self.second = self.second + 1 if day == self.day else 0
        self.day = day


def write_logbook(story: Story, path: Path) -> None:
    """Write the story into a new logbook, each entry on the evening it was made."""
    clock = _Clock(story.events[0].on)
    with Logbook.drafted(path, now=clock) as logbook:  # half a story is none
        days = sorted({e.on for e in story.events})
        for day in days:
            clock.turn_to(day)
            today = [e for e in story.events if e.on == day]
            for e in today:
                if e.start is not None:
                    logbook.start_trial(e.start)
            logbook.add_many([r for e in today if e.slip is None for r in e.records])
            for e in today:
                if e.end is not None:
                    logbook.end_trial(e.end[0], day, e.end[1])
            for e in today:
                if e.slip is None:
                    continue
                entry = logbook.add(e.slip)
                clock.turn_to(day)
                if e.slip_kind == "twice":
                    again = logbook.add(e.records[0])
                    clock.turn_to(day)
                    logbook.withdraw("sittings", again)
                else:
                    logbook.correct("sittings", entry, e.records[0])


def write_demo(folder: Path) -> dict[str, Any]:
    """Make the demo data in `folder` (made if new; the files of an older demo are replaced); return the truths."""
    folder.mkdir(parents=True, exist_ok=True)
    if (folder / "logbook").exists() and not is_invented(folder):
        raise InputError(f"{folder} holds something that is not the demo; nothing was written.")
    story = tell()
    with TemporaryDirectory() as scratch:
        path = Path(scratch) / "demo.logbook"
        write_logbook(story, path)
        with Logbook.open(path, read_only=True) as logbook:
            target = folder / "logbook"
            if target.exists():
                for old in sorted(target.rglob("*"), reverse=True):
                    old.rmdir() if old.is_dir() else old.unlink()
                target.rmdir()
            export_folder(logbook, target)
            truths = _truths(story, logbook)
    write_file(folder / TODAY_FILE, story.today.isoformat() + "\n")
    write_file(folder / "truth.json", json.dumps(truths, indent=2, ensure_ascii=False, allow_nan=False) + "\n")
    write_file(folder / "README.md", _readme(truths))
    return truths


def _truths(story: Story, logbook: Logbook) -> dict[str, Any]:
    table = story.world.table()
    return {
        "invented": True,
        "seed": SEED,
        "today": story.today.isoformat(),
        "trials": [_truth(t, logbook, story.today) for t in story.trials],
        "world": {row["name"]: {"value": row["value"], "unit": row["unit"], "source": row["source"]}
                  for _, row in table.iterrows() if not row["name"].startswith("effect_")},
    }


def _truth(told: Told, logbook: Logbook, today: date) -> dict[str, Any]:
    p = told.protocol
    found = read_trial(logbook, p.trial, today=today).to_dict()
    out = {
        "trial": p.trial, "question": p.ask, "design": p.design_name, "outcome": p.outcome,
        "first_habit": p.habits[0].name, "second_habit": p.habits[1].name,
        "true_effect_of_second_over_first": told.truth, "truth": told.truth_in_words, "found": None,
    }
    if told.finished:
        low, high = _end(found["low"], -math.inf), _end(found["high"], math.inf)
        keys = ("estimate", "low", "high", "p_value", "verdict", "headline", "events")
        out["found"] = {k: found[k] for k in keys}
        out["truth_inside_range"] = bool(low <= told.truth <= high)
        error = None if found["estimate"] is None else found["estimate"] - told.truth
        out["estimate_minus_truth"] = error
    return out


def _end(value: float | None, open_end: float) -> float:
    return open_end if value is None else float(value)


def _number(x: float | None) -> str:
    return "open" if x is None else f"{x:.2f}"


def _readme(truths: dict[str, Any]) -> str:
    lines = [
        "# Demo data: invented", "",
        "One clarinet player who does not exist, ten boxes of strength 3, four trials: one of them a standing trial of",
        "two years and seven boxes, before the others. Everything here was",
        f"drawn by a simulator from the seed {truths['seed']}, which was fixed before any result was seen. The",
        "spread of reeds, wear, air, mood and gaps in the diary are our assumptions; `truth.json` lists them.",
        "Two accidents were put in, so that there are chipped reeds to look at (which reeds, and when, was drawn",
        "before anything was dealt), and the long trial was made short enough to leave some reeds still going.",
        "Everything else fell as it fell.",
        f"In the demo it is always {truths['today']}, the fifth day of the running trial.", "",
        "| trial | the truth | what the analysis found | 95 % range | truth inside? |", "|---|---|---|---|---|",
    ]
    for t in truths["trials"]:
        found = t["found"]
        if found is None:
            lines.append(f"| {t['trial']} | {t['truth']} | still running: sealed | | |")
        else:
            lines.append(f"| {t['trial']} | {t['truth']} | {found['headline']} ({_number(found['estimate'])}) | "
                         f"{_number(found['low'])} to {_number(found['high'])} | "
                         f"{'yes' if t['truth_inside_range'] else 'no'} |")
    lines += ["", "The numbers compare the second way with the first:", ""]
    lines += [f"- {t['trial']}: {t['second_habit']} compared with {t['first_habit']}"
              + (" (times as many playing hours)" if OUTCOMES[t["outcome"]].lives else " (points)")
              for t in truths["trials"]]
    lines += ["", "`logbook/` is a folder of CSV files as `reedlab export` writes it, with the history of",
              "corrected entries. Make it all anew, from a checkout: `python -m tests.demo demo_data`.", ""]
    return "\n".join(lines)
