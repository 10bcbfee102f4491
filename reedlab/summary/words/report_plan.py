"""The full report, before the result: items 1 to 12 and 23 to 25 of the reporting list, in our own words."""

from __future__ import annotations

from itertools import pairwise

from ...trial.instruments import INSTRUMENT_WORDS
from ...trial.pairs import HOW
from ...wording import all_of, tr, trn
from .. import numbers
from ..case import Case, long_date
from ..dots import scatter
from ..names import of_reeds
from .guesses import guess_sentences
from .ranges import Range
from .remarks.on_the_way import EVENED
from .running import followed
from .standing import rule_sentences

__all__ = ["analysed", "dealt", "dealt_by_whom", "design", "frozen", "hidden", "how_many", "masked", "measured",
           "money", "other_tests", "question", "registered", "title", "ways", "who"]

_MEASURED = {
    "rating": tr("The overall rating of a reed, from 0 to 10"),
    "response": tr("The rating of response, from 0 to 10"),
    "tone": tr("The rating of tone, from 0 to 10"),
    "stiffness": tr("How far the stiffness is from just right, in steps from 0 to 3"),
    "pair": tr("Which of two goes at one reed was better, one straight after the other, and by how many points"),
    "reeds": tr("Which of two goes was better, one on each reed, and by how many points"),
    "wear": tr("How fast the rating of a reed falls with its playing hours"),
    "life": tr("The playing hours until a reed is worn out"),
    "good": tr("The playing hours until a reed is no longer good"),
}
_ONE_NUMBER = {
    "reed": tr("Each reed is turned into one number"), "sitting": tr("Each reed of a day is turned into one number"),
    "diagonal": tr("Each pair of ratings (two reeds, two days) is turned into one number"),
    "pair": tr("Each pair is one number, the first go over the second"),
}


def title(case: Case) -> str:
    """Item 1: what kind of trial this is."""
    if case.is_diary:
        return tr("An old diary of one player, read afterwards. It was not shuffled, so it is no trial.")
    if case.plan.of_boxes:
        return tr("A trial by one player of the reeds of two boxes, drawn and ordered by chance each day.")
    return of_reeds(case.plan, tr("A trial by one player on that player's own reeds, with the two ways shuffled."),
                    tr("A trial by one player of two reeds, tried side by side in an order set by chance."))


def question(case: Case) -> str:
    """Item 2: the question, why one player, and what the player expected."""
    plan = case.plan
    said = [tr("The question: {split}").format(split=" ".join(plan.ask.split())),
            tr("Reeds, mouthpieces and players differ. So an answer for you has to come from your own reeds.")]
    if plan.expected == "same":
        said.append(tr("Before the start, you expected no gap."))
    elif plan.expected in {h.key for h in plan.habits}:
        said.append(tr("Before the start, you expected {name_of} to do better.").format(
                        name_of=case.name_of(plan.expected)))
    else:
        said.append(tr("You did not say before the start what you expected."))
    return " ".join([*said, _before(case)])


def _before(case: Case) -> str:
    """Return what was known before: from this logbook alone."""
    again = case.remark("repeated")
    if again is not None:
        return tr("This is trial number {n} of this question in your logbook; what the earlier ones showed stands "
                  "among the remarks. Findings of others are not counted here.").format(
                      n=round(float(again.fact("number"))))
    return tr("Known before: no earlier trial of this question stands in your logbook. reedlab brings no findings of "
              "others; if you know of any, add them here by hand.")


def _wash_out(case: Case) -> str:
    """Return how long a reed rests from one way before the other, and what is done against carry-over."""
    served: dict[str, list[tuple[int, str]]] = {}
    for unit, arm in zip(case.plan.units, case.plan.arms, strict=True):
        for reed, day in unit.cells:
            served.setdefault(reed, []).append((day, arm))
    gaps = [b[0] - a[0] for days in served.values() for a, b in pairwise(sorted(days)) if a[1] != b[1]]
    least = min(gaps, default=1)
    return trn("Wash-out: from a reed's sitting with one way to its next with the other, at least {n} day. Nothing "
               "else is done, and what still works by then is not taken out.",
               "Wash-out: from a reed's sitting with one way to its next with the other, at least {n} days. Nothing "
               "else is done, and what still works by then is not taken out.", least).format(n=least)


