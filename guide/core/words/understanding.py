"""One line, typed or heard, and what the question takes -> what it means, or why that is unclear.

Order: the answers of the question, the commands, then the reading. Phrases match whole, never by a part of their
words, so `not torn off` is never `torn off`; and `no` shares no words with `undo`.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from guide.core.intent import Command, Do, Expecting, Intent, Pick, Say, Unclear, Utterance
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.reading import Source
from guide.core.tree import in_words
from guide.core.words import phrases
from guide.core.words.lines import LONGEST_PHRASE, lone_one, phrase_at, reading_in, strippings, without_fillers
from guide.core.words.spoken import Words, keys, known, spelled
from guide.core.words.templates import Token
from guide.core.words.tokens import tokens

EXAMPLES = {
    Measure.DIODE: "point four five two, or O L", Measure.OHMS: "four point seven kilohms, or O L",
    Measure.CONTINUITY: "beeps, or no beep", Measure.VOLTS_DC: "twelve point one volts",
    Measure.VOLTS_AC: "twelve point one volts", Measure.AMPS_DC: "point one two amps",
    Measure.HERTZ: "fifty point zero hertz", Measure.CELSIUS: "twenty five degrees",
}  # fmt: skip
# Answers every reading check lists; the reading grammar knows what they mean in each mode.
READING_ANSWERS = frozenset({"OL", "open", "short"})
MOST_SAID = 5  # answers named in one breath; the prompt and the screen name all
NOT_UNDERSTOOD = "I did not understand."
_TAKE_TIME = "Take your time. The question stands."


def understand(utterance: Utterance, expecting: Expecting) -> Intent | Unclear:
    """Return what `utterance` means where `expecting` is asked. Never raises, whatever the text holds.

    A named answer comes back as `Pick`, also where the question is a look. A reading that could be several comes back
    as `Unclear` with the candidates and a reason that names them.
    """
    text = utterance.text
    words = _as_heard(tokens(text), utterance.source)
    if not words:
        return Do(Command.HELP) if "?" in text else Unclear("I heard nothing.", text)
    for said in (words, *strippings(words)):
        meant = _named(spelled(said), expecting, utterance) or _commanded(spelled(said), utterance)
        if meant is not None:
            return meant
    return _text_command(words, utterance) or _reading(words, utterance, expecting)


def _as_heard(words: list[Token], source: Source) -> list[Token]:
    if source is not Source.SPOKEN:
        return words
    return [Token(phrases.HOMOPHONES.get(w.key, w.key), w.text) for w in words]


def _named(said: Words, expecting: Expecting, utterance: Utterance) -> Pick | None:
    """Return the expected answer these words are. What is a reading is left to the reading grammar."""
    answers = {
        name: words
        for name, words in expecting.answers.items()
        if not (expecting.measure in EXAMPLES and name in READING_ANSWERS)
    }
    for ways in (_exactly, _barely, _also):
        for name, words in answers.items():
            if any(said in ways(word) for word in (name, *words)):
                return Pick(name, utterance.text, utterance.source, utterance.agreed)
    return None


@cache
def _exactly(word: str) -> frozenset[Words]:
    return frozenset({keys(word)})


@cache
def _barely(word: str) -> frozenset[Words]:
    """The answer without its own fillers: `it comes back` is also said `comes back`."""
    return frozenset({spelled(without_fillers(tokens(word)))})


@cache
def _also(word: str) -> frozenset[Words]:
    """Return other ways of saying an answer: acknowledgements, yes and no."""
    plain = keys(word)
    others = next((said for w, said in phrases.ACKNOWLEDGED.items() if keys(w) == plain), ())
    if plain in (("yes",), ("no",)):
        others = phrases.COMMAND_WORDS[Command(plain[0])]
    return frozenset(map(keys, others))


@cache
def _commands() -> dict[Words, Command]:
    return {keys(phrase): command for command, said in phrases.COMMAND_WORDS.items() for phrase in said}


@cache
def _text_commands() -> dict[Words, Command]:
    return {keys(phrase): command for command, said in phrases.TEXT_COMMANDS.items() for phrase in said}


def _commanded(said: Words, utterance: Utterance) -> Do | Unclear | None:
    if said in known("WAIT_WORDS"):
        return Unclear(_TAKE_TIME, utterance.text)
    command = Command.SKIP if said in known("UNKNOWN_WORDS") else _commands().get(said)
    return Do(command, source=utterance.source) if command is not None else None


def _text_command(words: Sequence[Token], utterance: Utterance) -> Do | Unclear | None:
    """`note …`, `hold …`, `what is …`, `what if …`: the command and the rest of the line as it was said."""
    text, start = utterance.text, len(words) - len(_without_leads(words))
    for n in range(LONGEST_PHRASE, 0, -1):
        said = spelled(words[start : start + n])
        command = _text_commands().get(said)
        if command is Command.HOLD and _waits(words[start:]):
            return Unclear(_TAKE_TIME, text)
        if command is not None:
            return Do(command, _rest(text, words[: start + n]), utterance.source)
    return None


def _without_leads(words: Sequence[Token]) -> Sequence[Token]:
    """Return `words` from the first that introduces nothing."""
    at = 0
    while at < len(words):
        if words[at].key in phrases.HESITATIONS:
            at += 1
            continue
        n = phrase_at(words, at, "LEADS")
        if n == 0:
            break
        at += n
    return words[at:]


def _waits(words: Sequence[Token]) -> bool:
    """Tell whether the line begins by asking for a moment: `hold on, let me find the other probe`."""
    return phrase_at(words, 0, "WAIT_WORDS") > 0


def _rest(text: str, before: Sequence[Token]) -> str:
    """Return the line after the words `before`, as it was written."""
    at = 0
    for word in before:
        at = max(text.find(word.text, at), at) + len(word.text)
    return text[at:].strip(" ,:;-")


def _reading(words: Sequence[Token], utterance: Utterance, expecting: Expecting) -> Say | Unclear:
    measure, text = expecting.measure, utterance.text
    if measure is None or not measure.takes_a_reading:
        return Unclear(_TAKE_TIME if _waits(words) else _not_understood(expecting), text)
    spec = expecting.spec or HANDHELD.modes[measure]
    heard = lone_one(text, measure, spec) or reading_in(words, measure, spec)
    if heard.reading is not None:
        return Say(heard.reading, text, utterance.source, utterance.agreed)
    reason = heard.reason or (_TAKE_TIME if _waits(words) else _not_understood(expecting))
    return Unclear(reason, text, heard.candidates)


def _not_understood(expecting: Expecting) -> str:
    if not expecting.answers and expecting.measure is None:
        return NOT_UNDERSTOOD  # commands alone answer: which of them, the question that stands knows
    return f"{NOT_UNDERSTOOD} {to_say(expecting.measure, tuple(expecting.answers))}"


def to_say(measure: Measure | None, answers: Sequence[str], *, most: int = MOST_SAID) -> str:
    """Return what a question that takes these takes, in one sentence; more than `most` words are left to `help`."""
    if measure in EXAMPLES:
        return f"Say the reading, like {EXAMPLES[measure]}."
    if not answers or len(answers) > most:
        return "Say help for what you can say."
    *before, last = map(in_words, answers)
    return f"Say {', '.join(before)}{', or ' if before else ''}{last}."
