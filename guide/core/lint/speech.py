"""Speech: prompts a voice can say in one breath, and answers an ear can tell apart."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from guide.core.intent import Command
from guide.core.sound import sound
from guide.core.tree import Check, Finding, Tree, Where, in_words
from guide.core.words.forms import NUMBER_WORDS

MOST_WORDS = 12
# A word of letters and digits (`J4`, `12V`), or a sign with no sound of its own (ohm and micro
# are letters to Unicode, so they are named). Digits alone are read out.
_UNSPEAKABLE = re.compile(r"[\u03a9\u2126\u00b5\u03bc]|[^\W\d_]+\d\w*|\d[\d.,]*[^\W\d_]\w*|[^\w\s.,;:!?'’()\-–—\"“”]|_")
_SENTENCE = re.compile(r"[.!?]+(?=\s|$)")
# `yes` and `no` answer questions; the other commands keep their own meaning at every question.
_COMMANDS = frozenset(c.value for c in Command) - {Command.YES.value, Command.NO.value}


def prompts(tree: Tree) -> Iterator[Finding]:
    """T18: a prompt over 12 words, or holding what a voice cannot say; a band of readings named by a number.

    The limit is for a check's whole `ask`, and for each sentence of a caution, setup, access or sweep.
    """
    for check in tree.asked():
        yield from _prompt(f"the prompt of {check.id}", check.ask, check.mark("ask"), (check.ask,))
        if check.measure.takes_a_reading:
            yield from _numbers(check)
    steps = [(h.id, h.say, h.where) for h in tree.hazards.values()]
    steps += [(s.id, s.say, s.where) for group in (tree.setups, tree.access) for s in group.values()]
    steps += [(s.id, s.say, s.where) for s in tree.sweeps.values()]
    for name, say, where in steps:
        yield from _prompt(f"what {name} says", say, where, _SENTENCE.split(say))
    for cause in tree.causes.values():
        yield from _prompt(f"what {cause.id} says", cause.say, cause.where, ())
    for point, name in tree.points.items():
        yield from _prompt(f"point {point}", name, tree.mark(f"points.{point}"), ())


def _numbers(check: Check) -> Iterator[Finding]:
    """A band is said right after its reading: `five twelve millivolts, one`."""
    for band in check.bands:
        if NUMBER_WORDS.issuperset(in_words(band.name).split()):
            message = f"{check.id}: the band {band.name} is said right after a number; name what it means"
            yield Finding("T18", check.mark("bands"), message)


def _prompt(what: str, text: str, where: Where, parts: Iterable[str]) -> Iterator[Finding]:
    longest = max((len(part.split()) for part in parts), default=0)
    if longest > MOST_WORDS:
        yield Finding("T18", where, f"{what} has {longest} words; keep to {MOST_WORDS}")
    if found := _UNSPEAKABLE.search(text):
        yield Finding("T18", where, f"{what} holds `{found.group()[:20]}`, which a voice cannot say; write it in words")


def alike_answers(tree: Tree) -> Iterator[Finding]:
    """T19: two answers of one check that sound alike, or an answer that is a command."""
    for check in tree.asked():
        heard: dict[str, tuple[str, str]] = {}
        for band in check.bands:
            for i, words in enumerate(band.words):
                where = check.marks.get(f"answer.{band.name}.{i}") or check.mark(f"answer.{band.name}")
                if words.lower() in _COMMANDS:
                    yield Finding("T19", where, f"{check.id}: `{words}` is a command; choose another answer")
                other, same = heard.setdefault(sound(words), (band.name, words))
                if other != band.name:
                    message = f"{check.id}: `{words}` for {band.name} sounds like `{same}` for {other}; choose others"
                    yield Finding("T19", where, message)


def alike_symptoms(tree: Tree, others: Iterable[Tree]) -> Iterator[Finding]:
    """T19: a `heard_as` that sounds like another tree's, so the words cannot choose between them.

    A tree that began as a copy shares them all with it: that is told once for each such tree.
    """
    theirs = {sound(words): (other.id, words) for other in others if other.id != tree.id for words in other.heard_as}
    alike: dict[str, list[tuple[int, str, str]]] = {}
    for i, words in enumerate(tree.heard_as):
        if found := theirs.get(sound(words)):
            alike.setdefault(found[0], []).append((i, words, found[1]))
    for other_id, shared in alike.items():
        i, words, same = shared[0]
        where = tree.marks.get(f"heard_as.{i}") or tree.mark("heard_as")
        more = f", and so do {len(shared) - 1} more" if len(shared) > 1 else ""
        yield Finding("T19", where, f"`{words}` sounds like `{same}` of {other_id}{more}; say what sets them apart")
