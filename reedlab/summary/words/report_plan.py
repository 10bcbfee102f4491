"""The full report, before the result: items 1 to 12 and 23 to 25 of the reporting list, in our own words."""

from __future__ import annotations

from .. import numbers
from ..case import Case, long_date
from .guesses import guess_sentences
from .ranges import Range
from .remarks.on_the_way import EVENED

__all__ = ["analysed", "dealt", "dealt_by_whom", "design", "frozen", "hidden", "how_many", "masked", "measured",
           "money", "question", "registered", "title", "ways", "who"]

_MEASURED = {
    "rating": "The overall rating of a reed, from 0 to 10",
    "response": "The rating of response, from 0 to 10",
    "tone": "The rating of tone, from 0 to 10",
    "stiffness": "How far the stiffness is from just right, in steps from 0 to 3",
    "wear": "How fast the rating of a reed falls with its playing hours",
    "life": "The playing hours until a reed is worn out",
    "good": "The playing hours until a reed is no longer good",
}
_ONE_NUMBER = {
    "reed": "Each reed is turned into one number", "sitting": "Each reed of a day is turned into one number",
    "diagonal": "Each pair of ratings (two reeds, two days) is turned into one number",
}


def title(case: Case) -> str:
    """Item 1: what kind of trial this is."""
    if case.is_diary:
        return "An old diary of one player, read afterwards. It was not shuffled, so it is no trial."
    if case.two_boxes:
        return "A trial by one player of the reeds of two boxes, drawn and ordered by chance each day."
    return "A trial by one player on that player's own reeds, with the two ways shuffled."


def question(case: Case) -> str:
    """Item 2: the question, why one player, and what the player expected."""
    plan = case.plan
    said = [f"The question: {' '.join(plan.ask.split())}",
            "Reeds, mouthpieces and players differ. So an answer for you has to come from your own reeds."]
    if plan.expected == "same":
        said.append("Before the start, you expected no gap.")
    elif plan.expected in {h.key for h in plan.habits}:
        said.append(f"Before the start, you expected {case.name_of(plan.expected)} to do better.")
    else:
        said.append("You did not say before the start what you expected.")
    return " ".join(said)


def design(case: Case) -> str:
    """Item 3: the design, its length, and changes after the start."""
    plan = case.plan
    if case.is_diary:
        return "There was no plan. The days and reeds are grouped as they came."
    sets = case.sets(len({u.block for u in plan.units}))
    n = plan.arms.count("A"), plan.arms.count("B")
    if plan.design == "day_by_day":
        said = ["Day by day: each reed serves both ways, on different days.",
                "The effect of a way is taken to be gone by the next day."]
        if case.two_boxes:
            said = ["Day by day: chance draws a reed from each of two boxes, and which of the two is played first."]
    else:
        said = ["Reed by reed: each reed keeps to one way from start to end."]
    said.append(f"There are {sets}, with {case.counted_units(n[0])} for {case.name('A')} and "
                f"{case.counted_units(n[1])} for {case.name('B')}.")
    said.append("It runs until every reed is done." if case.until_done
                else f"It is planned for {numbers.count(plan.days, 'day')}.")
    said.append("The plan can't be changed after the start.")
    return " ".join(said)


def who(case: Case) -> str:
    """Item 4: the player, the reeds, the place, and whether anyone had to agree."""
    plan = case.plan
    setup = f" on one set-up ({plan.setup})" if plan.setup else ""
    return (f"One player, {plan.instrument}{setup}, with {numbers.count(len(plan.reeds), 'reed')}: "
            f"{', '.join(plan.reeds)}. Ratings were made in your normal practice. Leave to run it: not "
            "applicable, as you tried habits on your own reeds.")


def ways(case: Case) -> str:
    """Item 5: the two ways, and how far they were kept to."""
    said = []
    for habit, side in zip(case.plan.habits, "AB", strict=True):
        steps = " ".join(habit.steps.split()).rstrip(".")
        name = case.plain_name(side)
        said.append(f"{name[:1].upper()}{name[1:]}" + (f": {steps}." if steps else "."))
    share = case.result.progress.as_planned_share
    if share is not None and share == share and not case.is_diary:
        done = "every sitting" if share == 1 else f"{numbers.share(share)} sittings"
        said.append(f"Where you wrote down which way you used, {done} went as planned.")
    return " ".join(said)


