"""The bench screen at work: what is typed, heard or measured goes to the conversation, what it tells is shown."""

from __future__ import annotations

import asyncio
import contextlib
import queue
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, Protocol

from prompt_toolkit.input import Input
from prompt_toolkit.output import Output

from guide.core.errors import GuideError
from guide.core.intent import Utterance
from guide.core.jobs.job import Job
from guide.core.jobs.questions import Message, enter_means, question
from guide.core.jobs.wording import shown_reading
from guide.core.reading import Answered, Measured, OverRange
from guide.edge.screen.cells import Charset, Row
from guide.edge.screen.frame import CLOCK_S, Frame
from guide.edge.screen.keys import KEYS, ON_EMPTY_LINE
from guide.edge.screen.layout import Size, layout
from guide.edge.screen.scene import Doing, Said, Scene, Who, how_sure, told

AFTER_FIRST_DRAWING_S = 0.05


class Conversation(Protocol):
    """Whom the screen talks for. `hear` takes a typed line, an utterance, or whatever `pending` returned."""

    @property
    def job(self) -> Job: ...

    @property
    def idle(self) -> Doing:
        """What the tool is about while nothing is said."""

    @property
    def slow(self) -> bool:
        """Whether an answer may take a moment, as where a meter has to be let go of or read."""

    def hear(self, came: Any) -> list[Message]: ...

    def pending(self) -> Any:
        """Return what has come in from a meter since, None for nothing."""


def clock_now() -> str:
    """Return the time of day at the bench."""
    return time.strftime("%H:%M")


class BenchScreen:
    """One job on a full screen. `over` tells from what was told whether the conversation has ended.

    `refresh_s` is how often it is drawn without a reason, for the clock and for what the tool is about; `shown` is
    called once the first prompt stands, for what can wait until then; `talk_key` for Space on an empty line. `bring`,
    `tell`, `wake` and `show` may be called from any thread; all else happens on the screen's own.
    """

    def __init__(
        self,
        conversation: Conversation,
        over: Callable[[Sequence[Message]], bool],
        *,
        charset: Charset = Charset.UTF8,
        colour: bool = True,
        meter: str = "",
        refresh_s: float = CLOCK_S,
        shown: Callable[[], None] | None = None,
        talk_key: Callable[[], None] | None = None,
        clock: Callable[[], str] = clock_now,
        source: Input | None = None,
        output: Output | None = None,
    ) -> None:
        self._conversation, self._over, self._shown = conversation, over, shown
        self._charset, self._clock = charset, clock
        self._scene = Scene(conversation.job, meter=meter)
        self._doing: Doing | None = None  # None: whatever the conversation is about while idle
        self._inbox: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._loop: asyncio.AbstractEventLoop | None = None
        self._drawn: tuple[Scene, Size, list[Row]] | None = None
        self._frame = Frame(
            self._rows, self._typed, pressed={key: self._says(command.value) for key, _, command in KEYS},
            on_backspace=self._says(ON_EMPTY_LINE.value), on_space=talk_key, colour=colour, refresh_s=refresh_s,
            source=source, output=output,
        )  # fmt: skip

    @property
    def scene(self) -> Scene:
        return self._scene

    @property
    def frame(self) -> Frame:
        return self._frame

    def run(self, first: Sequence[Message]) -> None:
        """Talk until the job is put aside, closed, or the technician leaves. Raises what the conversation raises."""
        self._told(first)
        if not self._over(first):
            self._frame.run(started=self._started)
            self._loop = None

    def bring(self, utterance: Utterance) -> None:
        """Take what was heard."""
        self._inbox.put(utterance)
        self.wake()

    def tell(self, text: str) -> None:
        """Show a line that is no answer: a device lost or found, a noisy room."""
        self._inbox.put(Said(Who.GUIDE, text))
        self.wake()

    def show(self, doing: Doing) -> None:
        """Show what the tool is about now."""
        self._inbox.put(doing)
        self.wake()

    def wake(self) -> None:
        """See what has come in, soon."""
        loop = self._loop
        if loop is not None:
            with contextlib.suppress(RuntimeError):  # the screen has just been closed: nobody is there to see it
                loop.call_soon_threadsafe(self._drain)

    def _started(self) -> None:
        self._loop = asyncio.get_running_loop()
        self._loop.call_soon(self._drain)
        if self._shown is not None:
            self._loop.call_later(AFTER_FIRST_DRAWING_S, self._shown)

    def _drain(self) -> None:
        with contextlib.suppress(queue.Empty):
            while True:
                came = self._inbox.get_nowait()
                if isinstance(came, Doing):
                    self._doing = came
                elif isinstance(came, Said):
                    self._scene = self._scene.saying(came)
                else:
                    self._hear(came)
        while (came := self._conversation.pending()) is not None:
            self._hear(came)
        self._frame.redraw()

    def _typed(self, line: str) -> None:
        if self._frame.app.is_done:
            return
        self._hear(line if line.strip() else enter_means(question(self._conversation.job) or {}))

    def _says(self, words: str) -> Callable[[], None]:
        return lambda: self._typed(words)

    def _hear(self, came: Any) -> None:
        if self._frame.app.is_done:
            return
        self._scene = self._scene.saying(*_as_said(came))
        if self._conversation.slow:
            self._doing = Doing.THINKING
            self._frame.draw_now()
        try:
            answer = self._conversation.hear(came)
        except GuideError as error:
            self._frame.fail(error)
            return
        self._told(answer)
        if self._over(answer):
            self._frame.leave()

    def _told(self, messages: Sequence[Message]) -> None:
        scene = self._scene.saying(*told(messages))
        self._scene = replace(scene, job=self._conversation.job)
        self._doing = None

    def _rows(self, size: Size) -> list[Row]:
        scene = replace(self._scene, clock=self._clock(), doing=self._doing or self._conversation.idle)
        if self._drawn is None or self._drawn[0] != scene or self._drawn[1] != size:
            self._drawn = (scene, size, layout(scene, size, self._charset))
        return self._drawn[2]


def _as_said(came: Any) -> tuple[Said, ...]:
    match came:
        case Utterance():
            return (Said(Who.YOU, came.text, how_sure(came)),)
        case Measured() | OverRange() | Answered():
            return (Said(Who.METER, shown_reading(came)),)
        case str():
            return (Said(Who.YOU, came),)
    return ()
