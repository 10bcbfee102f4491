"""What every page of the demo says of itself."""

from __future__ import annotations

from typing import Final

from ..wording import tr

__all__ = ["INVENTED"]

INVENTED: Final = tr("Invented: the player, the reeds and the ratings.")
