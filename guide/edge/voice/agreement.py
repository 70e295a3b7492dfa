"""Whether what the recognisers heard is enough to go on, to ask, to have it said again, or to take no notice.

Passes are compared by meaning, never by words or by an engine's own confidence: measured, no score of one engine keeps
silent errors below half a percent, and passes of one engine share their errors. Two engines do not. What the check
expects plays no part; what its display can show does, and how many decimals it shows.
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from guide.core.intent import Command, Do, Expecting, Pick, Say, Unclear, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange, Source
from guide.core.words.forms import ONES, TEENS, TENS
from guide.core.words.limits import display_digit
from guide.core.words.spoken import amount_in
from guide.core.words.tokens import tokens
from guide.core.words.understanding import understand
from guide.edge.voice.talk import is_sentence, took_talk

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
    guessed: bool = False  # whether a word of its number was made out of bent sounds


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


FREE = "neural"  # the engine that knows no grammar; its words are bent to the question
SURE_BENT = 0.12
LIKELY_BENT = 0.2
_VOTES: Mapping[By, float] = {By.NARROW: 1.0, By.YES_NO: 1.0, By.TALK: 0.8, By.SLOW: 0.7, By.FAST: 1.1}
LEAST_VOTES = 1.4  # of the slow and the fast pass: where both mean the same, that is more often right than not
# What the free engine says for a meaning, by how far its writing is bent to that; more where the figures stand as
# written and only a unit is bent (`185 millimeters`: that outweighs three passes of one mind), more again where nothing
# is. Chosen with the votes of the passes on 411 clips of two tuning seeds where the engines differed, but the figures':
# there 1.6 was chosen, and a written figure would no longer have outweighed three passes.
_BENT_VOTES, _BENT_LOSES, _FIGURES_VOTES, _EXACT_VOTES = 2.0, 9.0, 2.2, 1.2
FURTHEST_BENT = _BENT_VOTES / _BENT_LOSES  # has no vote any more
_TEENS = frozenset(TEENS[3:])  # thirteen and on
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
    return _answering(_agreed(heard, expecting) or _likeliest(heard, hypotheses), expecting)


def _answering(judged: Judged, expecting: Expecting) -> Judged:
    """Return `judged`, but for a yes or no where a reading is asked for: `o l` is heard as `oh, no` by every engine,
    and a late yes is said to what has gone on by itself."""
    if expecting.measure is None or not expecting.measure.takes_a_reading:
        return judged
    match meaning(judged.text, expecting):
        case ("command", Command.NO):
            return Judged(Outcome.AGAIN)
        case ("command", Command.YES):
            return Judged(Outcome.IGNORE)
    return judged


def of_one_mind(hypotheses: Sequence[Hypothesis], expecting: Expecting) -> bool:
    """Tell whether every pass of the engines that know the grammar hears the same reading: one more adds nothing."""
    meant = {meaning(h.text, expecting) for h in hypotheses if h.engine != FREE}
    return len(meant) == 1 and None not in meant and not any(_acts_at_once(m) for m in meant)


def _agreed(heard: Sequence[_Heard], expecting: Expecting) -> Judged | None:
    """AGREED where the first choices of two engines mean the same."""
    first: dict[str, _Heard] = {}
    for h in heard:
        # A bent unit is a unit still; a bent figure may be one made out of a unit (`point two volts`, `two eight`).
        if h.of.by is By.NARROW and h.of.bent <= SURE_BENT and not h.of.guessed:
            first.setdefault(h.of.engine, h)
    for engine, mine in first.items():
        others = [o for e, o in first.items() if e != engine and o.meaning == mine.meaning]
        if others and mine.of.engine != FREE:
            bent = all(o.of.bent > 0 for o in others)
            lost = bent and (_lost_digits(mine.of.text, expecting) or _lost_unit(mine.of.text, expecting))
            unsure = lost or has_a_twin(mine.of.text)
            return Judged(Outcome.HEARD if unsure else Outcome.AGREED, mine.of.text)
    free = first.get(FREE)
    if free is not None and free.of.bent == 0 and _with_words(free.meaning):
        return Judged(Outcome.AGREED, free.of.text)
    return None


def has_a_twin(text: str) -> bool:
    """Tell whether a number sounds so like another one that engines which share nothing mishear it alike.

    `sixteen` and `sixty`; `oh` after a t is `two` (`point oh three`, `eight oh`). Every agreed wrong value of some
    1,200 tuning clips was of these kinds.
    """
    for word, after in pairwise([*text.split(), ""]):
        if word in _TEENS or (word in TENS and after not in ONES[1:]):
            return True
        if word in ("point", "eight") and after in ("two", "oh"):
            return True
    return False


def _with_words(meant: Meaning) -> bool:
    return isinstance(meant, tuple) and meant[0] == "command" and meant[1] in _WITH_WORDS


def _lost_unit(text: str, expecting: Expecting) -> bool:
    """Tell whether a number stands alone where a prefix is often said: what was bent away beside it may have been one
    (`one point three meg`). In diode mode and continuity bare figures are the rule and no prefix changes them."""
    amount = amount_in(tokens(text))
    bare = amount is not None and not amount.unit and not amount.prefix
    return bare and expecting.measure not in (Measure.DIODE, Measure.CONTINUITY)


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
    """HEARD for the meaning with most votes, AGAIN where it has too few, IGNORE for talk."""
    votes = _votes(heard)
    if not votes:
        return Judged(Outcome.IGNORE)
    best = max(votes, key=lambda m: votes[m])
    for_it = [h.of for h in heard if h.meaning == best]
    exact = any(h.engine == FREE and h.bent == 0 for h in for_it)
    if not exact and _talk(hypotheses, for_it):
        return Judged(Outcome.IGNORE)
    if _acts_at_once(best):
        return _word(for_it, hypotheses, votes[best])
    return Judged(Outcome.HEARD, for_it[0].text) if votes[best] >= LEAST_VOTES else Judged(Outcome.AGAIN)


def _votes(heard: Sequence[_Heard]) -> dict[Meaning, float]:
    """Count the first choice of each pass, and the free engine's for every way its words can be bent."""
    votes: dict[Meaning, float] = {}
    counted: set[tuple[str, By, Meaning]] = set()
    for h in heard:
        free = h.of.engine == FREE
        key = (h.of.engine, h.of.by, h.meaning if free else None)
        if key not in counted:
            counted.add(key)
            votes[h.meaning] = votes.get(h.meaning, 0.0) + (_free_votes(h) if free else _VOTES[h.of.by])
    return votes