def design(case: Case) -> str:
    """Item 3: the design, its length, and changes after the start."""
    plan = case.plan
    if case.is_diary:
        return tr("There was no plan. The days and reeds are grouped as they came.")
    sets = case.sets(len({u.block for u in plan.units}))
    n = plan.arms.count("A"), plan.arms.count("B")
    if plan.design == "day_by_day":
        said = [tr("Day by day: each reed serves both ways, on different days."),
                tr("The effect of a way is taken to be gone by the next day."), _wash_out(case)]
        if plan.pairs:
            said = [of_reeds(case.plan,
                             tr("Back to back: each reed is tried both ways within ten minutes; chance sets which "
                                "goes first."),
                             tr("Side by side: both reeds are tried within ten minutes; chance sets which goes "
                                "first.")),
                    of_reeds(case.plan, tr("The effect of a way is taken to be gone in a moment."),
                             tr("The one reed is taken to leave nothing behind for the other."))]
        if case.plan.of_boxes:
            said = [tr("Day by day: chance draws a reed from each of two boxes, and which of the two is played first.")]
    elif plan.halves is not None:
        said = [tr("A crossover by reed (AB/BA): each reed has first one way, then the other; chance sets which comes "
                   "first, and all change on day {day}.").format(day=plan.halves.first + 1),
                trn("Wash-out: the first day of each half is not counted. What still works by then is not taken out; a "
                    "contrast for carry-over is told and chooses nothing.",
                    "Wash-out: the first {n} days of each half are not counted. What still works by then is not taken "
                    "out; a contrast for carry-over is told and chooses nothing.",
                    plan.effect_days).format(n=plan.effect_days)]
    else:
        said = [tr("Reed by reed: each reed keeps to one way from start to end, so no wash-out is needed.")]
    with_each = (tr("There are {sets}; {counted_units} begin with {name} and {counted_units2} with {name2}.")
                 if plan.pairs or plan.crossover else
                 tr("There are {sets}, with {counted_units} for {name} and {counted_units2} for {name2}."))
    said.append(with_each.format(
                    sets=sets, counted_units=case.counted_units(n[0]), name=case.name("A"),
                    counted_units2=case.counted_units(n[1]), name2=case.name("B")))
    said.append(tr("It goes on until it is settled: each new box is dealt as it is opened.") if plan.standing
                else tr("It runs until every reed is done.") if case.until_done
                else tr("It is planned for {days}.").format(days=numbers.count(plan.days, "day")))
    said.append(tr("The plan can't be changed after the start."))
    return " ".join(said)


def who(case: Case) -> str:
    """Item 4: the player, the reeds, the place, and whether anyone had to agree."""
    plan = case.plan
    reeds = numbers.count(len(plan.reeds), "reed")
    who = (tr("One player, {instrument} on one set-up ({setup}), with {reeds}: {names}.") if plan.setup else
           tr("One player, {instrument}, with {reeds}: {names}."))
    return " ".join([
        who.format(instrument=INSTRUMENT_WORDS[plan.instrument], setup=plan.setup, reeds=reeds,
                   names=", ".join(plan.reeds)),
        tr("Ratings were made in your normal practice. Leave to run it: not applicable, as the reeds and the player "
           "are your own.")])


def ways(case: Case) -> str:
    """Item 5: the two ways, and how far they were kept to."""
    said = []
    for habit, side in zip(case.plan.habits, "AB", strict=True):
        steps = " ".join(habit.steps.split()).rstrip(".")
        name = case.plain_name(side)
        said.append(f"{name[:1].upper()}{name[1:]}" + (f": {steps}." if steps else "."))
    return " ".join(said if case.is_diary else [*said, *followed(case)])


def measured(case: Case) -> str:
    """Item 6: the one outcome, its scale or rule, and what matters."""
    plan = case.plan
    said = [tr("{measured}. This alone carries the answer.").format(measured=_MEASURED[case.kind])]
    if case.plan.pairs:
        said.append(HOW)
    elif case.kind not in ("life", "good", "stiffness"):
        said.append(tr("The scale: {at}.").format(at=", ".join(f"{at} {words}" for at, words in plan.scale)))
    if case.kind == "life":
        said.append(tr("A reed is worn out when you say so.") if plan.worn_out_rule == "player" else
                    tr("A reed is worn out after {in_a_row} ratings running below {rounded}.").format(
                        in_a_row=plan.in_a_row, rounded=numbers.rounded(plan.worn_out_below)))
    if case.kind == "good":
        said.append(tr("A reed is no longer good after {in_a_row} ratings running below {rounded}.").format(
                        in_a_row=plan.in_a_row, rounded=numbers.rounded(plan.good_below)))
    if case.is_ratio:
        said.append(tr("Reeds that broke, were lost or went on count up to their last hour."))
        if plan.cap_hours is not None:
            said.append(tr("No reed is played past {hours}.").format(hours=numbers.hours(plan.cap_hours)))
    if not case.is_diary:
        said.append(tr("Before the start you said that {matters_text} would matter.").format(
                        matters_text=case.matters_text))
    return " ".join([*said, *_repeats(case)])


