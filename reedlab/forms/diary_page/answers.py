"""Controls for what only the player can say of a diary: each puts its answer into the matching."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Final

import ipywidgets as w

from ...diaries.asks import Ask
from ...diaries.guess import Known
from ...diaries.matching import LEFT_OUT, NEITHER, Matching, Scale
from ...errors import ExchangeError, InputError
from ...questions import CATALOGUE
from ...rows.tables import TABLES
from ...trial.protocol import Protocol
from ...wording import tr, trn
from ..shared.fields import Number, Pick, Words, dressed, note

__all__ = ["Answer", "answer_to", "sound"]

_NEITHER: Final = " neither"  # picked, while a list's own empty value means that nothing was

_LONGEST: Final = TABLES["sittings"].field("play_min").high or 0


@dataclass(frozen=True)
class Answer:
    """The controls of one question; `put` says it in a matching, or leaves it open where nothing was typed."""

    view: w.Widget
    put: Callable[[Matching], Matching]


def answer_to(ask: Ask, matching: Matching, known: Known, trials: Mapping[str, Protocol]) -> Answer:
    """Return the controls for a question."""
    if ask.code == "scale":
        return _scale(ask)
    if ask.code == "ways":
        return _ways(ask, trials)
    if ask.code == "reeds":
        return _reeds(ask)
    if ask.options:
        return _choice(ask)
    if ask.code in ("year", "minutes"):
        return _number(ask)
    if ask.code == "box":
        control = Words(ask.text)
        control.put(ask.guess)
        return _plain(ask, control)
    return Answer(note(ask.text), lambda said: said)  # the columns are chosen above


def _choice(ask: Ask) -> Answer:
    # which way round a date is must be said, not waved through
    start = None if ask.code in ("dates", "instrument") else ask.guess
    return _plain(ask, Pick(ask.text, ask.options, start, empty=tr("choose")))


def _plain(ask: Ask, control: Pick | Words) -> Answer:
    """Return a control whose value is the answer as it stands."""
    return Answer(dressed(control, "wide"), lambda said: said if control.typed is None else said.and_(
        **{ask.code: control.typed}))


def _number(ask: Ask) -> Answer:
    control = dressed(Number(ask.text, ask.guess), "wide")

    def put(said: Matching) -> Matching:
        if control.typed is None:
            return said
        value = _as_number(control.typed, ask.text)
        if ask.code == "minutes" and not 0 <= value <= _LONGEST:
            raise InputError(tr("The minutes: wanted a number from 0 to {most:g}.").format(most=_LONGEST))
        return said.and_(**{ask.code: int(value) if ask.code == "year" else value})

    return Answer(control, put)


def _scale(ask: Ask) -> Answer:
    guess = ask.guess if isinstance(ask.guess, Scale) else Scale(0, 10)
    worst, best = Number(tr("The worst mark"), guess.worst), Number(tr("The best mark"), guess.best)
    words = {word: Number(_told(word, n), points) for word, (n, points) in ask.words.items()}
    ends = w.HBox([worst, best])
    ends.layout.display = "none" if not _has_numbers(ask) else ""
    view = w.VBox([note(ask.text), ends, *words.values()])

    def put(said: Matching) -> Matching:
        low, high = (_as_number(c.typed or "", c.description) for c in (worst, best))
        if low == high:
            raise InputError(tr("The worst and the best mark are the same."))
        points = {word: _as_number(c.typed or "", word) for word, c in words.items()}
        if any(not 0 <= p <= 10 for p in points.values()):
            raise InputError(tr("Points: wanted numbers from 0 to 10."))
        old = {} if said.scale is None else said.scale.words
        return said.and_(scale=Scale(low, high, {**old, **points}))

    return Answer(view, put)


def _has_numbers(ask: Ask) -> bool:
    return not ask.words or any(c.isdigit() for c in ask.text.partition("?")[0].replace("0 to 10", ""))


def _ways(ask: Ask, trials: Mapping[str, Protocol]) -> Answer:
    about = [(name, tuple((h.name, h.key) for h in p.habits)) for name, p in reversed(list(trials.items()))]
    about += [(q.title, tuple((h.name, h.key) for h in q.habits)) for q in CATALOGUE.values() if q.key != "own"]
    guessed = {key for _, key in ask.words.values() if key}
    start = next((n for n, (_, ways) in enumerate(about) if guessed and guessed <= {k for _, k in ways}), None)
    subject = Pick(tr("What is it about?"), [(name, n) for n, (name, _) in enumerate(about)], start, empty=tr("choose"))
    rest = [(tr("neither"), _NEITHER), (tr("leave its rows out"), LEFT_OUT)]
    picks = {word: Pick(_told(word, n), rest, empty=tr("choose")) for word, (n, _) in ask.words.items()}

    def offer(*_: object) -> None:
        ways = () if subject.typed is None else about[subject.typed][1]
        for word, pick in picks.items():
            pick.offer([*ways, *rest])
            if pick.typed is None and (key := ask.words[word][1]):
                pick.put(key)

    subject.observe(offer, "value")
    offer()
    view = w.VBox([note(ask.text), subject, *picks.values()])
    return Answer(view, lambda said: said.and_(ways={
        **said.ways, **{word: NEITHER if p.typed == _NEITHER else p.typed
                        for word, p in picks.items() if p.typed is not None}}))


def _reeds(ask: Ask) -> Answer:
    controls = {word: Words(_told(word, n)) for word, (n, _) in ask.words.items()}
    for word, control in controls.items():
        control.put(ask.words[word][1])
    view = w.VBox([note(ask.text), *controls.values()])

    def put(said: Matching) -> Matching:
        return said.and_(reeds={**said.reeds, **{
            word: c.typed for word, c in controls.items() if c.typed is not None}})

    return Answer(view, put)


def sound(said: Matching) -> Matching:
    """Return what was said if all of it has the form it must have; InputError with each thing that has not."""
    try:
        return Matching.from_json(said.to_json())
    except ExchangeError as err:
        names = {"box": tr("The box"), "minutes": tr("The minutes"), "year": tr("The year"),
                 "scale.worst": tr("The worst mark"), "scale.best": tr("The best mark")}
        told = tr("{name}: found {found}; wanted {wanted}.")
        raise InputError("\n".join(told.format(
            name=names.get(f.column or "", "“{}”".format((f.column or "").partition(".")[2] or f.column)),
            found=f.found, wanted=f.wanted) for f in err.faults)) from None


def _told(word: str, n: int) -> str:
    return trn("“{word}”, {n} time", "“{word}”, {n} times", n).format(word=word, n=n)


def _as_number(text: Any, name: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise InputError(tr("{name}: wanted a number.").format(name=name.rstrip("?"))) from None