def _free_votes(heard: _Heard) -> float:
    votes = max(0.0, _BENT_VOTES - _BENT_LOSES * heard.of.bent)
    if _figures_stand(heard):
        votes += _FIGURES_VOTES
    return votes + _EXACT_VOTES if heard.of.bent == 0 else votes


def _figures_stand(heard: _Heard) -> bool:
    """Tell whether a reading's figures are as the engine wrote them, whatever became of its unit."""
    return not heard.of.guessed and not _acts_at_once(heard.meaning)


def _word(for_it: Sequence[Hypothesis], hypotheses: Sequence[Hypothesis], votes: float) -> Judged:
    """Words and commands are not read back: an unbent transcript, or every pass of a full set, has to say them."""
    passes = {(h.engine, h.by) for h in hypotheses if h.engine != FREE}
    agreeing = {(h.engine, h.by) for h in for_it if h.engine != FREE}
    exact = any(h.engine == FREE and h.bent == 0 for h in for_it)
    if exact and agreeing:
        return Judged(Outcome.AGREED, for_it[0].text)
    if exact or (len(passes) > 2 and agreeing == passes):
        return Judged(Outcome.HEARD, for_it[0].text)
    return Judged(Outcome.AGAIN if votes >= LEAST_VOTES else Outcome.IGNORE)


def _talk(hypotheses: Sequence[Hypothesis], for_it: Sequence[Hypothesis]) -> bool:
    """Tell whether it was talk: a sentence to the ear that hears all words, and to the grammar that takes talk.

    The narrow grammars can be of one mind about talk too: `fifty seven millivolts`, at every speed.
    """
    free = [h for h in hypotheses if h.engine == FREE]
    takes = [h for h in hypotheses if h.by is By.TALK]
    if any(h.engine == FREE and h.bent <= LIKELY_BENT for h in for_it) or any(h.by is By.TALK for h in for_it):
        return False
    if free and not is_sentence(free[0].written):
        return False
    return any(took_talk(h.text) for h in takes) if takes else bool(free)


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
