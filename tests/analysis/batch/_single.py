"""The stored way of one simulated trial beside the batch: written down as frames, read by `analyse`."""

from __future__ import annotations

import dataclasses
from datetime import date, timedelta
from typing import Any

import numpy as np
import pandas as pd

from reedlab.analysis.batch import judge_batch
from reedlab.analysis.trial import analyse
from reedlab.plan import draw_up
from reedlab.rows.tables import Frames
from reedlab.trial.protocol import Protocol
from reedlab.worlds import Batch, World, batch_trials, simulate, to_frames

START = date(2026, 1, 5)


def some_reeds(boxes: int = 2, each: int = 10, seed: int = 1) -> pd.DataFrame:
    """Invented reeds with first-play ratings."""
    rng = np.random.default_rng(seed)
    return pd.DataFrame([{"reed": f"{b + 1}-{i + 1:02d}", "box": str(b + 1),
                          "first_play": float(np.clip(np.round(rng.normal(6, 1.2) * 2) / 2, 0, 10))}
                         for b in range(boxes) for i in range(each)])


def a_plan(question: str, outcome: str, *, boxes: int = 2, each: int = 10, adjust: tuple[str, ...] | None = None,
           worn_out_rule: str = "ratings", level: float = 0.95, **more: Any) -> Protocol:
    """Draw up a plan; `adjust` beyond what the question offers is written into it afterwards."""
    drawn = draw_up(question, some_reeds(boxes, each), start=START, seed=3, instrument="clarinet", outcome=outcome,
                    simulations=100, **more).protocol
    return dataclasses.replace(drawn, worn_out_rule=worn_out_rule, level=level,
                               adjust=drawn.adjust if adjust is None else adjust)


def ended(frames: Frames, protocol: Protocol) -> Frames:
    """Say that the trial was ended the day after its last: one that runs until its reeds are done would go on."""
    trials = frames.trials.copy()
    trials["ended"] = trials["started"] + np.timedelta64(protocol.days, "D")
    trials["ended_why"] = "the time is up"
    return dataclasses.replace(frames, trials=trials)


def looked(frames: Frames, protocol: Protocol, days: list[int]) -> Frames:
    """Write down early looks at the end of some trial days."""
    rows = [{"trial": protocol.trial, "date": START + timedelta(days=d - 1), "why": "could not wait"}
            for d in days]
    return dataclasses.replace(frames, looks=Frames.trusted(looks=rows).looks)


def differences(protocol: Protocol, world: World, n: int, seed: int) -> tuple[list[str], dict[str, int]]:
    """Return every way in which the two disagree over n trials, and the verdicts that came up."""
    return differences_in(simulate(protocol, world, n, seed, fresh_deals=protocol.same_days))


def differences_in(batch: Batch) -> tuple[list[str], dict[str, int]]:
    """Return the same for trials that have been simulated."""
    protocol, n = batch.protocol, len(batch)
    quick, full = judge_batch(batch_trials(batch)), judge_batch(batch_trials(batch), full=True)
    faults: list[str] = []
    seen: dict[str, int] = {}
    for i in range(n):
        own = batch.protocol_of(i)
        main = analyse(own, ended(to_frames(batch, i), own), today=START + timedelta(days=protocol.days),
                       side_readings=False).main
        assert main is not None
        assert main.verdict is not None
        seen[main.verdict] = seen.get(main.verdict, 0) + 1
        if not main.verdict == full.verdict[i] == quick.verdict[i]:
            faults.append(f"{i}: verdict {main.verdict}, batch {full.verdict[i]} and {quick.verdict[i]}")
        if not abs(main.p_value - full.p_value[i]) <= 1e-9:
            faults.append(f"{i}: p {main.p_value}, batch {full.p_value[i]}")
        if not _alike(main.estimate, float(full.estimate[i])):
            faults.append(f"{i}: estimate {main.estimate}, batch {full.estimate[i]}")
    return faults, seen


def _alike(x: float, y: float) -> bool:
    return bool(np.isclose(x, y, rtol=1e-9, atol=1e-9, equal_nan=True)) or x == y


def early_verdicts(batch: Batch, days: list[int]) -> list[str]:
    """Return what players claim who look at the end of `days`, by the single path."""
    out = []
    for i in range(len(batch)):
        own, frames = batch.protocol_of(i), to_frames(batch, i)
        claim = ""
        for at, day in enumerate(days):
            main = analyse(own, looked(frames, own, days[:at]), today=START + timedelta(days=day - 1),
                           open_early=True, side_readings=False).main
            assert main is not None
            if main.verdict in ("a_better", "b_better"):
                claim = str(main.verdict)
                break
        if not claim:
            main = analyse(own, ended(looked(frames, own, days), own), today=START + timedelta(days=own.days),
                           side_readings=False).main
            assert main is not None
            claim = str(main.verdict)
        out.append(claim)
    return out
