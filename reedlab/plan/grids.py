"""Forecasts of many plans and worlds at once, on all cores.

Wrap the call in ``joblib.parallel_config(backend=...)`` to hand the same grid to an existing cluster.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pandas as pd
from joblib import Parallel, delayed

from ..errors import InputError
from ..trial.outlook import Outlook
from ..trial.protocol import Protocol
from ..wording import tr
from ..worlds import World
from ._bar import Progress, bar
from .forecast import forecast, usual_gaps, usual_trials

__all__ = ["Scenario", "forecast_grid", "grid_table"]


@dataclass(frozen=True)
class Scenario:
    """One plan in one world. `gaps` are true differences; None: the usual ones."""

    protocol: Protocol
    world: World = field(default_factory=World)
    gaps: tuple[float, ...] | None = None


def forecast_grid(scenarios: Mapping[str, Scenario], *, trials: int | None = None, seed: int = 1,
                  jobs: int = -1, progress: Progress = False) -> dict[str, Outlook]:
    """Forecast every scenario, one task for each, spread over the cores by joblib.

    Parameters
    ----------
    scenarios : mapping of name to Scenario
    trials : int, optional
        At each gap of each scenario; default `usual_trials` of its plan.
    seed : int
        The same for all, so that plans are compared on the same luck. The answer does not depend on `jobs`.
    jobs : int
        Processes; -1: as many as there are cores, or as the cluster has workers.
    progress : bool or callable
        As in `forecast`; told of a scenario's trials when it is done.

    Returns
    -------
    dict of name to Outlook, in the order given
    """
    if not scenarios:
        raise InputError(tr("A grid needs at least one scenario."))
    work = {name: (len(s.gaps) if s.gaps is not None else len(usual_gaps(s.protocol)))
            * (usual_trials(s.protocol) if trials is None else trials) for name, s in scenarios.items()}
    run = Parallel(n_jobs=jobs, return_as="generator")
    done = run(delayed(forecast)(s.protocol, world=s.world, gaps=s.gaps, trials=trials, seed=seed)
               for s in scenarios.values())
    out: dict[str, Outlook] = {}
    with bar(progress, sum(work.values()), "forecasts") as tick:
        for name, found in zip(scenarios, done, strict=True):
            out[name] = found
            tick(work[name])
    return out


def grid_table(found: Mapping[str, Outlook]) -> pd.DataFrame:
    """Return the odds of several forecasts under each other, with a column `scenario` in front."""
    parts = []
    for name, one in found.items():
        part = one.to_frame().assign(matters=one.protocol.matters, worn_out=one.worn_out, sittings=one.sittings,
                                     hours=one.hours, least_p=one.least_p)
        part.insert(0, "scenario", name)
        parts.append(part)
    return pd.concat(parts, ignore_index=True)
