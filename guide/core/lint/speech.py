"""Speech: prompts a voice can say in one breath, and answers an ear can tell apart."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from guide.core.intent import Command
from guide.core.tree import Finding, Tree, Where

MOST_WORDS = 12
# A word of letters and digits (`J4`, `12V`), or a sign with no sound of its own (ohm and micro
# are letters to Unicode, so they are named). Digits alone are read out.
_UNSPEAKABLE = re.compile(r"[\u03a9\u2126\u00b5\u03bc]|[^\W\d_]+\d\w*|\d[\d.,]*[^\W\d_]\w*|[^\w\s.,;:!?'’()\-–—\"“”]|_")
_SENTENCE = re.compile(r"[.!?]+(?=\s|$)")
# `yes` and `no` answer questions; the other commands keep their own meaning at every question.
_COMMANDS = frozenset(c.value for c in Command) - {Command.YES.value, Command.NO.value}


def prompts(tree: Tree) -> Iterator[Finding]:
    """T18: a prompt over 12 words, or holding what a voice cannot say.

    The limit is for a check's whole `ask`, and for each sentence of a caution, setup, access or sweep.
    """
    for check in tree.asked():
        yield from _prompt(f"the prompt of {check.id}", check.ask, check.mark("ask"), (check.ask,))
    steps = [(h.id, h.say, h.where) for h in tree.hazards.values()]
    steps += [(s.id, s.say, s.where) for group in (tree.setups, tree.access) for s in group.values()]
    steps += [(s.id, s.say, s.where) for s in tree.sweeps.values()]
    for name, say, where in steps:
        yield from _prompt(f"what {name} says", say, where, _SENTENCE.split(say))
    for cause in tree.causes.values():
        yield from _prompt(f"what {cause.id} says", cause.say, cause.where, ())
    for point, name in tree.points.items():
        yield from _prompt(f"point {point}", name, tree.mark(f"points.{point}"), ())


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
    """T19: a `heard_as` that sounds like another tree's, so the words cannot choose between them."""
    theirs = {sound(words): (other.id, words) for other in others if other.id != tree.id for words in other.heard_as}
    for i, words in enumerate(tree.heard_as):
        if found := theirs.get(sound(words)):
            where = tree.marks.get(f"heard_as.{i}") or tree.mark("heard_as")
            message = f"`{words}` sounds like `{found[1]}` of {found[0]}; say what sets them apart"
            yield Finding("T19", where, message)


_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
# Spellings of one sound, longest first; then letters by where the mouth makes them: a microphone on a noisy bench
# loses voicing (b and p), place of nasals (m and n) and hisses (s, z, sh, ch) before anything else.
_SPELLINGS = (
    ("tch", "s"), ("igh", "i"), ("ough", "o"), ("augh", "o"), ("ch", "s"), ("sh", "s"), ("ph", "f"), ("ck", "k"),
    ("qu", "k"), ("wr", "r"), ("kn", "n"), ("wh", "w"), ("gh", "k"), ("th", "t"), ("dge", "s"), ("x", "ks"),
    ("ea", "e"), ("ee", "e"), ("ie", "e"), ("ei", "e"), ("ce", "se"), ("ci", "si"), ("cy", "si"), ("ge", "se"),
)  # fmt: skip
_SOUNDS = str.maketrans("bpdtgkcqfvszjmnlreiyaou", "ppttkkkkffsssnnlriiiaaa", "hw")


def sound(text: str) -> str:
    """Return a key that is the same for words an ear on a bench may take for each other.

    Our own, coarser than spelling and finer than a consonant skeleton: `fitted` and `fit it` share one, `open` and
    `on` do not. Consonants fall into p t k f s n l r, vowels into a front and a back one; h, w, a silent last e,
    doubled letters and the gaps between words fall out. English only.
    """
    spelled = re.sub(r"\d", lambda d: f" {_DIGITS[int(d.group())]} ", text.lower())
    return "".join(_word_sound(w) for w in re.findall(r"[a-z]+", spelled))


def _word_sound(word: str) -> str:
    if len(word) > 3 and word.endswith("e") and word[-2] not in "aeiouy":
        word = word[:-1] if word[-2] not in "cg" else word[:-2] + "s"
    for spelling, plain in _SPELLINGS:
        word = word.replace(spelling, plain)
    return re.sub(r"(.)\1+", r"\1", word.translate(_SOUNDS))
