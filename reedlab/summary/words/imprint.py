"""What stands at the foot of a printed answer: the day, the player's code, the version, the plan's fingerprint."""

from __future__ import annotations

from typing import Final

from ..case import long_date
from ..said import Said

__all__ = ["INVENTED", "fingerprint", "imprint"]

INVENTED: Final = "Invented: the player, the reeds and the ratings."


def imprint(said: Said) -> str:
    """Return who read it, when and with what: "Player P07. Read on 14 March 2026 with reedlab 0.1.0."."""
    about = said.about
    on = f" on {long_date(about.read_on)}" if about.read_on else ""
    who = f"Player {about.player}. " if about.player else ""
    return f"{who}Read{on} with reedlab {about.version}".rstrip() + "."


def fingerprint(said: Said) -> str:
    """Return the fingerprint of the frozen plan; "" for a diary, which had none."""
    return "" if said.result.state == "diary" else f"Fingerprint of the plan (SHA-256): {said.result.protocol_sha256}"
