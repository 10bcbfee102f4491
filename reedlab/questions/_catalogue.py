"""The questions reedlab offers. Ways and defaults are common practice unless a source is named."""

from __future__ import annotations

from types import MappingProxyType
from typing import Any, Final

from ..trial.outcomes import OUTCOMES
from ..trial.protocol import Habit
from ..wording import tr
from ._question import Question

__all__ = ["QUESTIONS", "WEARS_OFF"]

#: The outcomes of a habit that lasts, of one whose effect is gone again after days, and of one that sets the hours;
#: best first.
_LASTING: Final = ("mean_rating", "wear_rate", "good_hours", "life_hours")
WEARS_OFF: Final = (*_LASTING[:1], "crossover", *_LASTING[1:])
_HOURS: Final = ("wear_rate", "good_hours", "life_hours")
_DAMP: Final = ("sharing", "mould", "pain", "defer")
_ANY_DAY: Final = ("first_play", "day", "humidity", "order", "age_hours")
_LIFE_TRAP: Final = tr("Few reeds wear out in a few weeks. To learn about life, plan for months of playing.")
_KNOWN_TRAP: Final = tr("You know which way you use. Write down what you expect before the start.")


def _asks(question: str, outcomes: tuple[str, ...], shown: str = "", **other: str) -> dict[str, Any]:
    """Return a question as it reads for each of its outcomes, and that of `shown` (else of the first) for lists.

    What an outcome is about goes where the question has ``{do}``; `other` gives whole deeds of their own.
    """
    asks = {o: question.format(do=other.get(o, OUTCOMES[o].deed)) for o in outcomes}
    return {"ask": asks[shown or outcomes[0]], "asks": MappingProxyType(asks), "outcomes": outcomes}


