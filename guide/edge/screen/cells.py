"""Rows of styled text measured in terminal cells: cut, padded, wrapped, put side by side. Nothing here draws."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import Enum

from prompt_toolkit.utils import get_cwidth

from guide.core.jobs.wording import IN_ASCII, clean

Span = tuple[str, str]  # style name, text
Row = tuple[Span, ...]


class Charset(Enum):
    """What the terminal can show."""

    UTF8 = "utf-8"
    ASCII = "ascii"

    def text(self, text: str) -> str:
        """Return `text` on one line, free of control characters, in letters this terminal has."""
        line = clean(" ".join(text.split()))
        if self is Charset.UTF8:
            return line
        return line.translate(IN_ASCII).encode("ascii", "replace").decode("ascii")

    def pick(self, blocks: str, plain: str) -> str:
        """Return the drawn mark, or its plain twin."""
        return blocks if self is Charset.UTF8 else plain


def cells(text: str) -> int:
    """Return how many terminal cells `text` takes."""
    return get_cwidth(text)


def row(*spans: Span | str) -> Row:
    return tuple(("", s) if isinstance(s, str) else s for s in spans if s)


def length(of: Row) -> int:
    return sum(cells(text) for _, text in of)


def fitted(of: Row, width: int) -> Row:
    """Return `of` in exactly `width` cells, cut or filled up with blanks."""
    out: list[Span] = []
    left = width
    for style, text in of:
        kept = _cut(text, left)
        if kept:
            out.append((style, kept))
            left -= cells(kept)
        if kept != text:
            break
    return (*out, ("", " " * left)) if left else tuple(out)


def _cut(text: str, width: int) -> str:
    if cells(text) <= width:
        return text
    kept, used = [], 0
    for c in text:
        used += cells(c)
        if used > width:
            break
        kept.append(c)
    return "".join(kept)


def shortened(text: str, width: int, charset: Charset) -> str:
    """Return `text` in at most `width` cells; a cut is marked."""
    if cells(text) <= width:
        return text
    mark = charset.pick("…", "~")
    return _cut(text, max(0, width - 1)).rstrip() + mark if width > 0 else ""


def wrapped(text: str, width: int) -> list[str]:
    """Return `text` in lines of at most `width` cells, broken between words, a long word where it must be."""
    lines, line = [], ""
    for word in text.split():
        joined = f"{line} {word}" if line else word
        if cells(joined) <= width:
            line = joined
            continue
        if line:
            lines.append(line)
        while cells(word) > width:
            head = _cut(word, width) or word[0]
            lines.append(head)
            word = word[len(head) :]
        line = word
    return [*lines, line] if line else lines


def right_aligned(left: Row, right: Row, width: int) -> Row:
    """Return `left` and, at the far end, `right`; the left one gives way."""
    room = width - length(right)
    return (*fitted(left, room), *right) if room > 0 else fitted(right, width)


def tall(rows: Iterable[Row], width: int, height: int) -> list[Row]:
    """Return exactly `height` rows of `width` cells: the first ones, or blanks below."""
    kept = [fitted(r, width) for r in list(rows)[:height]]
    return [*kept, *[fitted((), width)] * (height - len(kept))]


def beside(columns: Sequence[tuple[Sequence[Row], int]], height: int, gap: Row) -> list[Row]:
    """Return the columns, each as (rows, width), side by side with `gap` between them."""
    filled = [tall(rows, width, height) for rows, width in columns]
    out = []
    for parts in zip(*filled, strict=True):
        line: Row = parts[0]
        for part in parts[1:]:
            line = (*line, *gap, *part)
        out.append(line)
    return out
