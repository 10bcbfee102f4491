"""What the player took each reed for, and whether that shows that the hiding failed."""

from __future__ import annotations

from ...trial.result import Guessed, Guesses
from ...wording import tr
from .. import numbers
from ..case import Case

__all__ = ["guess_sentences", "hidden_sentence", "knew"]

_NOT = {
    "skipped": tr("You skipped the guess at which reed had which way, so no one can say how well it was hidden."),
    "not_asked": tr("You were not asked to guess which reed had which way, so no one can say how well it was hidden."),
    "opened_early": tr("You were not asked to guess which reed had which way, for the answer was opened early."),
    "not_reeds": tr("You were not asked to guess which way was which: weeks later, no one can say that of "
                    "single days."),
    "two_reeds": tr("You were not asked to guess which reed was which: weeks later, no one can say that of single "
                    "days."),
}


def knew(guesses: Guesses | None) -> bool:
    """Whether the guesses show, for one habit at least, that the player could tell, and no mere lean."""
    if guesses is None:
        return False
    told = [g for g in guesses.habits if g is not None]
    return any(g.low > 0 for g in told) and not any(g.high < 0 for g in told)


def hidden_sentence(case: Case) -> str:
    """Return how likely a lean is where a helper hid which was which."""
    if knew(case.result.guesses):
        return tr("A helper hid which was which, but by your guesses you could tell, so such a lean is possible.")
    return tr("A helper hid which was which, so such a lean is less likely.")


def guess_sentences(case: Case) -> list[str]:
    """Return what was guessed and what it shows, beside what was expected; empty where nothing was hidden."""
    found = case.result.guesses
    if found is None or case.main is None:
        return []
    if found.asked != "guessed":
        return [_NOT["two_reeds" if case.plan.two_reeds and found.asked == "not_reeds" else found.asked]]
    told = [(side, g) for side, g in zip("AB", found.habits, strict=True) if g is not None]
    said = [tr("After the end, before the answer, you guessed which way each reed had first.")
            if case.plan.crossover else
            tr("After the end, before the answer, you guessed which way each reed had.")]
    for i, (side, g) in enumerate(told):
        said += [_counts(case, side, g), _score(g, first=i == 0)]
    return [*said, *_shows(case, found, [g for _, g in told]), _expected(case)]


def _counts(case: Case, side: str, g: Guessed) -> str:
    n = g.right + g.wrong + g.unsure
    right, wrong = g.right or tr("none"), g.wrong or tr("none")
    said = tr("Of {reeds} with {name}, you guessed {right} right and {wrong} wrong.")
    if case.plan.crossover:
        return tr("Of {reeds} that began with {name}, you guessed {right} right and {wrong} wrong, and of {unsure} you "
                  "could not say.").format(reeds=numbers.count(n, "reed"), name=case.name(side), right=right,
                                           wrong=wrong, unsure=g.unsure or tr("none"))
    if g.unsure:
        said = tr("Of {reeds} with {name}, you guessed {right} right and {wrong} wrong, and of {unsure} you could not "
                  "say.")
    return said.format(reeds=numbers.count(n, "reed"), name=case.name(side), right=right, wrong=wrong,
                       unsure=g.unsure)


def _score(g: Guessed, *, first: bool) -> str:
    at, low, high = (numbers.rounded(x, 0.1, (0,)).replace("-", "−") for x in (g.index, g.low, g.high))
    if not first:
        return tr("Here that number is {at}; it could be from {low} to {high}.").format(at=at, low=low, high=high)
    return tr("As a number from −1 (all wrong) to 1 (all right), with 0 for the toss of a coin, that is {at}; it could "
              "be from {low} to {high}.").format(at=at, low=low, high=high)


def _shows(case: Case, found: Guesses, told: list[Guessed]) -> list[str]:
    if any(g.low > 0 for g in told) and any(g.high < 0 for g in told):
        a = found.habits[0]
        lean = "A" if a is not None and a.low > 0 else "B"
        return [tr("You took most reeds for {name}, whichever way they had: that is a lean, not knowing.").format(
                    name=case.name(lean))]
    if knew(found):
        return [tr("So you could tell, at least in part, and hope may have lifted a rating."),
                tr("Or some reeds just played as you had thought that way would.")]
    return [tr("So nothing shows that you could tell, though with few reeds much can be missed.")]


def _expected(case: Case) -> str:
    plan = case.plan
    if plan.expected == "same":
        return tr("Before the start you had expected no difference.")
    if plan.expected in {h.key for h in plan.habits}:
        return tr("Before the start you had expected {name_of} to do better.").format(
                   name_of=case.name_of(plan.expected))
    return tr("You did not say before the start what you expected.")
