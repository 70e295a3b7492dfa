"""Names that stand for nothing: the one that was probably meant comes first in the remedy."""

from __future__ import annotations

from collections.abc import Iterable

CLOSE = 0.75  # a letter or two in a short name; below that a guess misleads more than it helps


def nearest(name: str, known: Iterable[str]) -> str | None:
    """Return the known name that `name` is most like, or None where none is near or two are as near as each other."""
    from difflib import SequenceMatcher, get_close_matches  # only a tree with a mistake pays for it

    near = get_close_matches(name[:60], [k for k in known if k], n=2, cutoff=CLOSE)
    like = [SequenceMatcher(None, k, name[:60]).ratio() for k in near]  # the order in which the matches were made
    return near[0] if near and like.count(like[0]) == 1 else None


def instead(name: str, known: Iterable[str], remedy: str) -> str:
    """Return the name that was probably meant as a question, or `remedy` where none is near."""
    near = nearest(name, known)
    return f"did you mean `{near}`?" if near else remedy
