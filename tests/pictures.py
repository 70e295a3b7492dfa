"""Pictures of the bench screen for the README, from a real run of it: python -m tests.pictures [FOLDER].

The cells that prompt_toolkit drew, with the styles they have, become SVG. Blocks are drawn as rectangles and every run
of text is given its length, so that a picture does not depend on the reader's fonts.
"""

from __future__ import annotations

import itertools
import sys
import tempfile
from pathlib import Path
from xml.sax.saxutils import escape

from prompt_toolkit.styles import Style

from guide.core.intent import Utterance
from guide.core.reading import Source
from guide.edge.screen.scene import Doing
from guide.edge.screen.style import COLOURED
from tests.screens import Seen, bench_screen, play
from tests.worlds import TestBench

WIDE, HIGH, EDGE = 9, 19, 10
DARK = ("#16181c", "#e8e8e8")
LIGHT = ("#ffffff", "#1a1a1a")
# Part of a cell each block covers: left, top, width, height in shares of the cell.
BLOCKS = {
    "█": (0, 0, 1, 1), "▀": (0, 0, 1, 0.5), "▄": (0, 0.5, 1, 0.5),
    **{c: (0, 0, n / 8, 1) for n, c in enumerate("▏▎▍▌▋▊▉", 1)},
}  # fmt: skip


def svg(cells, theme: tuple[str, str], title: str) -> str:
    """Return a drawing of `cells` as SVG text."""
    style = Style.from_dict(dict(COLOURED))
    width, height = len(cells[0]) * WIDE + 2 * EDGE, len(cells) * HIGH + 2 * EDGE
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}"'
        f' role="img" aria-label="{escape(title)}" font-family="DejaVu Sans Mono, Menlo, Consolas, monospace"'
        f' font-size="15">',
        f"<title>{escape(title)}</title>",
        f'<rect width="{width}" height="{height}" rx="8" fill="{theme[0]}"/>',
    ]
    for y, row in enumerate(cells):
        at = 0
        for name, run in itertools.groupby(row, key=lambda cell: cell[1]):
            text = "".join(char for char, _ in run)
            out += _run(text, at, y, _look(style, name, theme))
            at += len(text)
    return "\n".join([*out, "</svg>"]) + "\n"


def _look(style: Style, name: str, theme: tuple[str, str]):
    attrs = style.get_attrs_for_style_str(name)
    ground, ink = theme
    front = f"#{attrs.color}" if attrs.color else ink
    back = f"#{attrs.bgcolor}" if attrs.bgcolor else ""
    if attrs.reverse:
        front, back = back or ground, front
    return front, back, attrs.bold, attrs.italic


def _run(text: str, at: int, y: int, look) -> list[str]:
    front, back, bold, italic = look
    left, top = EDGE + at * WIDE, EDGE + y * HIGH
    out = []
    if back:
        out.append(f'<rect x="{left}" y="{top}" width="{len(text) * WIDE}" height="{HIGH}" fill="{back}"/>')
    out += [
        f'<rect x="{left + (i + b[0]) * WIDE:g}" y="{top + b[1] * HIGH:g}" width="{b[2] * WIDE * n:g}"'
        f' height="{b[3] * HIGH:g}" fill="{front}"/>'
        for i, n, b in _blocks(text)
    ]
    weight = (' font-weight="bold"' if bold else "") + (' font-style="italic"' if italic else "")
    for i, words in _words(text):
        out.append(
            f'<text x="{left + i * WIDE}" y="{top + 14.5:g}" fill="{front}"{weight} xml:space="preserve"'
            f' textLength="{len(words) * WIDE}" lengthAdjust="spacingAndGlyphs">{escape(words)}</text>'
        )
    return out


def _blocks(text: str):
    """Yield (place, count, part of the cell) of each run of one block; a part narrower than its cell stands alone."""
    at = 0
    for char, run in itertools.groupby(text):
        count = len(list(run))
        if char in BLOCKS:
            whole = BLOCKS[char][2] == 1
            yield from [(at, count, BLOCKS[char])] if whole else [(at + k, 1, BLOCKS[char]) for k in range(count)]
        at += count


def _words(text: str):
    """Yield (place, text) between blocks and gaps of three blanks or more."""
    plain = "".join(" " if c in BLOCKS else c for c in text)
    at = 0
    while at < len(plain):
        if plain[at] == " ":
            at += 1
            continue
        end = plain.find("   ", at)
        end = len(plain) if end < 0 else end
        yield at, plain[at:end].rstrip()
        at = end


def check(home: Path) -> Seen:
    """A check stands, after a reading that was heard and confirmed."""
    bench, kept = TestBench(home, device="Fernleaf GH-2, line 3"), []
    spoken = Utterance("twelve point one", Source.SPOKEN)
    steps = ["\r", lambda: kept[0].bring(spoken), "", "\r", "\r", lambda: kept[0].show(Doing.LISTENING), ""]
    return play(bench_screen(bench, keep=kept), steps)


def verdict(home: Path) -> Seen:
    """The verdict on the same job, on a wide terminal."""
    bench = TestBench(home, device="Fernleaf GH-2, line 3")
    return play(bench_screen(bench), ["\r", "12.1\r", "\r", "OL\r", ""], columns=130, rows=36)


PICTURES = {
    "bench-check": (check, DARK, "The bench screen at 80 by 24: the next check in large letters, power, odds, talk"),
    "bench-verdict": (verdict, LIGHT, "The bench screen at 130 by 36 with a verdict, what it rests on, and the odds"),
}


def made(name: str) -> str:
    """Return the picture `name` as SVG text."""
    scene, theme, title = PICTURES[name]
    with tempfile.TemporaryDirectory() as home:
        return svg(scene(Path(home)).drawings[-1], theme, title)


if __name__ == "__main__":
    folder = Path(sys.argv[1] if len(sys.argv) > 1 else Path(__file__).parents[1] / ".pictures")
    folder.mkdir(exist_ok=True)
    for each in PICTURES:
        (folder / f"{each}.svg").write_text(made(each), encoding="utf-8")
        print(folder / f"{each}.svg")
