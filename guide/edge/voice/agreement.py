"""Whether what the recognisers heard is enough to go on, to ask, to have it said again, or to take no notice.

Passes are compared by meaning, never by words or by an engine's own confidence: measured, no score of one engine keeps
silent errors below half a percent, and passes of one engine share their errors. Two engines do not. What the check
expects plays no part; what its display can show does, and how many decimals it shows.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from guide.core.forms import HEARD_UNITS, NUMBER_WORDS
from guide.core.intent import Command, Do, Expecting, Pick, Say, Unclear, Utterance
from guide.core.limits import display_digit
from guide.core.meter import HANDHELD
from guide.core.reading import Measured, OverRange, Source
from guide.core.understanding import understand
from guide.edge.voice.mending import plain_words

Meaning = Hashable


class Asked(StrEnum):
    """What kind of answer is awaited."""

    ANSWER = "answer"  # a reading, a word, a command
    YES_NO = "yes or no"  # to a read-back; a reading said instead replaces it
    WORDS = "words"  # anything, as at the counter


class Outcome(StrEnum):
    """What to do with an utterance."""

    AGREED = "agreed"  # two independent engines mean the same
    HEARD = "heard"  # likely; a reading is read back and waits
    AGAIN = "again"  # an answer, but not made out
    IGNORE = "ignore"  # not meant for the tool


class By(StrEnum):
    """The passes. Those of one engine differ in what they listen for or in the speed the sound is played at."""

    NARROW = "narrow"  # speaks for its engine
    YES_NO = "yes or no"
    TALK = "talk"
    SLOW = "slow"
    FAST = "fast"


@dataclass(frozen=True, slots=True)
class Hypothesis:
    """What one pass of one engine heard; `bent`: the share of the sounds bent to fit the question, 0 where none."""

    engine: str
    by: By
    text: str
    bent: float = 0.0
    written: str = ""  # as a free engine wrote it


@dataclass(frozen=True, slots=True)
class Judged:
    """What was decided, and the words that stand for it."""

    outcome: Outcome
    text: str = ""


@dataclass(frozen=True, slots=True)
class _Heard:
    """A hypothesis that means something."""

    of: Hypothesis
    meaning: Meaning

    @property
    def votes(self) -> float:
        if self.of.engine == FREE:
            return next((v for limit, v in _BENT_VOTES if self.of.bent <= limit), 0.0)
        return _VOTES[self.of.by]


FREE = "neural"  # the engine that knows no grammar; its words are bent to the question
SURE_BENT = 0.12
LIKELY_BENT = 0.2
_MEASURED = (NUMBER_WORDS | HEARD_UNITS) - {"a", "oh", "o", "r", "k", "one", "two", "point"}
_BENT_VOTES = ((0.0, 1.6), (0.06, 1.2), (0.12, 0.8), (0.2, 0.5))
_VOTES: Mapping[By, float] = {By.NARROW: 1.0, By.YES_NO: 1.0, By.TALK: 0.8, By.SLOW: 0.7, By.FAST: 0.7}
LEAST_VOTES = 1.5
# Commands that take words after them; no grammar holds those, so the free engine's exact words are enough.
_WITH_WORDS = frozenset({Command.NOTE, Command.WHAT_IS, Command.WHAT_IF})


def meaning(text: str, expecting: Expecting) -> Meaning | None:
    """Return what `text` means as a value to compare by; None where it means nothing here."""
    if not text.strip():
        return None
    match understand(Utterance(text, Source.SPOKEN), expecting):
        case Say(Measured(quantity)):
            return ("reading", float(f"{quantity.value:.5g}"))
        case Say(OverRange()):
            return ("over range",)
        case Pick(answer):
            return ("word", answer)
        case Do(command):
            return ("command", command)
        case Unclear(candidates=named) if named:
            return ("either", frozenset(named))
    return None


def judge(hypotheses: Sequence[Hypothesis], expecting: Expecting, *, asked: Asked = Asked.ANSWER) -> Judged:
    """Return what to do with an utterance that was heard as `hypotheses`, the likelier of each engine first."""
    heard = [_Heard(h, m) for h in hypotheses if (m := meaning(h.text, expecting)) is not None]
    if asked is Asked.YES_NO:
        return _yes_or_no(heard, hypotheses, expecting)
    return _agreed(heard, expecting) or _likeliest(heard, hypotheses)


def _agreed(heard: Sequence[_Heard], expecting: Expecting) -> Judged | None:
    """AGREED where the first choices of two engines mean the same."""
    first: dict[str, _Heard] = {}
    for h in heard:
        if h.of.by is By.NARROW and h.of.bent <= SURE_BENT:
            first.setdefault(h.of.engine, h)
    for engine, mine in first.items():
        others = [o for e, o in first.items() if e != engine and o.meaning == mine.meaning]
        if others and mine.of.engine != FREE:
            lost = _lost_digits(mine.of.text, expecting) and all(o.of.bent > 0 for o in others)
            return Judged(Outcome.HEARD if lost else Outcome.AGREED, mine.of.text)
    free = first.get(FREE)
    if free is not None and free.of.bent == 0 and _with_words(free.meaning):
        return Judged(Outcome.AGREED, free.of.text)
    return None


def _with_words(meant: Meaning) -> bool:
    return isinstance(meant, tuple) and meant[0] == "command" and meant[1] in _WITH_WORDS


def _lost_digits(text: str, expecting: Expecting) -> bool:
    """Tell whether the display shows more decimals than were heard: a doubled digit is easily lost by every pass."""
    measure = expecting.measure
    if measure is None or not measure.takes_a_reading:
        return False
    meant = understand(Utterance(text, Source.SPOKEN), expecting)
    if not isinstance(meant, Say) or not isinstance(meant.reading, Measured):
        return False
    spec = expecting.spec or HANDHELD.modes[measure]
    value = meant.reading.quantity.value
    return value != 0 and meant.reading.resolution > display_digit(spec.resolution_at(value)) * 1.001


def _likeliest(heard: Sequence[_Heard], hypotheses: Sequence[Hypothesis]) -> Judged:
    """HEARD for the meaning with most votes, AGAIN where some passes agree on something, IGNORE otherwise."""
    votes: dict[Meaning, float] = {}
    counted: set[tuple[str, By]] = set()
    for h in heard:
        if (h.of.engine, h.of.by) not in counted:  # only the first choice of a pass votes
            counted.add((h.of.engine, h.of.by))
            votes[h.meaning] = votes.get(h.meaning, 0.0) + h.votes
    if not votes:
        return Judged(Outcome.IGNORE)
    best = max(votes, key=lambda m: votes[m])
    text = next(h.of.text for h in heard if h.meaning == best)
    passes = {(h.engine, h.by) for h in hypotheses if h.engine != FREE}
    agreeing = {(h.of.engine, h.of.by) for h in heard if h.meaning == best and h.of.engine != FREE}
    if _acts_at_once(best):
        every = len(passes) > 2 and agreeing == passes
        exact = any(h.meaning == best and h.of.engine == FREE and h.of.bent == 0 for h in heard)
        if exact and agreeing:
            return Judged(Outcome.AGREED, text)
        if every or exact:
            return Judged(Outcome.HEARD, text)
        return Judged(Outcome.AGAIN if votes[best] >= LEAST_VOTES else Outcome.IGNORE)
    if _talk(hypotheses):
        return Judged(Outcome.IGNORE)
    return Judged(Outcome.HEARD, text) if votes[best] >= LEAST_VOTES else Judged(Outcome.AGAIN)


def _talk(hypotheses: Sequence[Hypothesis]) -> bool:
    """Tell whether the ear that hears all words, or the grammar that takes talk, heard a sentence without a number or a
    unit: the narrow grammars can be of one mind about that too (`fifty seven millivolts`, at every speed)."""
    free = [h for h in hypotheses if h.engine == FREE]
    if free and min(h.bent for h in free) <= LIKELY_BENT:
        return False
    heard = [plain_words(h.written) for h in free] or [h.text.split() for h in hypotheses if h.by is By.TALK]
    return any(len(words) > 2 and not any(w in _MEASURED for w in words) for words in heard)


def _acts_at_once(meant: Meaning) -> bool:
    """Words and commands are not read back: they need more than a reading that is."""
    return isinstance(meant, tuple) and meant[0] in ("word", "command")


def _yes_or_no(heard: Sequence[_Heard], hypotheses: Sequence[Hypothesis], expecting: Expecting) -> Judged:
    """A yes needs every pass, and more than the yes-no grammar; a no needs less; a reading replaces.

    A reading is never AGREED here: the first one was misheard, and people repeat what was misheard.
    """
    yes, no = ("command", Command.YES), ("command", Command.NO)
    first: dict[tuple[str, By], _Heard] = {}
    for h in heard:
        first.setdefault((h.of.engine, h.of.by), h)
    passes = {(h.engine, h.by) for h in hypotheses}
    others = [h for h in first.values() if h.of.by is not By.YES_NO]
    says_yes = [h for h in first.values() if h.meaning == yes]
    says_no = [h for h in first.values() if h.meaning == no]
    if len(passes) > 1 and len(says_yes) == len(passes):
        return Judged(Outcome.AGREED, "yes")
    if says_no and any(h.of.by is not By.YES_NO for h in says_no) and len(says_no) > len(says_yes):
        return Judged(Outcome.AGREED, "no")
    judged = _agreed(others, expecting) or _likeliest(others, [h.of for h in others])
    meant = meaning(judged.text, expecting)
    if meant in (yes, no):
        return Judged(Outcome.AGAIN)
    if judged.outcome is Outcome.AGREED and not _acts_at_once(meant):
        return Judged(Outcome.HEARD, judged.text)
    return judged
