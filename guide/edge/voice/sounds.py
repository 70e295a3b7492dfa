"""How alike words sound: phones, the cost of mishearing one for another, and the words a stretch of sound may be.

A general recogniser has never heard of millivolts: it writes `millimoles`, and `there are` for `zero`. What it wrote is
taken back to sounds and read anew with the words of the question. Costs are set by hand from the usual phonetic classes
(voicing, place, manner), common practice, no source; they were tried on voices apart from those the report uses.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from itertools import chain, takewhile

Phones = tuple[str, ...]
Lookup = Callable[[str], str | None]  # a word's phones as the CMU dictionary spells them
_WAYS = range(2, 9)  # the numbers a dictionary of the CMU kind gives a word's further ways of sounding

VOWELS = frozenset(("AA", "AE", "AH", "AO", "AW", "AY", "EH", "ER", "EY", "IH", "IY", "OW", "OY", "UH", "UW"))
_PAIRS: Mapping[float, str] = {
    0.15: "P-B T-D K-G F-V TH-DH S-Z SH-ZH CH-JH TH-F",
    0.2: "IH-IY UH-UW AH-UH AO-AA AH-IH D-DH",
    0.25: "M-N N-NG EH-AE EH-IH AO-OW AH-AA OW-AA AH-ER AO-AH AE-AH EH-AH",
    0.35: "L-W R-W T-TH B-V DH-V V-W S-TH Z-DH L-OW EH-EY AY-EY IY-EY AW-AE AW-OW AW-AA OY-AY OW-UW OW-AH AY-AA ER-R "
    "AE-AA ER-AO EY-AE EY-IH",
    0.5: "P-T T-K P-K B-D D-G B-G S-SH F-S F-TH S-F V-DH R-L Y-IY W-UW M-NG L-R CH-SH CH-T JH-D F-HH TH-HH",
}  # fmt: skip
_OTHER_VOWELS = 0.5
_OTHER_CONSONANTS = 0.9
_ACROSS = 1.2
_LOST = {**dict.fromkeys(VOWELS, 0.55), "HH": 0.25, "AH": 0.35, "R": 0.4, "T": 0.45, "D": 0.45, "L": 0.5}
_LOST_OTHER = 0.65

MOST_PHONES = 26  # a longer stretch without one word of the question is talk, not a reading
_KEPT = 10  # ways kept at each point
_WORD = 0.08  # every further word costs a little, so that one long word beats two short ones
_ALLOWED = 0.42  # of a word's phones


@cache
def _alike() -> dict[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {}
    for cost, pairs in _PAIRS.items():
        for pair in pairs.split():
            a, b = pair.split("-")
            found.setdefault((a, b), cost)
            found.setdefault((b, a), cost)
    return found


@cache
def swapped(a: str, b: str) -> float:
    """Return the cost of hearing phone `b` where `a` was said."""
    if a == b:
        return 0.0
    known = _alike().get((a, b))
    if known is not None:
        return known
    if (a in VOWELS) != (b in VOWELS):
        return _ACROSS
    return _OTHER_VOWELS if a in VOWELS else _OTHER_CONSONANTS


def lost(phone: str) -> float:
    """Return the cost of one phone too many or too few."""
    return _LOST.get(phone, _LOST_OTHER)


def distance(a: Sequence[str], b: Sequence[str]) -> float:
    """Return the least cost of turning phones `a` into `b`; 0 for the same sounds, symmetric."""
    return _ends(a, b, 1e9)[len(b)]


def _ends(word: Sequence[str], heard: Sequence[str], limit: float) -> list[float]:
    """Return the cost of `word` against each beginning of `heard`; infinite beyond `limit`."""
    row = [0.0]
    for phone in heard:
        row.append(row[-1] + lost(phone))
    for said in word:
        gone = lost(said)
        last = row
        row = [last[0] + gone]
        for j, phone in enumerate(heard):
            row.append(min(last[j] + swapped(said, phone), last[j + 1] + gone, row[j] + lost(phone)))
        if min(row) > limit:
            return [1e9] * len(row)
    return row


class Lexicon:
    """The words of a question with their sounds."""

    def __init__(self, words: Iterable[str], phones_of: Callable[[str], Sequence[Phones]]) -> None:
        self._sounds = [(word, phones) for word in dict.fromkeys(words) for phones in phones_of(word)]

    def readings(self, heard: Phones) -> list[tuple[float, tuple[str, ...]]]:
        """Return the word sequences `heard` may be, the likeliest first, each with its cost. Empty for none."""
        if not heard or len(heard) > MOST_PHONES:
            return []
        best: list[dict[tuple[str, ...], float]] = [{} for _ in range(len(heard) + 1)]
        best[0] = {(): 0.0}
        for start in range(len(heard)):
            ways = heapq.nsmallest(_KEPT, ((cost, words) for words, cost in best[start].items()))
            if not ways:
                continue
            for word, spent, end in self._words_at(heard, start):
                for cost, words in ways:
                    total, longer = cost + spent + _WORD, (*words, word)
                    if total < best[end].get(longer, 1e9):
                        best[end][longer] = total
        return heapq.nsmallest(_KEPT, ((cost, words) for words, cost in best[-1].items()))

    def _words_at(self, heard: Phones, start: int) -> Iterable[tuple[str, float, int]]:
        for word, phones in self._sounds:
            limit = _ALLOWED * len(phones)
            ahead = heard[start : start + len(phones) + 3]
            for length, cost in enumerate(_ends(phones, ahead, limit)):
                if length and cost <= limit:
                    yield word, cost, start + length


_LETTERS = (
    ("tion", "SH AH N"), ("igh", "AY"), ("tch", "CH"), ("sch", "SH"), ("ough", "OW"), ("eau", "OW"),
    ("ch", "CH"), ("sh", "SH"), ("th", "TH"), ("ph", "F"), ("wh", "W"), ("ck", "K"), ("qu", "K W"), ("ng", "NG"),
    ("oo", "UW"), ("ee", "IY"), ("ea", "IY"), ("ai", "EY"), ("ay", "EY"), ("oa", "OW"), ("ow", "OW"), ("ou", "AW"),
    ("oi", "OY"), ("oy", "OY"), ("au", "AO"), ("aw", "AO"), ("er", "ER"), ("ir", "ER"), ("ur", "ER"), ("or", "AO R"),
    ("ar", "AA R"), ("ie", "IY"), ("ll", "L"), ("ss", "S"), ("tt", "T"), ("ff", "F"), ("mm", "M"), ("nn", "N"),
    ("pp", "P"), ("rr", "R"), ("dd", "D"), ("bb", "B"), ("gg", "G"), ("zz", "Z"),
    ("a", "AE"), ("b", "B"), ("c", "K"), ("d", "D"), ("e", "EH"), ("f", "F"), ("g", "G"), ("h", "HH"), ("i", "IH"),
    ("j", "JH"), ("k", "K"), ("l", "L"), ("m", "M"), ("n", "N"), ("o", "AA"), ("p", "P"), ("q", "K"), ("r", "R"),
    ("s", "S"), ("t", "T"), ("u", "AH"), ("v", "V"), ("w", "W"), ("x", "K S"), ("y", "IY"), ("z", "Z"),
)  # fmt: skip


def spelled_out(word: str) -> Phones:
    """Return a guess at the phones of a word no dictionary lists: its letters, longest groups first."""
    plain = word.lower()
    if len(plain) > 3 and plain.endswith("e"):
        plain = plain[:-1]
    phones: list[str] = []
    at = 0
    while at < len(plain):
        group, sound = next(((g, s) for g, s in _LETTERS if plain.startswith(g, at)), (plain[at], ""))
        phones += sound.split()
        at += len(group)
    return tuple(phones)


def phones_with(lookup: Lookup) -> Callable[[str], list[Phones]]:
    """Return a function from a word to its ways of sounding: those of the dictionary, else a guess by letters."""

    def phones_of(word: str) -> list[Phones]:
        named = chain((word,), (f"{word}({n})" for n in _WAYS))
        listed = [tuple(f.split()) for f in takewhile(bool, map(lookup, named)) if f]
        return listed or [spelled_out(word)]

    return phones_of
