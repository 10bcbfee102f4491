"""What the page for a class shows: plain functions."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from ..shared.render import render

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from ...errands.why import Why

__all__ = ["why_html"]


def why_html(found: Why) -> str:
    """Return the three figures, each under its sentence, with the sentences below."""
    from ...summary.figures.casual import alike_figure, apart_figure, fortnights_figure
    from ...summary.words import casual as words

    parts = []
    if found.ratings is not None:
        ratings = found.ratings
        half = len(ratings) // 2
        means = float(np.nanmean(ratings[:half])), float(np.nanmean(ratings[half:]))
        parts.append(_part(words.one_title(*means), words.one_sentences(*means),
                           lambda width: fortnights_figure(ratings, width=width, titled=False)))
    casual, fair = found.alike[0], found.alike[-1]
    rows = [(t.method, t.named / t.players, *t.ends) for t in found.alike]
    parts.append(_part(
        words.alike_title(casual.named / casual.players),
        words.alike_sentences((casual.named, casual.players), (fair.named, fair.players), fair.ends),
        lambda width: alike_figure(rows, width=width, titled=False)))
    casual, fair = found.apart[0], found.apart[-1]
    shares = [(t.method, t.second / t.players, (t.first + t.same) / t.players) for t in found.apart]
    parts.append(_part(
        words.apart_title(found.gap),
        words.apart_sentences((casual.second, casual.first), (fair.second, fair.first, fair.same), found.players),
        lambda width: apart_figure(shares, found.gap, width=width, titled=False)))
    return render("why", parts=parts, players=found.players, seed=found.seed)


def _part(title: str, said: Sequence[str], draw: Callable[[float], Figure]) -> dict[str, str]:
    from ...summary.figures import NARROW, WIDE, svg_uri

    return {"title": title, "said": " ".join(said), "wide": svg_uri(draw(WIDE)), "narrow": svg_uri(draw(NARROW))}
