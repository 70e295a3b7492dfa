"""A job by voice: prompts are said and shown, answers are heard or typed, whichever comes first."""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from guide import app
from guide.commands import metered
from guide.commands.metered import POLL_S, Came, Hint, Reader, begin_reading
from guide.core.errors import GuideError, Unavailable
from guide.core.intent import Command, Do, Expecting, Intent, Unclear, Utterance
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import Message, check_expecting, enter_means, expecting, question
from guide.core.reading import Source
from guide.core.words.aloud import speakable
from guide.core.words.understanding import understand
from guide.edge.voice.agreement import Asked
from guide.edge.voice.ear import Again, Ear
from guide.edge.voice.speaker import Saying, Speaker

# Said even after `quiet`: what waits for an answer, and what was understood.
NEEDED = frozenset({"caution", "ask", "confirm", "verdict", "repair", "unclear", "read", "prove", "closed", "held"})
TALK_KEY = " "  # and Enter, in lines; on the screen the key alone
Show = Callable[[list[Message]], None]
Line = Callable[[float], str | None]


@dataclass(slots=True)
class Hearer:
    """Listens in a thread of its own, one question at a time."""

    ear: Ear
    wake: Callable[[], None] = lambda: None  # called in the listening thread as soon as there is something to poll
    _cancel: threading.Event = field(default_factory=threading.Event)
    _found: queue.SimpleQueue[Heard] = field(default_factory=queue.SimpleQueue)
    _thread: threading.Thread | None = None

    def start(self, wants: Expecting, asked: Asked) -> None:
        """Begin to listen for an answer to a new question."""
        self.stop()
        self._cancel, self._found = threading.Event(), queue.SimpleQueue()
        self._thread = threading.Thread(
            target=self._listen, args=(wants, asked, self._cancel, self._found), daemon=True
        )
        self._thread.start()

    def _listen(self, wants: Expecting, asked: Asked, cancel: threading.Event, found: queue.SimpleQueue[Any]) -> None:
        try:
            heard = self.ear.listen(wants, asked=asked, cancel=cancel)
        except GuideError as error:
            found.put(Deaf(error))
            self.wake()
            return
        if heard is not None:
            found.put(heard)
            self.wake()

    def poll(self) -> Heard | None:
        """Return what was heard since, if anything."""
        try:
            return self._found.get_nowait()
        except queue.Empty:
            return None

    def pause(self, seconds: float) -> None:
        """Wait for sound to come in, no longer than `seconds`."""
        if self._thread is not None:
            self._thread.join(seconds)

    @property
    def over(self) -> bool:
        """Whether nothing more can be heard: the recordings have ended, or only a key would open the ear."""
        waiting = self._thread is not None and self._thread.is_alive()
        return (self.ear.shut or (self.ear.ended and not waiting)) and self._found.empty()

    def stop(self) -> None:
        """Stop listening."""
        self._cancel.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None


@dataclass(slots=True)
class Mouth:
    """Says messages; without a loudspeaker it says nothing and the screen is all there is."""

    speaker: Speaker | None

    def say(self, messages: list[Message], *, asked_for: bool = False) -> None:
        """Say `messages`; what was asked for in words is needed, whatever it is."""
        if self.speaker is None:
            return
        for message in messages:
            needed = asked_for or message["type"] in NEEDED
            self.speaker.say(speakable(str(message.get("say", ""))), weight=Saying.NEEDED if needed else Saying.EXTRA)

    def hush(self) -> None:
        if self.speaker is not None:
            self.speaker.stop()

    def obeys(self, command: Command) -> str:
        """Carry out what concerns the voice alone; return what to tell, empty for any other command."""
        if self.speaker is None or command not in (Command.SLOWER, Command.QUIET):
            return ""
        if command is Command.QUIET:
            self.speaker.quiet()
            return "Only what is needed from now on."
        return f"{self.speaker.slower()} words a minute."


@dataclass(frozen=True, slots=True)
class Deaf:
    """The ear cannot go on."""

    error: GuideError


Heard = Utterance | Again | Deaf


