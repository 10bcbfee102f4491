"""The outlook of a plan: its forecast, with what makes up a useful answer among the true gaps."""

from __future__ import annotations

from collections.abc import Sequence

from ..trial.outlook import Odds, Outlook
from ..trial.protocol import Protocol
from ..worlds import World
from ._bar import Progress
from .forecast import Forecast, forecast

__all__ = ["alike_and_matters", "outlook", "outlook_of"]


def alike_and_matters(protocol: Protocol) -> tuple[float, float]:
    """Return the gap that is none and the gap that matters, in the outcome's own unit."""
    return protocol.card.none, protocol.matters


def outlook(protocol: Protocol, *, world: World | None = None, gaps: Sequence[float] | None = None,
            trials: int | None = None, seed: int = 1, progress: Progress = False, samples: int = 4_000) -> Outlook:
    """Return what a plan can show. Arguments are those of `forecast`; no gap and what matters are always tried."""
    if gaps is not None:
        gaps = sorted({float(g) for g in (*gaps, *alike_and_matters(protocol))})
    return outlook_of(protocol, forecast(protocol, world=world, gaps=gaps, trials=trials, seed=seed,
                                         progress=progress, samples=samples))


def outlook_of(protocol: Protocol, found: Forecast) -> Outlook:
    """Return a forecast as plain data, by rising gap."""
    rows = sorted(found.table().to_dict("records"), key=lambda r: float(r["gap"]))
    return Outlook(
        protocol=protocol,
        odds=tuple(Odds(float(r["gap"]), a_better=float(r["a_better"]), b_better=float(r["b_better"]),
                        no_real_difference=float(r["no_real_difference"]), cannot_tell=float(r["cannot_tell"]),
                        trials=found.trials) for r in rows),
        least_p=found.least_p, sittings=found.sittings_per_reed, hours=found.hours_per_reed,
        worn_out=found.worn_out)
