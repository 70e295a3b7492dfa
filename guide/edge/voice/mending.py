"""What a general recogniser wrote, read anew with the words of the question.

Words that belong to the question stand as they are; every other stretch is taken back to its sounds and matched
against those words. What it cost says how far the writing was bent: nothing bent is nothing lost.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import product

from guide.core.words import phrases
from guide.core.words.aloud import cardinal
from guide.core.words.forms import HEARD_UNITS, NUMBER_WORDS, ONES
from guide.core.words.vocabulary import Vocabulary
from guide.edge.voice.sounds import MOST_PHONES, Lexicon, Phones, distance

_PIECE = re.compile(r"[0-9]+(?:[.,][0-9]+)*|[a-z]+(?:'[a-z]+)*")
# Letters and words that sound like words of the bench but are spelled otherwise.
_SAME_SOUND = {**phrases.HOMOPHONES, "to": "two", "too": "two", "oh": "oh", "o": "oh", "hate": "eight", "free": "three"}
# Words that stand whatever is around them; the others (`a`, `and`, `no`) are as often a piece of another word.
_SURE = (NUMBER_WORDS | HEARD_UNITS) - {"a", "oh", "o", "r", "k", "two"}
_MOST_WAYS = 48


@dataclass(frozen=True, slots=True)
class Mended:
    """One way to read what was written: its words, the share of its sounds that had to be bent (0 where none), and
    whether anything of a number but its unit was made out of bent sounds."""

    text: str
    bent: float
    guessed: bool = False


def plain_words(text: str) -> list[str]:
    """Return the words of `text`, lower case, with numerals as they are said."""
    words: list[str] = []
    for piece in _PIECE.findall(text.lower().replace("-", " ")):
        words += _numeral(piece, words) if piece[0].isdigit() else [piece]
    return words


def _numeral(piece: str, before: Sequence[str]) -> list[str]:
    whole, point, part = piece.replace(",", "").partition(".")
    if (before and (before[-1] == "point" or before[-1] in ONES)) or (whole[0] == "0" and len(whole) > 1):
        said = [ONES[int(d)] for d in whole]
    else:
        said = cardinal(int(whole)).split() if len(whole) < 10 else [ONES[int(d)] for d in whole]
    return [*said, "point", *(ONES[int(d)] for d in part)] if point and part else said


def as_it_sounds(word: str) -> str:
    """Return the word of the bench that sounds like `word`, `word` itself where there is none."""
    return _SAME_SOUND.get(word, word)


class Mender:
    """Reads a transcript with the words of a vocabulary. `phones_of` gives a word's ways of sounding."""

    def __init__(self, phones_of: Callable[[str], Sequence[Phones]]) -> None:
        self._phones_of = phones_of
        self._lexicons: dict[tuple[str, ...], Lexicon] = {}

    def prepare(self, vocabulary: Vocabulary) -> Lexicon:
        """Make the lexicon of a vocabulary ready; known ones cost nothing."""
        if vocabulary.words not in self._lexicons:
            self._lexicons[vocabulary.words] = Lexicon(vocabulary.words, self._phones_of)
        return self._lexicons[vocabulary.words]

    def ways(self, text: str, vocabulary: Vocabulary) -> list[Mended]:
        """Return what `text` may have been, the least bent first; the text itself where every word belongs."""
        lexicon, known = self.prepare(vocabulary), frozenset(vocabulary.words)
        words = [w if w in known else as_it_sounds(w) for w in plain_words(text)]
        stretches = _stretches(words, known if set(words) <= known else known & _SURE)
        options: list[list[tuple[float, tuple[str, ...]]]] = []
        total = 0
        for belongs, stretch in stretches:
            phones = self._sounds(stretch)
            total += len(phones)
            options.append([(0.0, tuple(stretch))] if belongs else lexicon.readings(phones))
            if not options[-1] or total > 4 * MOST_PHONES:
                return []
        ways: dict[str, Mended] = {}
        for way in list(product(*options))[:_MOST_WAYS]:
            said, bent = " ".join(w for _, ws in way for w in ws), sum(c for c, _ in way) / max(total, 1)
            made = [(Counter(ws) - Counter(was)).keys() for (_, was), (_, ws) in zip(stretches, way, strict=True)]
            guessed = not NUMBER_WORDS.isdisjoint(said.split()) and any(words - HEARD_UNITS for words in made)
            if said not in ways or bent < ways[said].bent:
                ways[said] = Mended(said, bent, guessed and bent > 0)
        return sorted(ways.values(), key=lambda m: m.bent)

    def likeness(self, text: str, said: str) -> float:
        """Return the share of the sounds of `text` that has to be bent to make it `said`, a line of the question."""
        sounds = self._sounds([as_it_sounds(w) for w in plain_words(text)])
        return distance(self._sounds(said.split()), sounds) / len(sounds) if sounds else 1.0

    def _sounds(self, words: Sequence[str]) -> Phones:
        return tuple(phone for word in words for phone in self._phones_of(word)[0])


def _stretches(words: Sequence[str], known: frozenset[str]) -> list[tuple[bool, list[str]]]:
    found: list[tuple[bool, list[str]]] = []
    for word in words:
        belongs = word in known
        if not found or found[-1][0] != belongs:
            found.append((belongs, []))
        found[-1][1].append(word)
    return found