def _repeats(case: Case) -> list[str]:
    """Return what is known of how well the ratings repeat."""
    if case.plan.card.lives:
        return []
    spread = scatter(case) if case.main is not None else float("nan")
    if case.plan.pairs:
        said = of_reeds(case.plan, tr("Answers about one reed in one order were spread by {size} here."),
                        tr("Answers in one order were spread by {size} here, changes of the reeds from day to day "
                           "among them."))
        return [] if spread != spread else [said.format(size=numbers.size(spread, case.noun))]
    own = [] if spread != spread else [
        tr("Ratings of one reed with one way were spread by {size} here, changes from day to day among them.").format(
            size=numbers.size(spread, case.noun))]
    return [*own, tr("How well a rating repeats by itself no trial can tell; the page Know your ear can.")]


def how_many(case: Case) -> str:
    """Item 7: how the size was chosen, and the rule for stopping."""
    if case.is_diary:
        return tr("Not applicable: nothing was planned.")
    if case.plan.standing:
        return tr("No size was fixed: boxes are taken in until the odds settle it, or the player ends it. The odds may "
                  "be read on any day, with nothing to pay.")
    said = [tr("The plan used the reeds, the time and the playing that you had.")]
    if case.main is not None:
        gave = tr("it could give") if case.main.events is None else tr("its worn-out reeds could give")
        said.append(tr("The clearest result {gave} would come up by shuffling alone {chance}.").format(
                        gave=gave, chance=numbers.chance(case.main.least_p)))
    if case.plan.read_early:
        said += rule_sentences(case)
    else:
        said.append(tr("The answer stays sealed to the end. An early look may name a winner only if shuffling alone "
                       "would do it at most 1 time in 1,000, and each look makes the final test stricter."))
    said.append(tr("Early looks so far: {looks}.").format(looks=case.result.looks))
    return " ".join(said)


def dealt(case: Case) -> str:
    """Item 8: how the two ways were dealt."""
    plan = case.plan
    if plan.how_dealt == "not":
        return tr("Nothing was dealt by chance.")
    if plan.how_dealt == "by hand":
        return tr("Dealt by hand, outside reedlab. It is read as a fair shuffle: within each matched set, the same "
                  "number for each way.")
    if case.plan.of_boxes:
        return tr("A reed belongs to its box, so no way was dealt to it. Each day chance drew one reed or more of each "
                  "box, and which of a draw is played first.")
    said = (of_reeds(case.plan,
                     tr("Dealt by computer: within each matched set, the same number for each way, every deal as "
                        "likely as any other."),
                     tr("Dealt by computer: within each set of pairs, as many begin with each reed, every deal as "
                        "likely as any other.")) if plan.seed is None else
            of_reeds(case.plan,
                     tr("Dealt by computer from the seed {seed}: within each matched set, the same number for each "
                        "way, every deal as likely as any other."),
                     tr("Dealt by computer from the seed {seed}: within each set of pairs, as many begin with each "
                        "reed, every deal as likely as any other.")))
    where = [] if case.main is None else [of_reeds(case.plan,
            tr("What each got stands in the table of the order of the ways."),
            tr("Which reed began stands in the table of the order, with every value."))]
    return " ".join([said.format(seed=plan.seed), *where])


def hidden(case: Case) -> str:
    """Item 9: whether the deal could be steered before the start."""
    if case.plan.standing:
        return tr("The seed was frozen with the plan, before any box was opened, and deals each box from it. Which "
                  "reeds of a box are dealt was fixed before their ways were known.")
    if case.plan.how_dealt == "seed":
        return tr("The reeds and their matched sets were fixed first, and the computer dealt last, in one go. Someone "
                  "who drew up the plan again and again could still pick a deal. The log keeps only the one started.")
    if case.plan.how_dealt == "by hand":
        return tr("Not known: the deal was made by hand.")
    return tr("Not applicable: nothing was dealt.")


def dealt_by_whom(case: Case) -> str:
    """Item 10: who did what."""
    if case.plan.how_dealt == "not":
        return tr("Not applicable: nothing was dealt.")
    return (of_reeds(case.plan, tr("The computer dealt. You chose the reeds before and carried out both ways after."),
                     tr("The computer dealt. You chose the two reeds before and played both after."))
            if case.plan.how_dealt == "seed" else
            tr("You or a helper dealt. You chose the reeds before and carried out both ways after."))


def masked(case: Case) -> str:
    """Item 11: who knew which way was which."""
    if case.plan.masked == "helper":
        said = of_reeds(case.plan, tr("A helper hid which way was which, as far as that could be done."),
                        tr("A helper hid which reed was which, as far as that could be done."))
        return " ".join([said, *guess_sentences(case)])
    return of_reeds(case.plan, tr("Nothing was hidden. You knew which way was which when you rated."),
                    tr("Nothing was hidden. You knew which reed was which."))


