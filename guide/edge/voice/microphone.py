"""A microphone: opened, lost and found again."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Protocol

from guide.core.errors import Unavailable
from guide.edge.voice.audio import FRAME_BYTES, RATE, hushed, sound_library
from guide.edge.voice.devices import Patience, State, chosen, heard_by, listed, lists, microphones

TRY_AGAIN_S = 2.0
_PERIOD_MS = 30
_PERIODS = 48  # a second and a half: a recogniser keeps every other thread waiting for as long as it decodes
GONE = "The microphone is gone. Type on; it is taken up again when it is back."
MUTE = "The microphone gives no sound. Type on; it is tried again."
BACK = "The microphone is back."
ANOTHER = "Another microphone listens now"
LOOK_EVERY_S = 30.0  # whether the system gives another one's sound; asking takes some 20 ms
LOOK_AFTER_GAP_S = 2.0  # since the last look: a stream that is moved stops for a moment


@dataclass(frozen=True, slots=True)
class Tap:
    """An open device. `there` asks the system whether it still has it; `beside` are the names listed with it."""

    close: Callable[[], None]
    there: Callable[[], bool] = lambda: True
    beside: frozenset[str] = frozenset()
    heard_by: Callable[[], str] = lambda: ""  # the microphone sound comes from now, empty where that is not known


Sink = Callable[[bytes], None]
OpenMicrophone = Callable[[str, Sink], Tap]  # (name, where samples go)


def open_microphone(name: str, sink: Sink) -> Tap:
    """Start the microphone `name`; samples go to `sink` from the library's thread. Raises Unavailable."""
    miniaudio = sound_library()
    there = microphones() if not name else listed("get_captures")
    device = chosen(name, there) if name else None
    with hushed():
        try:
            opened = miniaudio.CaptureDevice(
                miniaudio.SampleFormat.SIGNED16,
                1,
                RATE,
                _PERIOD_MS,
                device_id=device.handle if device else None,
                callback_periods=_PERIODS,
                app_name="guide",
            )
            opened.stop_callback = _unheeded  # without one the library does not keep `running`
            opened.start(_poured(sink))
        except miniaudio.MiniaudioError as error:
            raise Unavailable("no microphone could be opened") from error
    # Which one the system's own choice is it does not tell: where that falls silent and any is missing, it is that one.
    names = frozenset(d.name for d in there)
    wanted = frozenset({device.name}) if device else names

    def close() -> None:
        with hushed():
            opened.close()

    mine = device.name if device else ""
    return Tap(
        close, lambda: opened.running and lists("get_captures", wanted), names, lambda: heard_by(mine)
    )


def _unheeded() -> None:
    return None


def _poured(sink: Sink) -> Generator[None, bytes, None]:
    def pour() -> Generator[None, bytes, None]:
        while True:
            sink(bytes((yield)))

    ready = pour()
    next(ready)
    return ready


def _another(name: str) -> str:
    return f"{ANOTHER}: {name}." if name else f"{ANOTHER}."


class Pieces(Protocol):
    """Where the samples of the library's thread are fetched: a queue."""

    def put(self, piece: bytes) -> None: ...

    def get(self, *, timeout: float) -> bytes: ...

    def empty(self) -> bool: ...


class Microphone:
    """Frames from a microphone. Where it is gone or mute it is opened anew until it is back.

    `tell` gets one line when it is lost and one when it returns. Raises Unavailable only on construction.
    """

    def __init__(
        self,
        name: str = "",
        *,
        tell: Callable[[str], None] = lambda line: None,
        opened: OpenMicrophone = open_microphone,
        clock: Callable[[], float] = time.monotonic,
        pieces: Pieces | None = None,
    ) -> None:
        self._name, self._tell, self._opened, self._clock = name, tell, opened, clock
        self._pieces: Pieces = pieces or queue.SimpleQueue()
        self._rest = b""
        self._patience = Patience()
        self._tap: Tap | None = opened(name, self._pieces.put)
        self._tried = clock()
        self._beside, self._by = self._tap.beside, self._tap.heard_by()
        self._looked, self._gap = clock(), False
        self._lost = self._anew = False

    @property
    def lost(self) -> bool:
        """Whether it is gone for now, as was told."""
        return self._lost

    def frame(self, wait_s: float) -> bytes | None:
        """Return the next frame, None where it did not come within `wait_s`."""
        until = self._clock() + wait_s
        while len(self._rest) < FRAME_BYTES:
            began = self._clock()
            left = max(0.0, until - began)
            try:
                self._rest += self._pieces.get(timeout=left)
                self._came()
            except queue.Empty:
                self._look_after(left, self._clock() - began)
                return None
        piece, self._rest = self._rest[:FRAME_BYTES], self._rest[FRAME_BYTES:]
        return piece

    def drop(self) -> None:
        """Forget what has been picked up and not yet been asked for."""
        if self._emptied():
            self._came()

    def _emptied(self) -> bool:
        """Throw away what waits; tell whether anything did."""
        self._rest, any_waited = b"", False
        while not self._pieces.empty():
            self._pieces.get(timeout=0.0)
            any_waited = True
        return any_waited

    def _came(self) -> None:
        self._patience.came()
        self._anew = False
        if self._tap is None:
            return
        if self._lost:
            self._lost = False
            by = self._tap.heard_by()
            same = by == self._by if by and self._by else self._beside <= self._tap.beside
            self._tell(BACK if same else _another(by))
            self._beside, self._by, self._looked = self._tap.beside, by, self._clock()
        elif self._clock() - self._looked > (LOOK_AFTER_GAP_S if self._gap else LOOK_EVERY_S):
            self._look(self._tap)

    def _look(self, tap: Tap) -> None:
        """See which microphone sound comes from: a sound server moves the stream of one that is unplugged to another at
        once, and of a chosen one too."""
        self._looked, self._gap = self._clock(), False
        by = tap.heard_by()
        if by and self._by and by != self._by:
            self._tell(_another(by))
        self._by = by or self._by

    def _look_after(self, meant_s: float, took_s: float) -> None:
        """Nothing came: see whether the device is gone, or is back."""
        self._gap = self._gap or meant_s > 0
        if self._tap is None:
            if self._clock() - self._tried > TRY_AGAIN_S:
                self._open()
            return
        match self._patience.waited(meant_s, took_s, self._tap.there):
            case State.GONE:
                self._lose(GONE)
            case State.MUTE:
                self._stalled()

    def _stalled(self) -> None:
        """There and mute: open it anew in silence; the second time in a row say so."""
        if self._anew:
            self._lose(MUTE)
            return
        self._shut()
        self._open()
        self._anew = True
        if self._tap is None:
            self._lose(GONE)

    def _lose(self, why: str) -> None:
        self._shut()
        self._tried = self._clock()
        if not self._lost:
            self._lost = True
            self._tell(why)

    def _open(self) -> None:
        self._tried = self._clock()
        self._patience.came()
        self._emptied()  # of the device that was, and long past
        try:
            self._tap = self._opened(self._name, self._pieces.put)
        except Unavailable:
            self._tap = None

    def _shut(self) -> None:
        if self._tap is not None:
            self._tap.close()
            self._tap = None

    def close(self) -> None:
        """Let go of the device."""
        self._shut()
