"""What the same rows show besides the plan's own outcome: other outcomes, and the other rating columns.

None of it gets a verdict. Each is read like a main outcome: made into one number a unit without sight of the
habits, then tested by the plan's own reshuffling.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ...rows.tables import Frames
from ...trial.outcomes import OUTCOMES
from ...trial.protocol import Protocol
from ...trial.result import Finding
from ..units.adjust import adjustments
from ..units.blind import BlindTrial, blind
from ..units.life_values import life_values
from ..units.shares import planned_share
from ..units.unit_values import rating_values
from ..verdicts.findings import read_difference, read_lives

__all__ = ["COLUMNS", "also_seen"]

#: The columns of ratings a player may fill in.
COLUMNS = ("overall", "response", "tone", "stiffness")


def also_seen(protocol: Protocol, frames: Frames, trial: BlindTrial) -> tuple[Finding, ...]:
    """Return the findings that stand beside the main one: other outcomes first, then the other columns.

    Parameters
    ----------
    protocol, frames
        The plan and the logbook's rows.
    trial : BlindTrial
        The trial as it is read, made of them; it says up to which day.

    Returns
    -------
    tuple of Finding
        Reading "also_seen", without a verdict. A column in which nothing was filled in is not there.
    """
    if protocol.pairs:  # whatever else was rated has no way of its own
        return ()
    others = () if protocol.crossover else _outcomes(protocol, trial)  # whose reeds keep to one way
    return (*others, *_columns(protocol, frames, trial))


def _outcomes(protocol: Protocol, trial: BlindTrial) -> Iterator[Finding]:
    for outcome, card in OUTCOMES.items():
        if outcome == protocol.outcome or protocol.design not in card.designs or card.pairs or card.crossover:
            continue
        if card.lives:
            lives = life_values(trial, outcome)
            if lives.worn_out.any():
                yield read_lives(protocol, lives, reading="also_seen", level=protocol.level).finding
        else:
            yield from _rated(protocol, trial, outcome)


def _columns(protocol: Protocol, frames: Frames, trial: BlindTrial) -> Iterator[Finding]:
    outcome = protocol.outcome if protocol.crossover else next(
        o.key for o in OUTCOMES.values()
        if o.of_points and protocol.design in o.designs and not (o.pairs or o.crossover))
    for column in COLUMNS:
        if column == protocol.rating or not frames.sittings[column].notna().any():
            continue
        other = replace(protocol, rating=column)
        yield from _rated(other, blind(other, frames, until=trial.until), outcome)


def _rated(protocol: Protocol, trial: BlindTrial, outcome: str) -> Iterator[Finding]:
    values = rating_values(trial, outcome, adjustments(protocol, outcome))
    reading = read_difference(protocol, values, planned_share(protocol, values), reading="also_seen",
                              level=protocol.level)
    if reading.used.any():
        yield reading.finding
