"""A screen without a terminal: scripted keys in, what was drawn out, as text or as cells with their styles."""

from __future__ import annotations

import io
from collections.abc import Iterable
from dataclasses import dataclass, field

from prompt_toolkit.data_structures import Size as Window
from prompt_toolkit.input import create_pipe_input
from prompt_toolkit.output.vt100 import Vt100_Output

from guide import app
from guide.commands.screening import OnScreen
from guide.edge.screen.bench import BenchScreen
from guide.edge.screen.cells import Row

Cell = tuple[str, str]  # character, style


def text_of(rows: Iterable[Row]) -> list[str]:
    return ["".join(text for _, text in row) for row in rows]


@dataclass
class Seen:
    """What a run showed: each drawing as rows of cells, and every byte that went to the terminal."""

    drawings: list[list[list[Cell]]] = field(default_factory=list)
    sent: str = ""

    def rows(self, drawing: int = -1) -> list[str]:
        return ["".join(char for char, _ in row).rstrip() for row in self.drawings[drawing]]

    def ever(self, words: str) -> bool:
        return any(words in line for n in range(len(self.drawings)) for line in self.rows(n))


LEAVE = "\x04"


def play(make, steps, *, columns: int = 80, rows: int = 24) -> Seen:
    """Run what `make(source, output)` returns: (frame, run). Each of `steps` is sent once the one before is drawn.

    A step is keys as a terminal sends them, a new size, a function to call (a voice, a meter), or nothing.
    """
    out, seen, waiting = io.StringIO(), Seen(), list(steps)
    size = [Window(rows=rows, columns=columns)]
    with create_pipe_input() as source:
        frame, run = make(source, Vt100_Output(out, lambda: size[0], term="xterm-256color"))

        def after(application) -> None:
            drawn = application.renderer.last_rendered_screen
            if drawn is not None and not application.is_done:
                seen.drawings.append(_cells(drawn, size[0]))
                _next_step(waiting, source, size, frame)

        frame.app.after_render += after
        run()
    seen.sent = out.getvalue()
    return seen


def _next_step(waiting, source, size, frame) -> None:
    step = waiting.pop(0) if waiting else LEAVE
    if step and isinstance(step, str):
        source.send_text(step)
    elif isinstance(step, Window):
        size[0] = step
        frame.redraw()
    else:
        if callable(step):
            step()
        frame.redraw()


def _cells(drawn, size) -> list[list[Cell]]:
    return [
        [(drawn.data_buffer[y][x].char, drawn.data_buffer[y][x].style) for x in range(size.columns)]
        for y in range(size.rows)
    ]


def bench_screen(bench, *, talk=None, reader=None, first=None, keep=None, **more):
    """Return what `play` makes: the screen of a TestBench, its clock standing at 09:41."""

    def make(source, output):
        whom = talk or OnScreen(bench.session, reader)
        screen = BenchScreen(whom, app.done, clock=lambda: "09:41", source=source, output=output, **more)
        if keep is not None:
            keep.append(screen)
        return screen.frame, lambda: screen.run(bench.said if first is None else first)

    return make
