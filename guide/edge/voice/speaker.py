"""Saying things: text to samples with the espeak-ng of the wheel, played so that it can be cut off at once.

The synthesiser's own playback cannot be stopped, so every line is rendered to a file and played here.
"""

from __future__ import annotations

import ctypes
import os
import sys
import tempfile
import threading
import time
import wave
from collections import OrderedDict, deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from pathlib import Path
from typing import Any, Protocol

from guide.core.errors import Unavailable

RATES = (110, 130, 150, 170, 195, 220)  # words a minute
_KEPT_CLIPS = 64
_TRIES = 4  # on a busy machine about one line in two hundred comes back empty
_PATIENCE_S = 10.0  # for the synthesiser; a line takes about 10 ms


class Saying(Enum):
    """How much a line matters: after `quiet` only needed ones are said."""

    NEEDED = "needed"
    EXTRA = "extra"


@dataclass(frozen=True, slots=True)
class Clip:
    """Rendered speech: mono, 16 bit."""

    samples: bytes
    rate: int


class Voice(Protocol):
    """Turns text into sound."""

    def render(self, text: str, words_a_minute: int) -> Clip:
        """Return `text` as sound. Raises Unavailable."""


class Output(Protocol):
    """Plays sound."""

    rate: int

    def play(self, samples: bytes, stopped: threading.Event) -> None:
        """Play to the end or until stopped. Raises Unavailable where the device is gone."""

    def close(self) -> None:
        """Let go of it."""


class Espeak:
    """pyttsx3 on espeak-ng: the library and the data of the wheel where they are installed, else the system's."""

    def __init__(self, name: str = "") -> None:
        """Load the engine and choose the voice `name` (by a part of its name). Raises Unavailable."""
        self._lock = threading.Lock()
        _bring_espeak()
        try:
            import pyttsx3

            self._engine = pyttsx3.init("espeak" if sys.platform.startswith("linux") else None)
        except (ImportError, RuntimeError, OSError, AttributeError) as error:
            raise Unavailable("speaking needs the voice parts: pip install 'bench-guide[voice]'") from error
        _silence_prints()
        self._finished = threading.Event()
        self._engine.connect("finished-utterance", lambda name=None, completed=True: self._finished.set())
        self.name = self._choose(name)

    def voices(self) -> tuple[str, ...]:
        """Return the names of the English voices."""
        return tuple(v.name for v in self._english())

    def _english(self) -> list[Any]:
        found = [v for v in self._engine.getProperty("voices") or [] if "/mb" not in v.id and "mb/" not in v.id]
        return [v for v in found if any(str(lang).strip("\x05\x02").startswith("en") for lang in v.languages)]

    def _choose(self, name: str) -> str:
        wanted = name or "America"
        for voice in self._english():
            if wanted.casefold() in voice.name.casefold() or wanted.casefold() in voice.id.casefold():
                self._engine.setProperty("voice", voice.id)
                return str(voice.name)
        if name:
            raise Unavailable(f"no voice is called {name!r}; there is: {'; '.join(self.voices())}")
        return "the engine's own"

    def render(self, text: str, words_a_minute: int) -> Clip:
        """Return `text` as sound; about 15 ms a line. One line at a time, in whichever thread."""
        with self._lock, tempfile.TemporaryDirectory(prefix="guide-") as folder:
            for attempt in range(_TRIES):
                clip = self._saved(text, words_a_minute, Path(folder) / f"line{attempt}.wav")
                if clip.samples:
                    return clip
        raise Unavailable("the voice made no sound; what is said is shown")

    def _saved(self, text: str, words_a_minute: int, file: Path) -> Clip:
        """Return one line as the engine saved it; without samples where it made none."""
        self._finished.clear()
        self._engine.setProperty("rate", words_a_minute)
        self._engine.save_to_file(text, str(file))
        self._engine.runAndWait()
        # The engine works in a thread of its own: the loop above may return before the file is whole, and a line begun
        # while it still calls itself busy says the one before.
        if not self._settled() or not file.exists():
            return Clip(b"", 0)
        with wave.open(str(file), "rb") as clip:
            return Clip(clip.readframes(clip.getnframes()), clip.getframerate())

    def _settled(self) -> bool:
        """Wait until the engine has finished a line and is ready for the next; tell whether it is."""
        until = time.monotonic() + _PATIENCE_S
        done = self._finished.wait(_PATIENCE_S)
        while self._engine.isBusy() and time.monotonic() < until:
            time.sleep(0.001)
        return done and not self._engine.isBusy()


