"""How words sound: a key that is the same for words an ear on a bench may take for each other."""

from __future__ import annotations

import re

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
