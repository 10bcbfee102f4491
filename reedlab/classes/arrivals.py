"""A file that a pupil hands in, judged when it arrives: it counts, or what is wrong, and what to tell the pupil."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

from ..analysis.together.parts import read_part
from ..errors import ExchangeError, InputError
from ..rows.structure import read_json
from ..wording import tr
from .class_plan import ClassPlan, misfits
from .hand_in import CODE, SHARE_FORMAT, Shared, is_sealed, read_shared

__all__ = ["KINDS", "Arrival", "judge"]

#: What may be wrong with a file, in a few words for the teacher.
KINDS: Final = {
    "": "", "broken": tr("cannot be opened"), "altered": tr("was changed after it was made"),
    "empty": tr("holds no ratings"), "unfinished": tr("the trial was not over"),
    "other_question": tr("another question"), "other_plan": tr("another plan"),
    "doubled": tr("the same trial came before"), "twice": tr("a second file of this pupil"),
    "page": tr("entries of a pupil's page, not read in yet"),
    "too_little": tr("too few ratings to compare the two ways"),
}
_PAGE_FORMAT: Final = "reedlab page entries"  # what the page of one file hands back


@dataclass(frozen=True)
class Arrival:
    """One file: its name, what is wrong with it (`kind`, "" where it counts), and the pupil's code if it can be read.

    `more` says what exactly, for the teacher; `tell` is the sentence to send to the pupil.
    """

    file: str
    kind: str
    code: str | None = None
    more: str = ""
    tell: str = ""
    shared: Shared | None = None
    seal: str = ""

    @property
    def counts(self) -> bool:
        """Whether it can be put together with the others."""
        return not self.kind

    @property
    def wrong(self) -> str:
        """What is wrong in a few words; "" where nothing is."""
        return KINDS[self.kind] + (f" ({self.more})" if self.more else "")


def judge(name: str, content: bytes, plans: Sequence[ClassPlan] = (), before: Sequence[Arrival] = ()) -> Arrival:
    """Judge one file that was handed in.

    Parameters
    ----------
    name : str
        The file's.
    content : bytes
    plans : sequence of ClassPlan
        The class's; it has to follow one of them. None: the file is judged by itself.
    before : sequence of Arrival
        Those that came before it, in order.
    """
    found = _read(content)
    found = replace(found, file=name, tell=found.tell.format(name=name))
    if found.shared is None:
        return found
    same = next((a for a in before if a.seal == found.seal), None)
    if same is not None:
        return replace(found, kind="doubled", more=same.file,
                       tell=tr("I have this very file of yours already. There is nothing more to do."))
    twin = next((a for a in before if a.shared is not None and a.shared.fingerprint == found.shared.fingerprint
                 and a.code != found.code), None)
    if twin is not None:
        return replace(found, kind="doubled", more=f"as {twin.code}",
                       tell=tr("The same trial came as {code} and as {code2}. Which of the two codes is yours?").format(
                                code=twin.code, code2=found.code))
    if found.kind:
        return found
    off = _off(found, plans)
    if off is not None:
        return off
    first = next((a for a in before if a.code == found.code and a.counts), None)
    if first is not None:
        return replace(found, kind="twice", more=f"{first.file} counts",
                       tell=tr("Two files that differ came as {code}. Which one should count? Until you tell me, "
                               "the first does.").format(code=found.code))
    return found


def _off(found: Arrival, plans: Sequence[ClassPlan]) -> Arrival | None:
    """Return what to say where a trial follows none of the plans."""
    if not plans or found.shared is None:
        return None
    own = found.shared.protocol
    plan = min(plans, key=lambda p: len(misfits(p, own)))
    wrong = misfits(plan, own)
    if not wrong:
        return None
    if plan.question != own.question or {h.key for h in plan.habits} != {h.key for h in own.habits}:
        return replace(found, kind="other_question",
                       tell=tr("Your file answers another question. Ours is: {ask} Please hand in that trial.").format(
                                ask=plan.ask))
    return replace(found, kind="other_plan", more="; ".join(wrong), tell=(
        tr("Your trial does not follow our plan: {names}. Please tell me which plan you used.").format(
            names='; '.join(wrong))))


@lru_cache(maxsize=512)
def _read(content: bytes) -> Arrival:
    """Read a file and judge it by itself; `tell` holds a place for the file's name."""
    seal = hashlib.sha256(content).hexdigest()
    broken = Arrival("", "broken", seal=seal, tell=tr("I cannot open your file {name}. Please write it once more "
                                                      "with “Write my file”, and send it just as it is."))
    try:
        raw = read_json(content.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return broken
    if isinstance(raw, dict) and raw.get("format") == _PAGE_FORMAT:
        return Arrival("", "page", seal=seal, more=tr("read it in under “Pupils without a logbook”"))
    if not isinstance(raw, dict) or raw.get("format") != SHARE_FORMAT:
        return broken
    said = raw.get("code")
    code = said if isinstance(said, str) and CODE.fullmatch(said) else None  # anything else is no pupil of ours
    if not is_sealed(raw):
        return Arrival("", "altered", code, seal=seal,
                tell=tr("Your file was changed after it was made, so I cannot use it. Please write it once "
                        "more, and send it without a change."))
    try:
        shared = read_shared(raw)
    except ExchangeError as err:
        return replace(broken, code=code, more=str(err.faults[0]))
    sat = shared.frames.sittings
    if not sat[shared.protocol.rating].notna().any():
        return Arrival("", "empty", shared.code, shared=shared, seal=seal,
                tell=tr("Your file holds no ratings. Did you choose the right trial? Please look, and hand in "
                        "once more."))
    try:
        part = read_part(shared.code, shared.code, shared.protocol, shared.frames, today=shared.today)
    except InputError:
        return Arrival("", "unfinished", shared.code, shared=shared, seal=seal,
                tell=tr("Your trial was not over when you handed it in. Please play it to its end, then hand "
                        "in once more."))
    if not len(part.is_b):
        return Arrival("", "too_little", shared.code, shared=shared, seal=seal,
                tell=tr("Thank you for your file. It has too few ratings to compare the two ways, so it cannot "
                        "count."))
    return Arrival("", "", shared.code, shared=shared, seal=seal)