def analysed(case: Case) -> str:
    """Item 12: the reckoning."""
    plan = case.plan
    said = [tr("Each reed is turned into one number, half of how far its mean rating in the first half lies above that "
               "in the second, worked out without looking at the ways.") if plan.crossover else
            of_reeds(case.plan, tr("{one_number}, worked out without looking at the ways."),
                     tr("{one_number}, worked out without looking at which reed began.")).format(
                one_number=_ONE_NUMBER[plan.unit_kind])]
    if plan.adjust:
        named = [EVENED.get(a, a) for a in plan.adjust]
        said.append(tr("Evened out on the way: {things}.").format(things=all_of(named)))
    if case.is_diary:
        said.append(tr("No chance and no range are told, as nothing was shuffled."))
        return " ".join(said)
    if plan.standing:
        said.append(tr("Within each box, in the order of playing hours, one asks which way the next reed had that came "
                       "to its end, and bets on it at odds that are fair if the ways are alike. The odds may be read "
                       "on any day. The range holds all ratios of lives that the same odds have never ruled out."))
        return " ".join(said)
    if plan.past_lives:
        said.append(tr("Earlier reeds of the same kind ({n}, gone before the start and written into the plan) stand "
                       "among those that could still wear out, but are never dealt. Where they lasted longer, their "
                       "hours are first shortened to fit, alike for both ways.").format(n=len(plan.past_lives)))
    said.append(tr("Then the way that comes first is dealt again in every manner that the plan allowed (or in a large "
                   "sample of them), and one counts how often that gives a gap as large.") if plan.crossover else
                tr("Then the order within each draw is dealt again in every manner (or in a large sample of them), and "
                   "one counts how often that gives a gap as large.") if case.plan.of_boxes else
                of_reeds(case.plan,
                         tr("Then the two ways are dealt again in every manner that the plan allowed (or in a large "
                            "sample of them), and one counts how often that gives a gap as large."),
                         tr("Then which reed begins is dealt again in every manner that the plan allowed (or in a "
                            "large sample of them), and one counts how often that gives a gap as large.")))
    said.append(tr("The range holds all true gaps that this test would not rule out."))
    level = tr("90 in 100") if case.main is None else Range.of_sameness(case.main).out_of
    alike = (tr("The two ways are called alike only if the {level} range lies wholly inside half of what would matter: "
                "what stays for good of a way shows only half as big here.") if plan.crossover else
             of_reeds(case.plan,
                      tr("The two ways are called alike only if the {level} range lies wholly inside what would not "
                         "matter."),
                      tr("The two reeds are called alike only if the {level} range lies wholly inside what would "
                         "not matter.")))
    said.append(alike.format(level=level))
    said.append(tr("Read beside it: by what you really did, with breakage counted as an end, and by other tests. These "
                   "decide nothing.") if case.is_ratio else
                tr("Read beside it: by what you really did, and by other tests. These decide nothing."))
    return " ".join([*said, other_tests(case)])


_OTHER_TESTS = {
    "boxes": tr("such tests do not know that only the order of each day was shuffled"),
    "lives": tr("such tests lean on many reeds coming to their end, and do not know how the ways were dealt"),
    "diagonal": tr("such tests do not know that the days were shuffled in swaps of two reeds over two days"),
    "sitting": tr("such tests do not know that the days were shuffled in pairs"),
    "pair": tr("such tests do not know that half of each set of pairs began with either way"),
    "reeds": tr("such tests do not know that each reed began half of the pairs of a set"),
    "reed": tr("such tests do not know that reeds were dealt within matched sets"),
}


def other_tests(case: Case) -> str:
    """Return why a familiar test of the same trial may come out another way."""
    kind = ("boxes" if case.plan.of_boxes else "lives" if case.is_ratio else
            "reeds" if case.plan.two_reeds else case.plan.unit_kind)
    return tr("Another test may come out a little different: {why}.").format(why=_OTHER_TESTS[kind])


def registered(case: Case) -> str:
    """Item 23: the register."""
    return tr("Not applicable: a player's own trial stands in no public register. In its place, the plan was frozen at "
              "its start on {date}.").format(date=long_date(case.plan.start))


def frozen(case: Case) -> str:
    """Item 24: where the plan can be read."""
    return tr("The whole plan stands in your logbook; exporting the logbook writes it out. Its fingerprint "
              "stands at the end.")


def money(case: Case) -> str:
    """Item 25: who paid."""
    return tr("Not asked. If someone gave reeds or money for this trial, add it here by hand.")
