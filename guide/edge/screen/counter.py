"""A list to choose from and a line to type: the jobs on the bench, or the trees that fit a symptom."""

from __future__ import annotations

from prompt_toolkit.input import Input
from prompt_toolkit.output import Output

from guide.core.choice import Choice
from guide.edge.screen.cells import Charset, Row, cells, fitted, row, shortened, tall, wrapped
from guide.edge.screen.frame import Frame
from guide.edge.screen.layout import Size
from guide.edge.screen.letters import Face, large
from guide.edge.screen.panels import heading

TITLE_ROWS = 16  # from this height on the title is large


def lay_out(choice: Choice, size: Size, charset: Charset) -> list[Row]:
    """Return the rows above the typed line; on a small terminal the first items and the hint are kept."""
    width, height = size.columns, max(0, size.rows - 1)
    title = large(charset.text(choice.title).upper(), Face.SMALL, width - 2) if charset is Charset.UTF8 else None
    head = [row(" ", ("class:large", line)) for line in title] if title and height >= TITLE_ROWS else []
    head = head or [row(" ", ("class:large", charset.text(choice.title)))]
    trouble = [row(" ", ("class:odd", line)) for line in wrapped(charset.text(choice.trouble), max(1, width - 2))]
    hint = [row(" ", ("class:ask", line)) for line in wrapped(charset.text(choice.hint), max(1, width - 2))]
    entering = row(("class:key", "Enter"), f" {choice.enter} ") if choice.enter else ()
    keys = row(" ", *entering, ("class:key", "Ctrl-D"), " leave")
    foot = [*trouble, *hint, keys]
    rule = heading("", width, charset) if width > 8 else row()
    room = max(0, height - len(foot) - len(head) - 1)
    rows = [*head, rule, *tall(_items(choice, width, room, charset), width, room), *foot]
    return [fitted(r, width) for r in rows[-height:]] if height else []


def _items(choice: Choice, width: int, room: int, charset: Charset) -> list[Row]:
    """Return the items in full where all of them fit, else a line each."""
    wide = max(1, width - 8)
    told = [(key, wrapped(charset.text(text), wide)) for key, text in choice.items]
    if sum(len(lines) for _, lines in told) > room:
        told = [(key, [shortened(charset.text(text), wide, charset)]) for key, text in choice.items]
    return [
        row("  ", ("class:key", f" {key} "), "  ", line) if i == 0 else row(" " * (cells(key) + 6), line)
        for key, lines in told
        for i, line in enumerate(lines)
    ]


class Counter:
    """Puts one choice on the screen and returns the line typed; None where the technician leaves."""

    def __init__(
        self,
        choice: Choice,
        *,
        charset: Charset = Charset.UTF8,
        colour: bool = True,
        source: Input | None = None,
        output: Output | None = None,
    ) -> None:
        self._choice, self._answer = choice, ""
        self._frame = Frame(
            lambda size: lay_out(choice, size, charset), self._entered, pressed={}, colour=colour, source=source,
            output=output,
        )  # fmt: skip

    @property
    def frame(self) -> Frame:
        return self._frame

    def run(self) -> str | None:
        self._frame.run()
        return self._answer or None

    def _entered(self, line: str) -> None:
        self._answer = line.strip() or self._choice.enter
        if self._answer:
            self._frame.leave()