def _bring_espeak() -> None:
    """Load the wheel's library before pyttsx3 looks for one. Its data path must be known first, or the C library ends
    the whole process."""
    try:
        import espeakng_loader
    except ImportError:
        return
    os.environ["ESPEAK_DATA_PATH"] = espeakng_loader.get_data_path()
    try:
        ctypes.CDLL(espeakng_loader.get_library_path(), ctypes.RTLD_GLOBAL)
    except OSError as error:
        raise Unavailable(f"the speech library of the wheel does not load here: {error}") from error


def _silence_prints() -> None:
    """The driver prints a line on standard output for every file it saves; that channel is not its own."""
    module = sys.modules.get("pyttsx3.drivers.espeak")
    if module is not None:
        module.__dict__["print"] = lambda *args, **kwargs: None


class Speaker:
    """Says lines one after another in a thread of its own.

    `tell` gets one line where the device is lost; from then on lines are skipped, not piled up.
    """

    def __init__(
        self, voice: Voice, output: Output, *, rate: int = 150, tell: Callable[[str], None] = lambda line: None
    ) -> None:
        self._voice, self._output, self._tell = voice, output, tell
        self._pace = min(RATES, key=lambda r: abs(r - rate))
        self._clips: OrderedDict[tuple[str, int], Clip] = OrderedDict()
        self._lines: deque[str] = deque()
        self._last: list[str] = []
        self._changed = threading.Condition()
        self._stopped = threading.Event()
        self._busy = self._quiet = self._closed = False
        self._thread = threading.Thread(target=self._run, name="guide-voice", daemon=True)
        self._thread.start()

    @property
    def speaking(self) -> bool:
        """Whether a line is being said or waits to be."""
        with self._changed:
            return self._busy or bool(self._lines)

    @property
    def pace(self) -> int:
        """Words a minute."""
        return self._pace

    def say(self, text: str, *, weight: Saying = Saying.NEEDED) -> None:
        """Say `text` after what is being said. Returns at once."""
        if not text.strip() or (self._quiet and weight is Saying.EXTRA):
            return
        with self._changed:
            if not self._busy and not self._lines:
                self._last = []
            self._last.append(text)
            self._stopped.clear()
            self._lines.append(text)
            self._changed.notify_all()

    def stop(self) -> None:
        """Fall silent at once and forget what waits."""
        with self._changed:
            self._lines.clear()
            self._stopped.set()
            self._changed.notify_all()

    def wait(self, timeout_s: float | None = None) -> bool:
        """Wait until everything has been said; tell whether it has."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._busy and not self._lines, timeout_s)

    def repeat(self) -> None:
        """Say the last lines again."""
        for line in list(self._last):
            self.say(line)

    def slower(self) -> int:
        """Speak a step slower; return the words a minute."""
        self._pace = max((r for r in RATES if r < self._pace), default=RATES[0])
        return self._pace

    def quiet(self) -> None:
        """Say only what is needed from now on."""
        self._quiet = True

    def prepare(self, text: str) -> None:
        """Render `text` ahead of its use."""
        self._clip(text)

    def close(self) -> None:
        """Fall silent and let go of the device."""
        self.stop()
        with self._changed:
            self._closed = True
            self._changed.notify_all()
        self._thread.join(timeout=2.0)
        self._output.close()

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: self._lines or self._closed)
                if self._closed:
                    return
                text, self._busy = self._lines.popleft(), True
            try:
                self._play(text)
            except Unavailable as error:
                self._tell(str(error))
                with self._changed:
                    self._lines.clear()
            finally:
                with self._changed:
                    self._busy = False
                    self._changed.notify_all()

    def _play(self, text: str) -> None:
        clip = self._clip(text)
        if not self._stopped.is_set():
            self._output.play(clip.samples, self._stopped)

    def _clip(self, text: str) -> Clip:
        key = (text, self._pace)
        if key not in self._clips:
            clip = self._voice.render(text, self._pace)
            if clip.rate != self._output.rate:
                from guide.edge.voice.audio import at_rate

                clip = Clip(at_rate(clip.samples, clip.rate, self._output.rate), self._output.rate)
            self._clips[key] = clip
            while len(self._clips) > _KEPT_CLIPS:
                self._clips.popitem(last=False)
        return self._clips[key]
