"""Whether what the recognisers heard is enough to go on, to ask, to have it said again, or to take no notice.

Passes are compared by meaning, never by words: measured, no score of one engine keeps silent errors below half a
percent, and passes of one engine share their errors. Two engines do not. How well each pass fits the sound weighs them
for what is asked, and settles nothing. What the check expects plays no part; what its display can show does, and how
many decimals it shows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from math import inf

from guide.core.intent import Command, Expecting, Say, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Measured, Source
from guide.core.words.forms import NUMBER_WORDS, ONES, TEENS, TENS
from guide.core.words.limits import display_digit
from guide.core.words.spoken import amount_in
from guide.core.words.tokens import tokens
from guide.core.words.understanding import understand
from guide.edge.voice.freewords import free_command
from guide.edge.voice.talk import is_sentence, may_be_talk, took_talk
from guide.edge.voice.votes import (
    FREE,
    LEAST_VOTES,
    LIKELY_BENT,
    SURE_BENT,
    By,
    Heard,
    Hypothesis,
    Meaning,
    acts_at_once,
    meaning,
    votes_of,
)


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


@dataclass(frozen=True, slots=True)
class Judged:
    """What was decided, and the words that stand for it."""

    outcome: Outcome
    text: str = ""


_TEENS = frozenset(TEENS[3:])  # thirteen and on
# Commands that are taken on less than words that answer, with the votes they need: those that do no harm where they
# were not meant, and those that are taken back with a word. One engine alone says the first with its narrow pass and
# the one for talk. Of 66 clean commands 94 % are taken so with one engine, 77 where every pass has to say them, and
# with two 98 and 92; of 66 clips of talk none, of 108 of an exclamation (`perfect`: `repeat`) four, as many as without.
_HARMLESS = frozenset(
    ("command", c)
    for c in (
        Command.HELP, Command.WHY, Command.REPEAT, Command.WHERE_ARE_WE, Command.HOLD, Command.SCRATCH_THAT,
    )
)  # fmt: skip
_TAKEN_BACK = frozenset({("command", Command.SKIP), ("command", Command.GO_BACK)})
# Of how well the answer fits, at the speed talk is heard at. Of 66 clips of talk 13 were heard as one number at every
# speed and fitted 0.89 or more as talk; of five such readings two fitted less than 0.8.
_ASTRAY = 0.8
_PASSES = 3  # a full set of one engine's
_EASY_VOTES: Mapping[Meaning, float] = {**dict.fromkeys(_HARMLESS, 1.7), **dict.fromkeys(_TAKEN_BACK, 2.6)}


def judge(hypotheses: Sequence[Hypothesis], expecting: Expecting, *, asked: Asked = Asked.ANSWER) -> Judged:
    """Return what to do with an utterance that was heard as `hypotheses`, the likelier of each engine first."""
    heard = [Heard(h, m) for h in hypotheses if (m := meaning(h.text, expecting)) is not None]
    # Before all else, and the free engine's exact words are enough: a grammar hears `no` in `note …`, and `hold` alone
    # where something follows.
    written = [h.of.text for h in heard if h.of.engine == FREE and h.of.bent == 0]
    if command := next((text for text in written if free_command(text, expecting)), ""):
        return Judged(Outcome.AGREED, command)
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
    return len(meant) == 1 and None not in meant and not any(acts_at_once(m) and m not in _HARMLESS for m in meant)


def _agreed(heard: Sequence[Heard], expecting: Expecting) -> Judged | None:
    """AGREED where the first choices of two engines mean the same."""
    first: dict[str, Heard] = {}
    for h in heard:
        # A bent unit is a unit still; a bent figure may be one made out of a unit (`point two volts`, `two eight`).
        most = LIKELY_BENT if h.meaning in _HARMLESS else SURE_BENT
        if h.of.by is By.NARROW and h.of.bent <= most and not h.of.guessed:
            first.setdefault(h.of.engine, h)
    for engine, mine in first.items():
        others = [o for e, o in first.items() if e != engine and o.meaning == mine.meaning]
        if others and mine.of.engine != FREE:
            bent = all(o.of.bent > 0 for o in others)
            lost = bent and (_lost_digits(mine.of.text, expecting) or _lost_unit(mine.of.text, expecting))
            unsure = lost or has_a_twin(mine.of.text)
            if unsure:
                return Judged(Outcome.HEARD, mine.of.text)
            return Judged(Outcome.AGREED, _surest([mine.of.text, *(o.of.text for o in others)], expecting))
    return None


def _surest(texts: Sequence[str], expecting: Expecting) -> str:
    """Return, of lines that mean the same, the one with the fewest decimals: the end of `ohms` is heard as one more
    (`five point three oh`), and would make the meter surer than it is."""

    def last_digit(text: str) -> float:
        meant = understand(Utterance(text, Source.SPOKEN), expecting)
        return meant.reading.resolution if isinstance(meant, Say) and isinstance(meant.reading, Measured) else 0.0

    return max(texts, key=last_digit)


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


def _likeliest(heard: Sequence[Heard], hypotheses: Sequence[Hypothesis]) -> Judged:
    """HEARD for the meaning with most votes, AGAIN where it has too few, IGNORE for talk."""
    votes = votes_of(heard)
    if not votes:
        return Judged(Outcome.IGNORE)
    best = max(votes, key=lambda m: votes[m])
    for_it = [h.of for h in heard if h.meaning == best]
    exact = any(h.engine == FREE and h.bent == 0 for h in for_it)
    if not exact and _talk(hypotheses, for_it):
        return Judged(Outcome.IGNORE)
    if acts_at_once(best):
        return _word(for_it, hypotheses, best, votes[best])
    return Judged(Outcome.HEARD, for_it[0].text) if votes[best] >= LEAST_VOTES else Judged(Outcome.AGAIN)


def _word(for_it: Sequence[Hypothesis], hypotheses: Sequence[Hypothesis], best: Meaning, votes: float) -> Judged:
    """Words and commands are not read back: an unbent transcript, or every pass of a full set, has to say them."""
    passes = {(h.engine, h.by) for h in hypotheses if h.engine != FREE}
    agreeing = {(h.engine, h.by) for h in for_it if h.engine != FREE}
    exact = any(h.engine == FREE and h.bent == 0 for h in for_it)
    if exact and agreeing:
        return Judged(Outcome.AGREED, for_it[0].text)
    written = _written(hypotheses)
    if written and not is_sentence(written):  # what is no sentence is no talk; that grammar is heard for numbers
        passes = {p for p in passes if p[1] is not By.TALK}
        agreeing &= passes
    if exact or (len(passes) >= _PASSES and agreeing == passes) or _easily(hypotheses, best, votes):
        return Judged(Outcome.HEARD, for_it[0].text)
    return Judged(Outcome.AGAIN if votes >= LEAST_VOTES else Outcome.IGNORE)


def _easily(hypotheses: Sequence[Hypothesis], best: Meaning, votes: float) -> bool:
    """Tell whether the votes are enough for a command that does little harm, and no sentence was written."""
    return votes >= _EASY_VOTES.get(best, inf) and not is_sentence(_written(hypotheses))


def _written(hypotheses: Sequence[Hypothesis]) -> str:
    """Return what the free engine wrote, empty where there is none or it wrote nothing."""
    return next((h.written for h in hypotheses if h.engine == FREE), "")


def _talk(hypotheses: Sequence[Hypothesis], for_it: Sequence[Hypothesis]) -> bool:
    """Tell whether it was talk: a sentence to the ear that hears all words, and to the grammar that takes talk; or
    less than a sentence, which makes no number unless every speed hears that number.

    The narrow grammars can be of one mind about talk too: `fifty seven millivolts`, at every speed.
    """
    free = [h for h in hypotheses if h.engine == FREE]
    takes = [h for h in hypotheses if h.by is By.TALK]
    if any(h.engine == FREE and h.bent <= LIKELY_BENT for h in for_it) or any(h.by is By.TALK for h in for_it):
        return False
    if free and not is_sentence(free[0].written) and not (
        takes and _number(for_it) and may_be_talk(free[0].written) and not _alike(for_it, hypotheses)
    ):
        return False
    said = for_it[0].text.split()
    if not takes:
        return bool(free)
    return any(took_talk(h.text, said) and not _astray(h, for_it, hypotheses) for h in takes)


def _astray(talk: Hypothesis, for_it: Sequence[Hypothesis], hypotheses: Sequence[Hypothesis]) -> bool:
    """Tell whether the search for talk missed an answer that every speed hears alike and that fits far better: it has
    all answers to choose from too. No command is taken so; those are heard in talk at every speed (`can't reach`)."""
    fast = next((h.fit for h in for_it if h.by is By.FAST), 0.0)
    return _alike(for_it, hypotheses) and _number(for_it) and talk.fit < _ASTRAY * fast


def _alike(for_it: Sequence[Hypothesis], hypotheses: Sequence[Hypothesis]) -> bool:
    """Tell whether the narrow grammar heard it at every speed."""
    return {h.by for h in for_it if h.engine != FREE} >= {h.by for h in hypotheses if h.engine != FREE} - {By.TALK}


def _number(for_it: Sequence[Hypothesis]) -> bool:
    return not NUMBER_WORDS.isdisjoint(for_it[0].text.split())


def _yes_or_no(heard: Sequence[Heard], hypotheses: Sequence[Hypothesis], expecting: Expecting) -> Judged:
    """A yes needs more than the yes-no grammar; a no needs less; a reading replaces.

    A reading is never AGREED here: the first one was misheard, and people repeat what was misheard.
    """
    first: dict[tuple[str, By], Heard] = {}
    for h in heard:
        first.setdefault((h.of.engine, h.of.by), h)
    others = [h for h in first.values() if h.of.by is not By.YES_NO]
    says_yes = [h for h in first.values() if h.meaning == _YES]
    says_no = [h for h in first.values() if h.meaning == _NO]
    if _is_yes(says_yes, list(first.values()), hypotheses):
        return Judged(Outcome.AGREED, "yes")
    if says_no and any(h.of.by is not By.YES_NO for h in says_no) and len(says_no) > len(says_yes):
        return Judged(Outcome.AGREED, "no")
    judged = _agreed(others, expecting) or _likeliest(others, [h.of for h in others])
    meant = meaning(judged.text, expecting)
    if meant in (_YES, _NO):
        return Judged(Outcome.AGAIN)
    if judged.outcome is Outcome.AGREED and not acts_at_once(meant):
        return Judged(Outcome.HEARD, judged.text)
    return judged


def _is_yes(says_yes: Sequence[Heard], first: Sequence[Heard], hypotheses: Sequence[Hypothesis]) -> bool:
    """Tell whether it was a yes: every pass says so, or the free engine wrote one, the grammar of yes and no heard it,
    and nothing heard a no or a reading."""
    passes = {(h.engine, h.by) for h in hypotheses}
    if len(passes) > 1 and len(says_yes) == len(passes):
        return True
    if any(h.meaning == _NO or not acts_at_once(h.meaning) for h in first):
        return False
    written = any(h.of.engine == FREE and h.of.bent == 0 for h in says_yes)
    return written and any(h.of.by is By.YES_NO for h in says_yes)


_YES, _NO = ("command", Command.YES), ("command", Command.NO)
