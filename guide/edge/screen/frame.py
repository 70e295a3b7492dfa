"""One full screen of prompt_toolkit: rows we lay out above, one typed line below, keys that say something.

No meaning lives here: `rows` says what is shown, `entered` takes a line, `pressed` a key.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from prompt_toolkit.application import Application
from prompt_toolkit.application.current import set_app
from prompt_toolkit.buffer import Buffer
from prompt_toolkit.filters import Condition
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.input import Input
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent
from prompt_toolkit.layout import HSplit, Layout, Window
from prompt_toolkit.layout.controls import BufferControl, FormattedTextControl
from prompt_toolkit.layout.processors import BeforeInput
from prompt_toolkit.output import ColorDepth, Output
from prompt_toolkit.styles import Style

from guide.edge.screen.cells import Charset, Row
from guide.edge.screen.layout import Size
from guide.edge.screen.style import COLOURED, without_hues

CLOCK_S = 15.0  # the clock in the corner is drawn anew this often


def charset_of(encoding: str | None) -> Charset:
    """Return what an output of this encoding can show."""
    name = (encoding or "").lower().replace("-", "").replace("_", "")
    return Charset.UTF8 if name in ("utf8", "cp65001") else Charset.ASCII


class Frame:
    """A running full-screen application: `entered` takes typed lines, `on_backspace` and `on_space` those keys on an
    empty line."""

    def __init__(
        self,
        rows: Callable[[Size], list[Row]],
        entered: Callable[[str], None],
        *,
        pressed: Mapping[str, Callable[[], None]],
        on_backspace: Callable[[], None] | None = None,
        on_space: Callable[[], None] | None = None,
        colour: bool = True,
        refresh_s: float = CLOCK_S,
        source: Input | None = None,
        output: Output | None = None,
    ) -> None:
        self._rows, self._entered = rows, entered
        self._line = Buffer(multiline=False)
        self._app: Application[None] = Application(
            layout=self._layout(),
            key_bindings=self._keys(pressed, on_backspace, on_space),
            style=Style.from_dict(dict(COLOURED if colour else without_hues())),
            color_depth=None if colour else ColorDepth.DEPTH_1_BIT,
            full_screen=True,
            mouse_support=False,
            refresh_interval=refresh_s,
            input=source,
            output=output,
        )

    @property
    def app(self) -> Application[None]:
        return self._app

    def run(self, *, started: Callable[[], None] | None = None) -> None:
        """Show the screen until `leave`; what was raised through `fail` is raised here."""
        self._app.run(pre_run=started)

    def redraw(self) -> None:
        self._app.invalidate()

    def draw_now(self) -> None:
        """Draw at once, from the screen's own thread: for what is shown while something takes a moment."""
        if self._app.is_running and not self._app.is_done:
            with set_app(self._app):  # what another thread has woken does not run in the application's context
                self._app.render_counter += 1  # contents are kept for one count
                self._app.renderer.render(self._app, self._app.layout)

    def leave(self) -> None:
        """End the screen, once."""
        if self._app.is_running and not self._app.is_done:
            self._app.exit()

    def fail(self, error: BaseException) -> None:
        """End the screen with an error, to be told where the screen was opened."""
        if self._app.is_running and not self._app.is_done:
            self._app.exit(exception=error)

    def _layout(self) -> Layout:
        body = Window(FormattedTextControl(self._fragments, show_cursor=False), wrap_lines=False)
        line = Window(BufferControl(self._line, input_processors=[BeforeInput("> ", style="class:prompt")]), height=1)
        return Layout(HSplit([body, line]), focused_element=line)

    def _fragments(self) -> StyleAndTextTuples:
        size = self._app.output.get_size()
        fragments: StyleAndTextTuples = []
        for number, line in enumerate(self._rows(Size(size.columns, size.rows))):
            fragments += [("", "\n")] if number else []
            fragments += line
        return fragments

    def _keys(
        self,
        pressed: Mapping[str, Callable[[], None]],
        on_backspace: Callable[[], None] | None,
        on_space: Callable[[], None] | None,
    ) -> KeyBindings:
        keys = KeyBindings()
        empty = Condition(lambda: not self._line.text)

        @keys.add("enter")
        def _(event: KeyPressEvent) -> None:
            text = self._line.text
            self._line.reset(append_to_history=bool(text.strip()))
            # A paste may bring several lines; each is an answer of its own, as through a pipe.
            for line in text.splitlines() or [""]:
                self._entered(line)

        if on_backspace is not None:
            _bind(keys, ("backspace", "c-h"), on_backspace, filter=empty)
        if on_space is not None:
            _bind(keys, (" ",), on_space, filter=empty)
        for key, action in pressed.items():
            _bind(keys, (key,), action)
        _bind(keys, ("c-d",), self.leave, filter=empty)
        _bind(keys, ("c-c",), lambda: self.fail(KeyboardInterrupt()))
        _bind(keys, ("c-l",), lambda: self._app.renderer.clear())
        _bind(keys, ("c-z",), lambda: self._app.suspend_to_background())
        return keys


def _bind(keys: KeyBindings, names: tuple[str, ...], action: Callable[[], None], **more: Any) -> None:
    for name in dict.fromkeys(names):
        keys.add(name, **more)(lambda event: action())
