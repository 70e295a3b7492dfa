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
from guide.commands.metered import POLL_S
from guide.core.errors import GuideError, Unavailable
from guide.core.intent import Command, Do, Expecting, Utterance
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import Message, expecting
from guide.core.reading import Source
from guide.core.words.understanding import understand
from guide.edge.voice.agreement import Asked
from guide.edge.voice.ear import Again, Ear
from guide.edge.voice.speaker import Saying, Speaker

# Said even after `quiet`: what waits for an answer, and what was understood.
NEEDED = frozenset({"caution", "ask", "confirm", "verdict", "repair", "unclear", "read", "prove", "closed", "held"})
Show = Callable[[list[Message]], None]
Line = Callable[[float], str | None]


@dataclass(slots=True)
class Hearer:
    """Listens in a thread of its own, one question at a time."""

    ear: Ear
    wake: Callable[[], None] = lambda: None  # called in the listening thread as soon as there is something to poll
    _cancel: threading.Event = field(default_factory=threading.Event)
    _found: queue.SimpleQueue[Utterance | Again | GuideError] = field(default_factory=queue.SimpleQueue)
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
            found.put(error)
            self.wake()
            return
        if heard is not None:
            found.put(heard)
            self.wake()

    def poll(self) -> Utterance | Again | GuideError | None:
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
        """Whether nothing more can be heard: the recordings have ended."""
        waiting = self._thread is not None and self._thread.is_alive()
        return self.ear.ended and not waiting and self._found.empty()

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

    def say(self, messages: list[Message]) -> None:
        if self.speaker is None:
            return
        for message in messages:
            weight = Saying.NEEDED if message["type"] in NEEDED else Saying.EXTRA
            self.speaker.say(str(message.get("say", "")), weight=weight)

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
        return f"Slower: {self.speaker.slower()} words a minute."


def converse(session: app.Session, first: list[Message], hearer: Hearer, mouth: Mouth, show: Show, line: Line) -> None:
    """Talk until the job is put aside or closed, or neither lines nor sound can come any more."""
    _tell(first, mouth, show)
    listen(session, hearer)
    app.ready_for_words()
    for came in _incoming(hearer, line):
        if isinstance(came, Utterance) and came.source is Source.TYPED:
            mouth.hush()
        told = answered(session, mouth, came)
        _tell(told, mouth, show)
        if app.done(told):
            break
        listen(session, hearer)
    hearer.stop()
    if mouth.speaker is not None:
        mouth.speaker.wait(timeout_s=20.0)


def _tell(told: list[Message], mouth: Mouth, show: Show) -> None:
    show(told)
    mouth.say(told)


def _incoming(hearer: Hearer, line: Line) -> Iterator[Utterance | Again | GuideError]:
    typing = True
    while typing or not hearer.over:
        heard = hearer.poll()
        if heard is not None:
            yield heard
            continue
        text = line(POLL_S) if typing else ""
        if text is None:
            typing = False
        elif text:
            yield Utterance(text.strip("\r\n"), Source.TYPED)
        elif not typing:
            hearer.pause(POLL_S)


def listen(session: app.Session, hearer: Hearer) -> None:
    """Listen for the answer to the question that stands."""
    asked = {Phase.CONFIRMING: Asked.YES_NO, Phase.INTAKE: Asked.WORDS}.get(session.job.phase, Asked.ANSWER)
    wants = expecting(session.job)
    hearer.ear.prepare(wants)
    hearer.start(wants, asked)


def answered(session: app.Session, mouth: Mouth, came: Utterance | Again | GuideError) -> list[Message]:
    """Return what to tell about what came in: an answer, something not made out, a fault of the ear."""
    if isinstance(came, Again):
        return [_note(session, came.say)]
    if isinstance(came, GuideError):
        return [_note(session, f"{came}. Type the answer.")]
    meant = understand(came, expecting(session.job))
    if isinstance(meant, Do) and (told := mouth.obeys(meant.command)):
        return [_note(session, told)]
    heard = [_heard(session, came)] if came.source is Source.SPOKEN else []
    return [*heard, *session.hear(came)]


def _note(session: app.Session, say: str) -> Message:
    return {"type": "told", "job": session.job.id, "say": say}


def _heard(session: app.Session, utterance: Utterance) -> Message:
    return {"type": "heard", "job": session.job.id, "words": utterance.text, "agreed": utterance.agreed}


@contextmanager
def microphone(home: Path, tell: Callable[[str], None]) -> Iterator[tuple[Hearer, Mouth]]:
    """Open the microphone, the recognisers and the voice. Raises Unavailable where nothing can be heard."""
    from guide.edge.voice.devices import Loudspeaker, Microphone
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
        speaker = Speaker(Espeak(wanted.voice), Loudspeaker(wanted.loudspeaker), rate=wanted.rate, tell=tell)
    except Unavailable as error:
        tell(f"{error}. Nothing will be said aloud.")
        speaker = None
    ear = Ear(sound, listeners, duplex=wanted.duplex, speaking=lambda: bool(speaker and speaker.speaking),
              interrupt=lambda: speaker.stop() if speaker else None, tell=tell)  # fmt: skip
    try:
        yield Hearer(ear), Mouth(speaker)
    finally:
        ear.close()
        if speaker is not None:
            speaker.close()


@contextmanager
def recordings(files: list[Path], home: Path, tell: Callable[[str], None]) -> Iterator[tuple[Hearer, Mouth]]:
    """Open recordings in place of a microphone: the same end-pointing, the same recognisers, nothing said aloud."""
    from guide.edge.voice.ear import wav_ear
    from guide.edge.voice.panel import panel

    ear = wav_ear(files, panel(home), tell=tell)
    try:
        yield Hearer(ear), Mouth(None)
    finally:
        ear.close()
