"""From the technician's words to the trees that may fit, tolerant of spelling and order, ranked.

A phrase of a tree (its symptom, each `heard_as`) scores by how much of the words it covers and how much of it the words
cover. Rare words weigh more than those most trees share; a word no tree knows weighs like a rare one, so that talk
about something else fits nothing.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import log

from guide.core.sound import sound

MOST_WORDS = 40  # of what was said; more is a story, and its beginning names the trouble
LONGEST_WORD = 30
FITS = 0.35  # a score below this is no match
TIE = 0.9  # a tree within this share of the best is asked about, not decided
DEVICE = 0.7  # what naming the device alone is worth
ELSEWHERE = 0.6  # what a word is worth that the tree knows from its device or another phrase


def _words(text: str) -> frozenset[str]:
    return frozenset(text.split())


# Words that join others and say little. `not` stays in, for it turns a symptom round.
_SMALL = _words(
    "a an and are as at be been but by comes does for from get gets had has have i in is it its just my of on or our"
    " so some that the their there they this to was we when which with you your"
)
# One word for the ways to say that something does not happen.
_NOT = _words("no not never none cannot cant wont dont doesnt didnt isnt wasnt without nothing stopped stops")
_NOT_WEIGHT = 0.4
_ENDINGS = ("ings", "ing", "ers", "ed", "es", "er", "ly", "s", "d", "e")


@dataclass(frozen=True, slots=True)
class Head:
    """What finding a tree takes, without its checks."""

    id: str
    device: str
    symptom: str
    heard_as: tuple[str, ...] = ()
    family: str = ""
    version: str = ""


@dataclass(frozen=True, slots=True)
class Match:
    """A tree that may fit: its id, a score from 0 to 1, and the phrase of the tree that came closest."""

    tree: str
    score: float
    phrase: str


@dataclass(frozen=True, slots=True)
class _Entry:
    """A tree's words: each phrase as it stands, in words and with its worth; and all its words with neighbours joined.

    The device is a phrase of lesser worth: it may be all that was said.
    """

    head: Head
    phrases: tuple[tuple[str, tuple[str, ...], float], ...]
    known: frozenset[str]


def match(said: str, heads: Iterable[Head]) -> tuple[Match, ...]:
    """Return the trees that fit `said`, best first, ties in the order of ids; nothing for words that fit none."""
    entries = [_entry(head) for head in heads]
    words = tokens(said)[:MOST_WORDS]
    if not entries or set(words) <= {"not"}:
        return ()
    alike = {v: tuple(likeness(w, v) for w in _joined(words)) for v in {k for e in entries for k in e.known}}
    weights = _weights(words, entries, alike)
    found = [_best(entry, words, weights, alike) for entry in entries]
    return tuple(sorted((m for m in found if m.score >= FITS), key=lambda m: (-m.score, m.tree)))


def leading(matches: Sequence[Match]) -> tuple[Match, ...]:
    """Return the best match and those too close to it to choose without asking."""
    return tuple(m for m in matches if m.score >= matches[0].score * TIE)


def tokens(text: str) -> tuple[str, ...]:
    """Return the words that count, lower case: letters and digits, small words dropped, negations made one."""
    plain = text.lower().replace("'", "").replace("’", "")
    words = (w[:LONGEST_WORD] for w in re.findall(r"[^\W_]+", plain))
    return tuple("not" if w in _NOT else w for w in words if w not in _SMALL)


@lru_cache(maxsize=20_000)
def likeness(one: str, other: str) -> float:
    """Return how surely two words are meant as one: 1 the same, 0 different.

    The same but for its ending; one the beginning of the other; one or two letters wrong, left out, added or changed
    over (optimal string alignment), the more the longer; or alike in sound.
    """
    if one == other:
        return 1.0
    shorter, longer = sorted((one, other), key=len)
    if len(shorter) < 3 or one[0].isdigit() or other[0].isdigit():
        return 0.0
    if _stem(one) == _stem(other):
        return 0.95
    if len(shorter) >= 4 and longer.startswith(shorter):
        return 0.8
    slips = 0 if len(longer) < 4 else 1 if len(longer) < 7 else 2
    # One edit puts in one letter and takes out another at most: a cheap bound before the table is filled.
    near = len(longer) - len(shorter) <= slips and len({*one} ^ {*other}) <= 2 * slips
    if near and (wrong := _distance(one, other, slips)) <= slips:
        return 1.0 - 1.2 * wrong / len(longer)
    return 0.6 if len(shorter) > 3 and _sound(one) == _sound(other) else 0.0


_sound = lru_cache(maxsize=20_000)(sound)


@lru_cache(maxsize=20_000)
def _stem(word: str) -> str:
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            stem = word[: -len(ending)]
            return stem[:-1] if len(stem) > 3 and stem[-1] == stem[-2] else stem
    return word


def _distance(one: str, other: str, most: int) -> int:
    """Return the edits between two words, neighbours changed over being one; `most` + 1 where there are more."""
    before: list[int] = []
    row = list(range(len(other) + 1))
    for i, a in enumerate(one, 1):
        last, before, row = before, row, [i]
        for j, b in enumerate(other, 1):
            cost = min(before[j] + 1, row[j - 1] + 1, before[j - 1] + (a != b))
            if i > 1 and j > 1 and a == other[j - 2] and b == one[i - 2]:
                cost = min(cost, last[j - 2] + 1)
            row.append(cost)
        if min(row) > most:
            return most + 1
    return min(row[-1], most + 1)


def _entry(head: Head) -> _Entry:
    texts = [*dict.fromkeys((head.symptom, *head.heard_as)), head.device]
    phrases = tuple((t, tokens(t), DEVICE if t is texts[-1] else 1.0) for t in texts)
    runs = (*(words for _, words, _ in phrases), tokens(head.family))
    return _Entry(head, phrases, frozenset(w for words in runs for w in _joined(words)))


def _joined(words: Sequence[str]) -> tuple[str, ...]:
    """The words, then each with the next in one: `green house` and `greenhouse`, `gh 2` and `gh2` are the same."""
    return (*words, *(a + b for a, b in pairwise(words)))


Alike = Mapping[str, tuple[float, ...]]


def _weights(words: Sequence[str], entries: Sequence[_Entry], alike: Alike) -> list[float]:
    """Return what each word said is worth: more, the fewer trees know it."""
    found = []
    for i, word in enumerate(words):
        knowing = sum(any(_covers(alike[v], i, len(words)) >= 0.5 for v in e.known) for e in entries)
        rarity = log(1 + len(entries) / max(1, knowing)) + 0.5
        found.append(rarity * (_NOT_WEIGHT if word == "not" else 1.0))
    return found


def _covers(row: tuple[float, ...], i: int, count: int) -> float:
    """How well a tree's word stands for the `i`th of `count` words said, alone or joined with a neighbour.

    `row` holds the likeness to each word, then to each joined pair.
    """
    pairs = [row[count + k] for k in (i - 1, i) if 0 <= k < count - 1]
    return max(row[i], *(p if p >= 0.9 else 0.0 for p in pairs), 0.0)


def _best(entry: _Entry, words: Sequence[str], weights: Sequence[float], alike: Alike) -> Match:
    everywhere = [max((_covers(alike[v], i, len(words)) for v in entry.known), default=0.0) for i in range(len(words))]
    scored = [
        (worth * _score(phrase, everywhere, weights, alike), -n, text)
        for n, (text, phrase, worth) in enumerate(entry.phrases)
    ]
    score, _, text = max(scored)
    return Match(entry.head.id, score, text)


def _score(phrase: tuple[str, ...], everywhere: Sequence[float], weights: Sequence[float], alike: Alike) -> float:
    """Return how much of the words said the phrase covers, and of it they cover, as a mean (geometric, 2 to 1)."""
    count, parts = len(everywhere), _joined(phrase)
    if not phrase:
        return 0.0
    total = 0.0
    for i, weight in enumerate(weights):
        here = max(_covers(alike[v], i, count) for v in parts)
        total += weight * max(here, ELSEWHERE * everywhere[i])
    covered = total / sum(weights)
    used = _used(phrase, alike)
    return float((covered * covered * used) ** (1 / 3))


def _used(phrase: tuple[str, ...], alike: Alike) -> float:
    """Return the share of the phrase's words that were said, alone or joined with a neighbour."""
    joins = [max(alike[a + b]) for a, b in pairwise(phrase)]
    total = weight = 0.0
    for i, word in enumerate(phrase):
        worth = _NOT_WEIGHT if word == "not" else 1.0
        near = [joins[k] for k in (i - 1, i) if 0 <= k < len(joins) and joins[k] >= 0.9]
        total += worth * max(*alike[word], *near, 0.0)
        weight += worth
    return total / weight
