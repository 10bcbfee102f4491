"""Reed by reed: the ways to cut each box into matched sets, and the smallest p each can reach."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ..trial.dealing import even_counts, layout_of, least_p
from ..wording import all_of, tr, trn

__all__ = ["SetLayout", "candidate_layouts"]

_WHOLE = "one set a box"
_RULES = (("pairs", 2), ("fours", 4), ("sixes", 6), (_WHOLE, 0))


@dataclass(frozen=True)
class SetLayout:
    """Matched sets of reeds. `sets[i]` are the reeds of `labels[i]`; `n_b[i]` of them get the second way."""

    words: str
    labels: tuple[str, ...]
    sets: tuple[tuple[str, ...], ...]
    n_b: tuple[int, ...]
    spare: tuple[str, ...]

    @property
    def reeds(self) -> tuple[str, ...]:
        """Every dealt reed, in the order of the sets."""
        return tuple(r for s in self.sets for r in s)

    @property
    def blocks(self) -> tuple[str, ...]:
        """The set of every dealt reed, in the same order."""
        return tuple(label for label, s in zip(self.labels, self.sets, strict=True) for _ in s)

    @property
    def arrangements(self) -> int:
        """How many ways the two habits can be dealt."""
        return math.prod(self._ways)

    @property
    def least_p(self) -> float:
        """Smallest two-sided p that any result could give (`dealing.Layout.least_p`)."""
        return layout_of(self.blocks, dict(zip(self.labels, self.n_b, strict=True))).least_p

    @property
    def least_p_after_set(self) -> float:
        """The same once the set that costs most is lost; 1 where there is only one set."""
        return least_p(self.arrangements // max(self._ways))

    @property
    def least_p_after_reed(self) -> float:
        """The same once the reed that costs most is lost; a set without one of its ways is lost too."""
        worst = self.arrangements
        for s, b, ways in zip(self.sets, self.n_b, self._ways, strict=True):
            for left in (b - 1, b):  # a reed of the second way lost, or of the first
                kept = math.comb(len(s) - 1, left) if 0 < left < len(s) - 1 else 1
                worst = min(worst, self.arrangements // ways * kept)
        return least_p(worst)

    @property
    def _ways(self) -> tuple[int, ...]:
        return tuple(math.comb(len(s), b) for s, b in zip(self.sets, self.n_b, strict=True))


def _sizes(m: int, rule: int) -> list[int]:
    """Cut `m` (even) into sets of `rule`; what is left over joins or follows the last. [] if it cannot be."""
    if rule == 0 or m < rule:
        return [m] if rule == 0 else []
    whole, rest = divmod(m, rule)
    sizes = [rule] * whole
    if rest == 2 and rule > 2:  # ten in fours: a four and a six, since a pair would be the weak link
        sizes[-1] += 2
    elif rest:
        sizes.append(rest)
    return sizes


def _cut(reeds: Sequence[str], rule: int, spare: bool) -> tuple[list[tuple[str, ...]], list[str]]:
    """Cut one box, sorted by first play. An odd reed is spare (the last) or joins the last set."""
    m = len(reeds) - len(reeds) % 2
    sizes = _sizes(m, rule)
    if not sizes or m == 0:
        return [], list(reeds)
    odd = len(reeds) - m
    if odd and not spare:
        sizes[-1] += 1
    out, at = [], 0
    for size in sizes:
        out.append(tuple(reeds[at:at + size]))
        at += size
    return out, list(reeds[at:])


def candidate_layouts(by_box: Mapping[str, Sequence[str]], *, smallest: int = 2) -> list[SetLayout]:
    """Return the layouts worth comparing: every box cut by the same rule, odd reeds spare or dealt.

    Parameters
    ----------
    by_box : mapping of box to reeds
        Reeds in order of first play, so that neighbours are alike.
    smallest : int
        Smallest size of a set (four for lives: many reeds outlast the trial, and pairs waste them).

    Returns
    -------
    list of SetLayout
        Different ones only; empty if no box can give a set. The smallest p is not judged here.
    """
    found: dict[tuple[tuple[str, ...], ...], SetLayout] = {}
    for rule_words, rule in _RULES:
        for spare in (True, False):
            labels: list[str] = []
            sets: list[tuple[str, ...]] = []
            left: list[str] = []
            for box, reeds in by_box.items():
                cut, rest = _cut(reeds, rule, spare)
                if not cut and len(reeds) >= smallest:  # too few for this rule: all in one set
                    cut, rest = _cut(reeds, 0, spare)
                labels += [f"{box}.{i + 1}" for i in range(len(cut))]
                sets += cut
                left += rest
            if not sets or min(map(len, sets)) < smallest or tuple(sets) in found:
                continue
            blocks = [label for label, s in zip(labels, sets, strict=True) for _ in s]
            counts = even_counts(blocks)
            found[tuple(sets)] = SetLayout(
                words=_words(rule_words, [len(s) for s in sets], len(left)), labels=tuple(labels),
                sets=tuple(sets), n_b=tuple(counts[label] for label in labels), spare=tuple(left))
    return list(found.values())


def _words(rule: str, sizes: Sequence[int], spare: int) -> str:
    several = sorted(set(sizes))
    if len(several) == 1 and rule != _WHOLE:
        text = trn("one set of {size}", "{n} sets of {size}", len(sizes)).format(n=len(sizes), size=sizes[0])
    elif len(sizes) == 1:
        text = tr("one set of {size}").format(size=sizes[0])
    else:
        text = tr("sets of {sizes}").format(sizes=all_of(map(str, sizes)))
    return tr("{sets}, {n} spare").format(sets=text, n=spare) if spare else text
