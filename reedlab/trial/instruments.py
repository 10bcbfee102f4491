"""What an instrument is called within a sentence."""

from __future__ import annotations

from typing import Final

from ..wording import tr

__all__ = ["INSTRUMENT_WORDS"]

INSTRUMENT_WORDS: Final = {
    "clarinet": tr("clarinet"), "bass clarinet": tr("bass clarinet"), "soprano saxophone": tr("soprano saxophone"),
    "alto saxophone": tr("alto saxophone"), "tenor saxophone": tr("tenor saxophone"),
    "baritone saxophone": tr("baritone saxophone"), "other": tr("other"),
}