@dataclass(slots=True)
class Talk:
    """A session with an ear and a voice, and a connected meter if there is one: whoever has the answer first."""

    session: app.Session
    hearer: Hearer
    mouth: Mouth
    reader: Reader | None = None
    _over: threading.Event = field(default_factory=threading.Event)
    _ahead: threading.Thread | None = None

    def open(self, first: list[Message]) -> list[Message]:
        """Say what stands and begin to listen; return all there is to show."""
        told = [*first, *(begin_reading(self.session, self.reader) if self.reader else [])]
        self.mouth.say(told)
        self._listen()
        self._ahead = threading.Thread(target=self._prepare_all, name="guide-grammars", daemon=True)
        self._ahead.start()
        return told

    def _prepare_all(self) -> None:
        """Make the grammar of every check ready while the first prompt is said: a mode's first takes 15 to 50 ms."""
        job = self.session.job
        for check in job.tree.checks.values():
            if self._over.is_set():
                return
            self.hearer.ear.prepare(check_expecting(check, job.meter))

    def pending(self) -> Heard | Came | None:
        """Return what has been heard or read since, if anything."""
        return self.hearer.poll() or (self.reader.poll() if self.reader else None)

    def hear(self, came: Heard | Came) -> list[Message]:
        """Return what to show about what came in; it is said too, and listening goes on."""
        if isinstance(came, Utterance) and came.source is Source.TYPED:
            self.mouth.hush()
        request = isinstance(came, Utterance) and isinstance(self._meant(came), Do)
        told = self._answered(came)
        self.mouth.say(told, asked_for=request)
        if not app.done(told) and not isinstance(came, Hint | GuideError):  # those may come in the middle of a word
            self._listen()
        return told

    def close(self) -> None:
        """Stop listening and reading; let what is being said come to its end."""
        self._over.set()
        if self._ahead is not None:
            self._ahead.join()
        self.hearer.stop()
        if self.reader is not None:
            self.reader.stop()
        if self.mouth.speaker is not None:
            self.mouth.speaker.wait(timeout_s=20.0)

    def _meant(self, utterance: Utterance) -> Intent | Unclear:
        return understand(utterance, expecting(self.session.job))

    def _answered(self, came: Heard | Came) -> list[Message]:
        if isinstance(came, Again):
            return [self._note(came.say)]
        if isinstance(came, Deaf):
            return [self._note(f"{came.error}. Type the answer.")]
        heard: list[Message] = []
        if isinstance(came, Utterance):
            meant = self._meant(came)
            if isinstance(meant, Do) and (told := self.mouth.obeys(meant.command)):
                return [self._note(told)]
            heard = [self._heard(came)] if came.source is Source.SPOKEN else []
        if self.reader is not None:
            return [*heard, *metered.heard(self.session, self.reader, came)]
        assert isinstance(came, Utterance), "only a meter brings anything else"
        return [*heard, *self.session.hear(came)]

    def _listen(self) -> None:
        """Listen for the answer to the question that stands."""
        job, wants = self.session.job, expecting(self.session.job)
        at_counter = Asked.WORDS if job.phase is Phase.INTAKE else Asked.ANSWER
        asked = Asked.YES_NO if job.waits_for_yes else at_counter
        self.hearer.ear.prepare(wants)
        self.hearer.start(wants, asked)

    def _note(self, say: str) -> Message:
        return {"type": "told", "job": self.session.job.id, "say": say}

    def _heard(self, utterance: Utterance) -> Message:
        return {"type": "heard", "job": self.session.job.id, "words": utterance.text, "agreed": utterance.agreed}


def converse(talk: Talk, first: list[Message], show: Show, line: Line) -> None:
    """Talk until the job is put aside or closed, or neither lines nor sound can come any more."""
    show(talk.open(first))
    app.ready_for_words()
    for came in _incoming(talk, line):
        told = talk.hear(came)
        show(told)
        if app.done(told):
            break
    talk.close()


def _incoming(talk: Talk, line: Line) -> Iterator[Heard | Came]:
    """Yield what is heard, read and typed. A line without a word is Enter; one with a space in it is the key."""
    typing, hearer = True, talk.hearer
    while typing or not hearer.over:
        came = talk.pending()
        if came is not None:
            yield came
            continue
        text = line(POLL_S) if typing else ""
        if text is None:
            typing = False
        elif text and text.strip("\r\n") == TALK_KEY:
            hearer.ear.key.press()
        elif text:
            typed = text.strip("\r\n")
            yield Utterance(typed if typed.strip() else enter_means(question(talk.session.job) or {}), Source.TYPED)
        elif not typing:
            hearer.pause(POLL_S)


@contextmanager
def microphone(home: Path, tell: Callable[[str], None]) -> Iterator[tuple[Hearer, Mouth]]:
    """Open the microphone, the recognisers and the voice. Raises Unavailable where nothing can be heard."""
    from guide.edge.voice.loudspeaker import Loudspeaker
    from guide.edge.voice.microphone import Microphone
    from guide.edge.voice.panel import panel
    from guide.edge.voice.settings import settings
    from guide.edge.voice.speaker import Espeak

    wanted = settings(home)
    listeners = panel(home, vosk_folder=wanted.vosk_model)
    try:
        sound = Microphone(wanted.microphone, tell=tell)
    except Unavailable:
        listeners.close()
        raise
    speaker: Speaker | None
    try:
        speaker = Speaker(Espeak(wanted.voice), Loudspeaker(wanted.loudspeaker), rate=wanted.rate,
                          verbosity=wanted.say, tell=tell)  # fmt: skip
    except Unavailable as error:
        tell(f"{error}. Nothing will be said aloud.")
        speaker = None
    ear = Ear(sound, listeners, duplex=wanted.duplex, listens=wanted.listen,
              speaking=lambda: bool(speaker and speaker.speaking),
              interrupt=lambda: speaker.stop() if speaker else None, tell=tell)  # fmt: skip
    try:
        yield Hearer(ear), Mouth(speaker)
    finally:
        ear.close()
        if speaker is not None:
            speaker.close()
