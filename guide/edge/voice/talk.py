"""A grammar that also takes talk, so that talk has somewhere to go.

A narrow grammar hears a reading in anything. Beside some common words, off-task talk is heard as those: of 12 clips of
which the narrow grammar took 7 for answers this one took none, and of true answers it keeps 84 %. It dissents; it
never speaks for the engine.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from guide.core.words.forms import HEARD_UNITS, NUMBER_WORDS
from guide.core.words.vocabulary import Vocabulary
from guide.edge.voice.mending import plain_words

_COMMON_WORDS = (
    "the this that is it was where did go what mess you see me pass please thanks very much i think my on in of at "
    "there here hand board phone let find other screw have get just now then up down they are we know good time but "
    "with from will would should been like off look coffee light box"
)
_COMMON = tuple(_COMMON_WORDS.split())
COMMON = frozenset(_COMMON)
_WEIGHT = "0.00001"  # of talk beside an answer; an answer that fits at all wins
_LONGEST = 4  # words; the decoder finds no end to an utterance of more, which dissents as well

_MEASURED = (NUMBER_WORDS | HEARD_UNITS) - {"a", "oh", "o", "r", "k"}
_SENTENCE = 3  # words; a shorter one is as likely an answer misheard


def is_sentence(written: str) -> bool:
    """Tell whether a free transcript reads like talk: three words or more, at most one of which could belong to a
    reading, and none of a short one."""
    words = plain_words(written)
    measured = sum(w in _MEASURED for w in words)
    return measured == 0 if len(words) == _SENTENCE else len(words) > _SENTENCE and measured < 2


def may_be_talk(written: str) -> bool:
    """Tell whether a free transcript may be of talk: a sentence, or less without any word of a reading (`got it`).

    Of 108 clips of an exclamation (`nice`, `come on`) 53 are still taken for a reading and asked about, 69 without this
    and the other rules it came with.
    """
    words = plain_words(written)
    return is_sentence(written) or (bool(words) and _MEASURED.isdisjoint(words))


def took_talk(heard: str, said: Sequence[str] = ()) -> bool:
    """Tell whether the grammar of `with_talk` heard talk rather than an answer: two common words or more that are none
    of the words `said`, as other passes heard it (`where on we` is still `where are we`)."""
    return sum(w in COMMON for w in heard.split() if w not in said) > 1


@lru_cache(maxsize=64)
def with_talk(vocabulary: Vocabulary) -> Vocabulary:
    """Return `vocabulary` with two or more common words as an alternative to everything in it."""
    more = "<common>"
    for _ in range(_LONGEST - 2):
        more = f"<common> [{more}]"
    common = " | ".join(_COMMON)
    head, _, public = vocabulary.jsgf.partition("public <line> = ")
    rules = f"<common> = {common};\n<talk> = <common> <common> [{more}];\n<answer> = {public}"
    line = f"public <line> = /1/ <answer> | /{_WEIGHT}/ <talk>;\n"
    words = tuple(dict.fromkeys((*vocabulary.words, *_COMMON)))
    return Vocabulary(head + rules + line, words, vocabulary.phrases)
