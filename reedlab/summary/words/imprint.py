"""What stands at the foot of a printed answer: the day, the player's code, the version, the plan's fingerprint."""

from __future__ import annotations

from ...wording import tr
from ..case import long_date
from ..said import Said

__all__ = ["fingerprint", "imprint"]


def imprint(said: Said) -> str:
    """Return who read it, when and with what: "Player P07. Read on 14 March 2026 with reedlab 0.1.0."."""
    about = said.about
    read = (tr("Read on {date} with reedlab {version}") if about.read_on else tr("Read with reedlab {version}")).format(
        date=long_date(about.read_on) if about.read_on else "", version=about.version).rstrip()
    who = tr("Player {player}.").format(player=about.player)
    return f"{who} {read}." if about.player else f"{read}."


def fingerprint(said: Said) -> str:
    """Return the fingerprint of the frozen plan; "" for a diary, which had none."""
    if said.result.state == "diary":
        return ""
    return tr("Fingerprint of the plan (SHA-256): {sha256}").format(sha256=said.result.protocol_sha256)
