"""The conversation on a full screen, and when there is one: a real terminal, big enough, not asked for plain lines."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from guide import app
from guide.commands.common import View
from guide.commands.metered import Came, Reader, begin_reading, heard, measure_asked
from guide.core.choice import Choice
from guide.core.intent import Utterance
from guide.core.jobs.job import Job
from guide.core.jobs.questions import Message
from guide.core.reading import Source
from guide.edge.terminal import Lines, coloured

if TYPE_CHECKING:  # the screen, the voice and their libraries are imported only where they are used
    from guide.commands.spoken import Talk
    from guide.edge.screen.bench import BenchScreen
    from guide.edge.screen.scene import Doing

VOICE_REFRESH_S = 0.25  # how soon the end of speaking shows


def shows_a_screen(view: View) -> bool:
    """Tell whether this terminal can show the screen. One that is too small is told what it lacks."""
    terminal = sys.stdin.isatty() and sys.stdout.isatty()
    if view is View.PLAIN or not terminal or os.environ.get("TERM", "" if os.name != "nt" else "nt") in ("", "dumb"):
        return False
    from guide.edge.screen.layout import Size, size_wanted

    size = Size(*os.get_terminal_size(sys.stdout.fileno()))  # not COLUMNS and LINES: the screen has its own window
    if not size.enough:
        Lines().tell(f"{size_wanted(size)} Plain lines go on.")
    return size.enough


@dataclass(slots=True)
class OnScreen:
    """A session, with its meter if there is one, as the screen talks to it."""

    session: app.Session
    reader: Reader | None = None

    @property
    def job(self) -> Job:
        return self.session.job

    @property
    def idle(self) -> Doing:
        """What the tool is about while nothing is said."""
        from guide.edge.screen.scene import Doing

        waits = self.reader is not None and self.reader.waiting and measure_asked(self.session) is not None
        return Doing.METER if waits else Doing.KEYS

    @property
    def slow(self) -> bool:
        """Whether an answer may take a moment: a meter has to be let go of, or read."""
        return self.reader is not None

    def hear(self, came: str | Utterance | Came) -> list[Message]:
        """Return what to say to a typed line, an utterance, or what the meter has brought."""
        if self.reader is not None:
            return heard(self.session, self.reader, came)
        assert isinstance(came, str | Utterance), "only a meter brings anything else"
        return self.session.hear(came if isinstance(came, Utterance) else Utterance(came))

    def pending(self) -> Came | None:
        return self.reader.poll() if self.reader is not None else None


@dataclass(slots=True)
class SpokenOnScreen:
    """A session with an ear and a voice, as the screen talks to it."""

    talk: Talk

    @property
    def job(self) -> Job:
        return self.talk.session.job

    @property
    def idle(self) -> Doing:
        """Speaking while the voice does, and whether anything is heard meanwhile; else what the ear does."""
        from guide.edge.screen.scene import Doing

        ear, speaker = self.talk.hearer.ear, self.talk.mouth.speaker
        if ear.key.open:
            return Doing.EAR_OPEN
        if speaker is not None and speaker.speaking:
            return Doing.SPEAKING if ear.half else Doing.SPEAKING_OVER
        if ear.lost:
            return Doing.KEYS
        return Doing.EAR_SHUT if ear.shut else Doing.LISTENING

    @property
    def slow(self) -> bool:
        """An answer first ends the listening that is on."""
        return True

    def hear(self, came: Any) -> list[Message]:
        """Return what to say to a typed line, to what was heard, or to what the meter has brought."""
        return self.talk.hear(Utterance(came, Source.TYPED) if isinstance(came, str) else came)

    def pending(self) -> Any:
        return self.talk.pending()


def _screen(talk: OnScreen | SpokenOnScreen, **more: Any) -> BenchScreen:
    from guide.edge.screen.bench import BenchScreen
    from guide.edge.screen.frame import charset_of

    return BenchScreen(talk, app.done, charset=charset_of(sys.stdout.encoding), colour=coloured(sys.stdout),
                       shown=app.ready_for_words, **more)  # fmt: skip


def on_screen(session: app.Session, first: list[Message], reader: Reader | None) -> None:
    """Talk on the full screen until the job is put aside, closed or left."""
    screen = _screen(OnScreen(session, reader), meter=str(reader.meter.name) if reader else "")
    if reader is None:
        screen.run(first)
        return
    reader.wake = screen.wake
    try:
        screen.run([*first, *begin_reading(session, reader)])
    finally:
        reader.stop()


def spoken_on_screen(talk: Talk, first: list[Message], ears: Telling) -> None:
    """Talk by voice on the full screen; what the ears tell is shown there as long as it stands."""
    meter = str(talk.reader.meter.name) if talk.reader else ""
    key = talk.hearer.ear.key
    screen = _screen(SpokenOnScreen(talk), meter=meter, talk_key=key.press, refresh_s=VOICE_REFRESH_S)
    talk.hearer.wake, ears.to = screen.wake, screen.tell
    if talk.reader is not None:
        talk.reader.wake = screen.wake
    try:
        screen.run(talk.open(first))
    finally:
        ears.to = Lines().tell
        talk.close()


@dataclass(slots=True)
class Telling:
    """Where lines go that belong to no answer; the screen takes them over while it stands."""

    to: Callable[[str], None]

    def __call__(self, text: str) -> None:
        self.to(text)


def choose(choice: Choice, view: View) -> str | None:
    """Put a choice on the screen or in lines; return the line typed, None where the technician leaves."""
    if shows_a_screen(view):
        from guide.edge.screen.counter import Counter
        from guide.edge.screen.frame import charset_of

        return Counter(choice, charset=charset_of(sys.stdout.encoding), colour=coloured(sys.stdout)).run()
    lines = Lines()
    if choice.trouble:
        lines.tell(choice.trouble)
    for key, text in choice.items:
        lines.tell(f"  {key}  {text}")
    lines.tell(choice.hint)
    return next((text.strip() for text in lines.typed() if text.strip() and text != "repeat"), None)
