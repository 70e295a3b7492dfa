"""Large letters for the next check: seven dots high, of our own drawing, read from a metre away.

Three ways to set them: half blocks (four rows, a dot a column), full blocks twice as large (seven rows, two columns a
dot), and number signs where the terminal has no blocks (seven rows, a dot a column).
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum

DOTS_HIGH = 7


class Face(Enum):
    """How a dot is set; the value is (rows of a line, columns of a dot)."""

    SMALL = (4, 1)
    LARGE = (7, 2)
    SIGNS = (7, 1, "signs")

    @property
    def rows(self) -> int:
        return int(self.value[0])

    @property
    def dot_columns(self) -> int:
        return int(self.value[1])


_DRAWN = """
A .###. #...# #...# ##### #...# #...# #...#
B ####. #...# #...# ####. #...# #...# ####.
C .#### #.... #.... #.... #.... #.... .####
D ####. #...# #...# #...# #...# #...# ####.
E ##### #.... #.... ####. #.... #.... #####
F ##### #.... #.... ####. #.... #.... #....
G .#### #.... #.... #..## #...# #...# .####
H #...# #...# #...# ##### #...# #...# #...#
I ### .#. .#. .#. .#. .#. ###
J ..### ...#. ...#. ...#. ...#. #..#. .##..
K #...# #..#. #.#.. ##... #.#.. #..#. #...#
L #.... #.... #.... #.... #.... #.... #####
M #...# ##.## #.#.# #.#.# #...# #...# #...#
N #...# ##..# ##..# #.#.# #..## #..## #...#
O .###. #...# #...# #...# #...# #...# .###.
P ####. #...# #...# ####. #.... #.... #....
Q .###. #...# #...# #...# #.#.# #..#. .##.#
R ####. #...# #...# ####. #.#.. #..#. #...#
S .#### #.... #.... .###. ....# ....# ####.
T ##### ..#.. ..#.. ..#.. ..#.. ..#.. ..#..
U #...# #...# #...# #...# #...# #...# .###.
V #...# #...# #...# #...# .#.#. .#.#. ..#..
W #...# #...# #...# #.#.# #.#.# ##.## #...#
X #...# #...# .#.#. ..#.. .#.#. #...# #...#
Y #...# #...# .#.#. ..#.. ..#.. ..#.. ..#..
Z ##### ....# ...#. ..#.. .#... #.... #####
0 .###. #..## #.#.# #.#.# #.#.# ##..# .###.
1 .#. ##. .#. .#. .#. .#. ###
2 .###. #...# ....# ..##. .#... #.... #####
3 ####. ....# ....# .###. ....# ....# ####.
4 ...#. ..##. .#.#. #..#. ##### ...#. ...#.
5 ##### #.... ####. ....# ....# #...# .###.
6 ..##. .#... #.... ####. #...# #...# .###.
7 ##### ....# ...#. ..#.. ..#.. .#... .#...
8 .###. #...# #...# .###. #...# #...# .###.
9 .###. #...# #...# .#### ....# ...#. .##..
. .. .. .. .. .. ## ##
, .. .. .. .. .. ## #.
- ... ... ... ### ... ... ...
+ ..... ..#.. ..#.. ##### ..#.. ..#.. .....
% ##..# ##..# ...#. ..#.. .#... #..## #..##
? .###. #...# ....# ..##. ..#.. ..... ..#..
! # # # # # . #
/ ....# ...#. ...#. ..#.. .#... .#... #....
: .. ## ## .. ## ## ..
( .## #.. #.. #.. #.. #.. .##
) ##. ..# ..# ..# ..# ..# ##.
Ω .###. #...# #...# #...# .#.#. .#.#. ##.##
° .#. #.# .#. ... ... ... ...
± ..#.. ..#.. ##### ..#.. ..#.. ..... #####
' # # . . . . .
; .. ## ## .. ## ## #.
= ..... ..... ##### ..... ##### ..... .....
_ ..... ..... ..... ..... ..... ..... #####
"""
_SMALL = {"m": "...... ...... ##.##. #.#..# #.#..# #.#..# #.#..#", "k": "#... #... #..# #.#. ##.. #.#. #..#",
          "u": ".... .... #..# #..# #..# ##.# #.#."}  # fmt: skip


def _glyphs() -> Mapping[str, tuple[str, ...]]:
    drawn = {line[0]: tuple(line[2:].split()) for line in _DRAWN.strip().splitlines()}
    return {**drawn, **{letter: tuple(dots.split()) for letter, dots in _SMALL.items()}, " ": ("..",) * DOTS_HIGH}


GLYPHS = _glyphs()


def dots(text: str) -> tuple[str, ...] | None:
    """Return `text` as seven rows of `#` and `.`, a dot between letters; None where a letter is not drawn."""
    if not text or any(c not in GLYPHS for c in text):
        return None
    return tuple(".".join(GLYPHS[c][y] for c in text) for y in range(DOTS_HIGH))


def large(text: str, face: Face, width: int) -> tuple[str, ...] | None:
    """Return the lines that show `text` large; None where it does not fit `width` columns or cannot be drawn."""
    drawn = dots(text)
    if drawn is None or len(drawn[0]) * face.dot_columns > width:
        return None
    if face is Face.SMALL:
        return _halved(drawn)
    on = "#" if face is Face.SIGNS else "█"
    return tuple("".join((on if d == "#" else " ") * face.dot_columns for d in row) for row in drawn)


def large_lines(text: str, face: Face, width: int, most: int) -> list[str] | None:
    """Return a sentence large, wrapped between words to at most `most` lines of letters; None where it does not fit."""
    lines: list[str] = []
    for word in text.upper().split():
        joined = f"{lines[-1]} {word}" if lines else word
        if lines and large(joined, face, width) is not None:
            lines[-1] = joined
        else:
            lines.append(word)
    drawn = [large(line, face, width) for line in lines]
    if not drawn or len(drawn) > most or None in drawn:
        return None
    return [row for block in drawn if block for row in block]


def _halved(drawn: tuple[str, ...]) -> tuple[str, ...]:
    """Two dots, one above the other, in one character; the half row to spare keeps letters off what is above."""
    rows = ("." * len(drawn[0]), *drawn)
    marks = {"##": "█", "#.": "▀", ".#": "▄", "..": " "}
    return tuple("".join(marks[a + b] for a, b in zip(rows[y], rows[y + 1], strict=True)) for y in range(0, 8, 2))