def measured(case: Case) -> str:
    """Item 6: the one outcome, its scale or rule, and what matters."""
    plan = case.plan
    said = [f"{_MEASURED[case.kind]}. This alone carries the answer."]
    if case.kind not in ("life", "good", "stiffness"):
        said.append("The scale: " + ", ".join(f"{at} {words}" for at, words in plan.scale) + ".")
    if case.kind == "life":
        said.append("A reed is worn out when you say so." if plan.worn_out_rule == "player" else
                    f"A reed is worn out after {plan.in_a_row} ratings running below "
                    f"{numbers.rounded(plan.worn_out_below)}.")
    if case.kind == "good":
        said.append(f"A reed is no longer good after {plan.in_a_row} ratings running below "
                    f"{numbers.rounded(plan.good_below)}.")
    if case.is_ratio:
        said.append("Reeds that broke, were lost or went on count up to their last hour.")
        if plan.cap_hours is not None:
            said.append(f"No reed is played past {numbers.hours(plan.cap_hours)}.")
    if not case.is_diary:
        said.append(f"Before the start you said that {case.matters_text} would matter.")
    return " ".join(said)


def how_many(case: Case) -> str:
    """Item 7: how the size was chosen, and the rule for stopping."""
    if case.is_diary:
        return "Not applicable: nothing was planned."
    said = ["The plan used the reeds, the time and the playing that you had."]
    if case.main is not None:
        gave = "it could give" if case.main.events is None else "its worn-out reeds could give"
        said.append(f"The clearest result {gave} would come up by shuffling alone "
                    f"{numbers.chance(case.main.least_p)}.")
    said.append("The answer stays sealed to the end. An early look may name a winner only if shuffling alone "
                "would do it at most 1 time in 1,000, and each look makes the final test stricter.")
    said.append(f"Early looks so far: {case.result.looks}.")
    return " ".join(said)


def dealt(case: Case) -> str:
    """Item 8: how the two ways were dealt."""
    plan = case.plan
    if plan.how_dealt == "not":
        return "Nothing was dealt by chance."
    if plan.how_dealt == "by hand":
        return ("Dealt by hand, outside reedlab. It is read as a fair shuffle: within each matched set, the same "
                "number for each way.")
    if case.two_boxes:
        return ("A reed belongs to its box, so no way was dealt to it. Each day chance drew one reed or more of each "
                "box, and which of a draw is played first.")
    seed = f" from the seed {plan.seed}" if plan.seed is not None else ""
    return (f"Dealt by computer{seed}: within each matched set, the same number for each way, every deal as "
            "likely as any other.")


def hidden(case: Case) -> str:
    """Item 9: whether the deal could be steered before the start."""
    if case.plan.how_dealt == "seed":
        return ("The reeds and their matched sets were fixed first, and the computer dealt last, in one go. "
                "Someone who drew up the plan again and again could still pick a deal. The log keeps only the one "
                "started.")
    if case.plan.how_dealt == "by hand":
        return "Not known: the deal was made by hand."
    return "Not applicable: nothing was dealt."


def dealt_by_whom(case: Case) -> str:
    """Item 10: who did what."""
    if case.plan.how_dealt == "not":
        return "Not applicable: nothing was dealt."
    by = "The computer" if case.plan.how_dealt == "seed" else "You or a helper"
    return f"{by} dealt. You chose the reeds before and carried out both ways after."


def masked(case: Case) -> str:
    """Item 11: who knew which way was which."""
    if case.plan.masked == "helper":
        return " ".join(["A helper hid which way was which, as far as that could be done.", *guess_sentences(case)])
    return "Nothing was hidden. You knew which way was which when you rated."


def analysed(case: Case) -> str:
    """Item 12: the reckoning."""
    plan = case.plan
    said = [f"{_ONE_NUMBER[plan.unit_kind]}, worked out without looking at the ways."]
    if plan.adjust:
        named = [EVENED.get(a, a) for a in plan.adjust]
        said.append(f"Evened out on the way: {' and '.join(', '.join(named).rsplit(', ', 1))}.")
    if case.is_diary:
        said.append("No chance and no range are told, as nothing was shuffled.")
        return " ".join(said)
    said.append("Then the order within each draw is dealt again in every manner (or in a large sample of them), and "
                "one counts how often that gives a gap as large." if case.two_boxes else
                "Then the two ways are dealt again in every manner that the plan allowed (or in a large sample of "
                "them), and one counts how often that gives a gap as large.")
    said.append("The range holds all true gaps that this test would not rule out.")
    level = "90 in 100" if case.main is None else Range.of_sameness(case.main).out_of
    said.append(f"The two ways are called alike only if the {level} range lies wholly inside what would not matter.")
    said.append("Read beside it: by what you really did"
                + (", with breakage counted as an end" if case.is_ratio else "")
                + ", and by other tests. These decide nothing.")
    return " ".join(said)


def registered(case: Case) -> str:
    """Item 23: the register."""
    return ("Not applicable: a player's own trial stands in no public register. In its place, the plan was frozen "
            f"at its start on {long_date(case.plan.start)}.")


def frozen(case: Case) -> str:
    """Item 24: where the plan can be read."""
    return ("The whole plan stands in your logbook; exporting the logbook writes it out. Its fingerprint: "
            f"{case.result.protocol_sha256}.")


def money(case: Case) -> str:
    """Item 25: who paid."""
    return "Not asked. If someone gave reeds or money for this trial, add it here by hand."