QUESTIONS: Final = (
    Question(
        key="wetting",
        title=tr("Water or mouth"),
        **_asks(tr("Does a reed {do} when I wet it in water or in my mouth?"), ("day_rating", *_LASTING)),
        habits=(
            Habit("mouth", tr("wetting in the mouth"), tr("Hold the reed in your mouth for two minutes, then play.")),
            Habit("water",
                  tr("wetting in water"), tr("Dip the reed in clean water for one minute, shake it, then play.")),
        ),
        lasts=False,
        designs=("day_by_day", "reed_by_reed"),
        why=tr("How you wet a reed today is gone when it has dried, so one reed can serve both ways on different days. "
               "Wear and life build up slowly, so they are asked reed by reed."),
        traps=(
            _KNOWN_TRAP,
            tr("Let each reed dry fully before its next day."),
            tr("A new reed soaks up water soonest. If the tip looks dark and see-through, write it down."),
        ),
        no_mask=tr("You feel how the reed was wetted, whoever helps."),
        adjustments=_ANY_DAY,
    ),
    Question(
        key="rotation",
        title=tr("Rotation or one reed at a time"),
        **_asks(tr("Do reeds {do} when I take them in turn or play one until it is done?"), _HOURS, shown="life_hours"),
        habits=(
            Habit("rotation", tr("taking reeds in turn"), tr("Play the reeds of this way in turn, one a day.")),
            Habit("single", tr("one reed at a time"), tr("Play this reed every day until it is done, then the next.")),
        ),
        why=tr("A day of play changes a reed for good, so each reed keeps to one way."),
        traps=(
            tr("Count playing hours, not days. A reed played in turn lasts more days just because it rests."),
            tr("Both ways get the same minutes. Do not save the good reeds for concerts."),
            tr("Your taste may drift over the weeks. The two ways run side by side to meet this."),
            _LIFE_TRAP,
        ),
        cautions=_DAMP,
        same_days=False,
        overrides=(("rotation", "rotation_size", 4), ("single", "rotation_size", 1),
                   ("single", "rest_days", 0)),
        no_mask=tr("You see which reed you pick up."),
    ),
    Question(
        key="break_in",
        title=tr("Slow break-in or straight in"),
        **_asks(tr("Do reeds {do} when I break them in slowly or play them fully from the start?"),
                _LASTING, mean_rating=tr("play better later")),
        habits=(
            Habit("gradual", tr("a slow break-in"), tr("Play 10, 25, then 45 minutes on the first three days.")),
            Habit("straight",
                  tr("playing straight in"), tr("Play as long as you like from the first day, up to your daily "
                                                "limit.")),
        ),
        why=tr("Break-in happens once in the life of a reed, so each reed keeps to one way."),
        traps=(
            tr("Reeds must be new, with only their short first play behind them."),
            tr("Slow break-in means fewer minutes at first. Reeds are compared over the same playing hours."),
            tr("Ten reeds' break-in takes more than 13 hours. Start with a few sets at a time."),
            _KNOWN_TRAP,
        ),
        from_new=True,
        overrides=(("straight", "break_in_ramp_min", 0),),
        no_mask=tr("You know how long you play."),
    ),
    Question(
        key="drying",
        title=tr("Open drying or straight into the case"),
        **_asks(tr("Do reeds {do} when they dry in the open first or go wiped straight into an airy case?"), _LASTING),
        habits=(
            Habit("open",
                  tr("15 minutes of open drying"), tr("Wipe the reed, lay it flat side up for 15 minutes, then put "
                                                      "it in the case.")),
            Habit("straight", tr("going straight into the case"),
                  tr("Wipe the reed and put it straight into a case with air holes.")),
        ),
        why=tr("How a reed dries tonight shapes it tomorrow and later, so each reed keeps to one way."),
        traps=(
            tr("Wipe every reed, both ways. Never close a wet reed in a box without air."),
            tr("Use the same kind of case for both ways."),
            _KNOWN_TRAP,
            _LIFE_TRAP,
        ),
        cautions=_DAMP,
        overrides=(("open", "open_drying_min", 15), ("straight", "open_drying_min", 0)),
        mask=tr("A helper can put the reeds away and hand them to you by code."),
        no_mask=tr("Without a helper you know how each reed was dried."),
    ),
    Question(
        key="storage_case",
        title=tr("One case or the other"),
        **_asks(tr("Do reeds {do} when they live in my first case or in my second?"), WEARS_OFF),
        habits=(
            Habit("case_1", tr("the first case"), tr("Wipe the reed, let it dry, keep it in the first case.")),
            Habit("case_2", tr("the second case"), tr("Wipe the reed, let it dry, keep it in the second case.")),
        ),
        why=tr("A case works on the reed day and night, so each reed stays in its own case: all the time, or for half "
               "of it where what the case did is gone a few days later."),
        traps=(
            tr("Keep both cases in the same place. Else you compare two places."),
            tr("You compare these two cases as you use them, not all cases of their kind."),
            _KNOWN_TRAP,
        ),
        cautions=_DAMP,
        wears_off=4,
        mask=tr("A helper can take the reeds out and put them back."),
        no_mask=tr("Without a helper you see the case."),
    ),
    Question(
        key="humidity_control",
        title=tr("Humidity pack or none"),
        **_asks(tr("Do reeds {do} when their case holds a humidity pack or none?"), WEARS_OFF),
        habits=(
            Habit("pack", tr("a humidity pack"), tr("Wipe the reed, let it dry, keep it in the case with the pack.")),
            Habit("plain",
                  tr("no humidity pack"), tr("Wipe the reed, let it dry, keep it in the case without a pack.")),
        ),
        why=tr("The air in a case changes cane over days, so each reed keeps to one way: all the time, or for half "
               "of it where what the air did is gone a few days later."),
        traps=(
            tr("Use two cases of the same kind, one with the pack. Keep them in the same place."),
            tr("Never adjust for the air inside the case: the pack sets it. The air of the room is fine."),
            tr("The answer is for this time of year. Dry winter air may give another."),
            _KNOWN_TRAP,
        ),
        cautions=_DAMP,
        wears_off=4,
        mask=tr("A helper can take the reeds out and put them back."),
        no_mask=tr("Without a helper you see the case."),
    ),
    Question(
        key="position",
        title=tr("Place on the mouthpiece"),
        ask=tr("Does a reed play better level with the mouthpiece tip or a hair lower?"),
        habits=(
            Habit("level", tr("the reed level with the tip"), tr("Set the reed tip level with the mouthpiece tip.")),
            Habit("lower", tr("the reed a hair lower"), tr("Set the reed tip a hair below the mouthpiece tip.")),
        ),
        lasts=False,
        designs=("day_by_day",),
        why=tr("Where you set a reed is gone when you take it off, so one reed serves both ways: within ten minutes, "
               "or on different days."),
        outcomes=("day_rating", "preference"),
        traps=(
            tr("Lower acts softer, higher acts stiffer. A soft reed and a hard reed may want different places."),
            tr("Look at the tip each time. A hair is easy to lose."),
            tr("Use the same mouthpiece and ligature all the way."),
        ),
        mask=tr("A helper can set the reed and hand you the instrument."),
        no_mask=tr("Without a helper you see where the reed sits."),
        adjustments=_ANY_DAY,
    ),
    Question(
        key="ligature",
        title=tr("One ligature or the other"),
        ask=tr("Does a reed play better with the first ligature or with the second?"),
        habits=(
            Habit("ligature_1", tr("the first ligature"), tr("Put the reed on with the first ligature.")),
            Habit("ligature_2", tr("the second ligature"), tr("Put the reed on with the second ligature.")),
        ),
        lasts=False,
        designs=("day_by_day",),
        why=tr("What a ligature does is gone when you take it off, so one reed serves both: within ten minutes, or on "
               "different days."),
        outcomes=("preference", "day_rating"),
        traps=(
            tr("Set the reed in the same place both times, and the ligature on its usual line."),
            tr("Tighten both alike. A screw turned further is a change of its own."),
            tr("You compare these two as you use them, not all ligatures of their kind."),
        ),
        mask=tr("A helper can put it on and hand you the instrument. Look away, and do not feel for it."),
        no_mask=tr("Without a helper you see and feel which one it is."),
        adjustments=_ANY_DAY,
    ),
    Question(
        key="mouthpiece",
        title=tr("One mouthpiece or the other"),
        ask=tr("Does a reed play better on the first mouthpiece or on the second?"),
        habits=(
            Habit("mouthpiece_1", tr("the first mouthpiece"), tr("Put the reed on the first mouthpiece.")),
            Habit("mouthpiece_2", tr("the second mouthpiece"), tr("Put the reed on the second mouthpiece.")),
        ),
        lasts=False,
        designs=("day_by_day",),
        why=tr("What a mouthpiece does is gone when you change it, so one reed serves both: within ten minutes, or on "
               "different days."),
        outcomes=("preference", "day_rating"),
        traps=(
            tr("A reed that suits one mouthpiece may be too soft or too hard for the other. The answer is about these "
               "reeds."),
            tr("A new mouthpiece takes getting used to. Play both for a week before you start."),
            tr("Use the same ligature, and tune both before you compare."),
        ),
        no_mask=tr("You feel which mouthpiece it is, whoever helps."),
        adjustments=_ANY_DAY,
    ),
    Question(
        key="two_reeds",
        title=tr("Two reeds side by side"),
        ask=tr("Which of these two reeds plays better?"),
        habits=(
            Habit("reed_1", tr("the first reed"), tr("Play the first reed.")),
            Habit("reed_2", tr("the second reed"), tr("Play the second reed.")),
        ),
        lasts=False,
        designs=("day_by_day",),
        why=tr("You try one reed, then the other, twice a day, and each goes first once. What chance sets is which of "
               "them begins."),
        outcomes=("preference",),
        traps=(
            tr("The answer is about these two reeds, on these days. It says nothing of other reeds."),
            tr("Wet both before you start, and play the same few bars on both."),
            tr("A reed may be better today and worse next week. Try them on several days, as near to the concert as "
               "you can."),
        ),
        mask=tr("A helper can put the reed on and hand you the instrument. Look away, so that you do not see its "
                "code."),
        no_mask=tr("Without a helper you see which reed it is."),
        adjustments=(),
    ),
    Question(
        key="daily_limit",
        title=tr("Daily limit or none"),
        **_asks(tr("Do reeds {do} when each has a daily limit or none?"), _HOURS, shown="life_hours"),
        habits=(
            Habit("limit", tr("a daily limit"), tr("Change reeds when this one has had half of the day's time.")),
            Habit("open_end", tr("no daily limit"), tr("Play this reed for the whole of the day's time.")),
        ),
        why=tr("A long day of play may tire a reed for good, so each reed keeps to one way."),
        traps=(
            tr("Count playing hours, not days."),
            tr("Rate after about 5 minutes on every reed. A reed softens after some 20 minutes of one sitting."),
            tr("The limit must bite. With an hour a day it is half an hour."),
            _LIFE_TRAP,
        ),
        same_days=False,
        overrides=(("limit", "daily_limit_min", 30), ("open_end", "daily_limit_min", 720)),
        no_mask=tr("You know how long you play."),
    ),
    Question(
        key="cut_or_strength",
        title=tr("Two cuts or two strengths"),
        ask=tr("Which of these two boxes plays better for me?"),
        habits=(
            Habit("box-1", tr("reeds of box 1"), tr("Play the reed drawn from box 1.")),
            Habit("box-2", tr("reeds of box 2"), tr("Play the reed drawn from box 2.")),
        ),
        lasts=False,
        designs=("day_by_day", "reed_by_reed"),
        why=tr("A reed's cut is made at the factory: no coin can deal it. What can be drawn by chance is which reed of "
               "each box you play today, and in which order. The answer is about these boxes. To speak of the cuts you "
               "need at least four boxes of each, with one reed drawn from every box."),
        outcomes=("day_rating", "mean_rating"),
        traps=(
            tr("With one box of each cut, box and cut cannot be told apart. The answer is about the two boxes."),
            tr("Even with many boxes the cut was not dealt by chance. That answer is only a hint."),
            tr("Strength numbers compare only within one maker's line."),
            tr("Break in all the reeds of both boxes the same way first."),
        ),
        mask=tr("A helper can hand you the reed so that you do not see its code."),
        no_mask=tr("Without a helper you see which box the reed is from."),
        adjustments=(),
    ),
    Question(
        key="resting_days",
        title=tr("Rest days or every day"),
        **_asks(tr("Do reeds {do} with a day of rest between or played every day?"), _HOURS, shown="life_hours"),
        habits=(
            Habit("daily", tr("playing every day"), tr("Play this reed every day.")),
            Habit("rest", tr("a day of rest between"), tr("Play this reed one day, let it rest the next.")),
        ),
        why=tr("Rest may change how a reed ages, so each reed keeps to one way."),
        traps=(
            tr("Count playing hours, not days. A rested reed lasts more days just because it rests."),
            tr("Both ways get the same minutes."),
            tr("Your taste may drift over the weeks. The two ways run side by side to meet this."),
            _LIFE_TRAP,
        ),
        cautions=_DAMP,
        same_days=False,
        overrides=(("daily", "rest_days", 0), ("rest", "rest_days", 1)),
        no_mask=tr("You see which reed you pick up."),
    ),
    Question(
        key="rinse",
        title=tr("Wipe only or rinse and wipe"),
        **_asks(tr("Do reeds {do} when I only wipe them or rinse and wipe them after playing?"), _LASTING),
        habits=(
            Habit("rinse", tr("rinsing and wiping"), tr("Rinse the reed in clean water, wipe it, let it dry.")),
            Habit("wipe", tr("wiping only"), tr("Wipe the reed dry, let it dry in the open.")),
        ),
        why=tr("What is left on a reed or washed out of it builds up, so each reed keeps to one way."),
        traps=(
            tr("Both ways clean the reed. Leaving it dirty is never a way to test."),
            tr("Use plain water. Write down anything else: it is a habit of its own."),
            _KNOWN_TRAP,
            _LIFE_TRAP,
        ),
        cautions=("sharing", "mould", "cleaning", "pain", "defer"),
        mask=tr("A helper can clean the reeds and hand them to you by code."),
        no_mask=tr("Without a helper you know how each reed was cleaned."),
    ),
    Question(
        key="own",
        title=tr("A question of my own"),
        ask=tr("Which of my two ways is better?"),
        habits=(
            Habit("first", tr("the first way"), tr("Say in a few words what to do.")),
            Habit("second", tr("the second way"), tr("Say in a few words what to do.")),
        ),
        why=tr("Until you say that the effect is gone by the next day, each reed keeps to one way."),
        outcomes=_LASTING,
        traps=(
            tr("Change one thing only. All else stays the same for both ways."),
            tr("If you doubt that the effect is gone by the next day, say that it lasts."),
            _KNOWN_TRAP,
        ),
        cautions=("sharing", "mould", "cleaning", "dust", "pain", "defer"),
        mask=tr("A helper can hide from you what you cannot see, hear or feel."),
        no_mask=tr("Ask yourself what you would still notice."),
        source=tr("the player's own"),
    ),
)
