"""Microphones and loudspeakers: named, opened, lost and found again."""

from __future__ import annotations

import queue
import threading
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Any

from guide.core.errors import Unavailable
from guide.edge.voice.audio import FRAME_BYTES, RATE, hushed, sound_library

LOST_AFTER_S = 1.0  # a microphone delivers every 30 ms; this long without anything, it is gone
TRY_AGAIN_S = 2.0
_PERIOD_MS = 30
_PERIODS = 16  # half a second: a recogniser keeps every other thread waiting for as long as it decodes
_NO_CARD = "no sound card was found; the job goes on typed"


@dataclass(frozen=True, slots=True)
class Device:
    """One device by the name the system gives it. `handle` is the library's own."""

    name: str
    handle: Any = None


def microphones() -> tuple[Device, ...]:
    """Return what can be listened with, the system's default first. Raises Unavailable where there is no card."""
    return _listed("get_captures")


def loudspeakers() -> tuple[Device, ...]:
    """Return what can be played on. Raises Unavailable where there is no card."""
    return _listed("get_playbacks")


def _listed(which: str) -> tuple[Device, ...]:
    miniaudio = sound_library()
    with hushed():
        try:
            found = getattr(miniaudio.Devices(), which)()
        except miniaudio.MiniaudioError as error:
            raise Unavailable(_NO_CARD) from error
    if not found:
        raise Unavailable(_NO_CARD)
    return tuple(Device(d["name"], d["id"]) for d in found)


def chosen(name: str, among: tuple[Device, ...]) -> Device:
    """Return the device whose name holds `name`, whatever the case; the first for an empty one.

    Raises Unavailable, naming what there is.
    """
    for device in among:
        if name.casefold() in device.name.casefold():
            return device
    raise Unavailable(f"no sound device is called {name!r}; there is: {'; '.join(d.name for d in among)}")


Sink = Callable[[bytes], None]
OpenMicrophone = Callable[[str, Sink], Callable[[], None]]  # (name, where samples go) -> what closes it


def open_microphone(name: str, sink: Sink) -> Callable[[], None]:
    """Start the microphone `name`; samples go to `sink` from the library's thread. Raises Unavailable."""
    miniaudio = sound_library()
    handle = chosen(name, microphones()).handle if name else None
    with hushed():
        try:
            device = miniaudio.CaptureDevice(
                miniaudio.SampleFormat.SIGNED16,
                1,
                RATE,
                _PERIOD_MS,
                device_id=handle,
                callback_periods=_PERIODS,
                app_name="guide",
            )
            device.start(_poured(sink))
        except miniaudio.MiniaudioError as error:
            raise Unavailable("no microphone could be opened; the job goes on typed") from error

    def close() -> None:
        with hushed():
            device.close()

    return close


def _poured(sink: Sink) -> Generator[None, bytes, None]:
    def pour() -> Generator[None, bytes, None]:
        while True:
            sink(bytes((yield)))

    ready = pour()
    next(ready)
    return ready


class Microphone:
    """Frames from a microphone. Where it falls silent for good it is opened anew until it is back.

    `tell` gets one line when it is lost and one when it returns. Raises Unavailable only on construction.
    """

    def __init__(
        self,
        name: str = "",
        *,
        tell: Callable[[str], None] = lambda line: None,
        opened: OpenMicrophone = open_microphone,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._name, self._tell, self._opened, self._clock = name, tell, opened, clock
        self._pieces: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._rest = b""
        self._close: Callable[[], None] | None = opened(name, self._pieces.put)
        self._last = self._tried = clock()

    @property
    def lost(self) -> bool:
        """Whether it is gone for now."""
        return self._close is None

    def frame(self, wait_s: float) -> bytes | None:
        """Return the next frame, None where it did not come within `wait_s`."""
        until = self._clock() + wait_s
        while len(self._rest) < FRAME_BYTES:
            try:
                self._rest += self._pieces.get(timeout=max(0.0, until - self._clock()))
                self._last = self._clock()
            except queue.Empty:
                self._look_after()
                return None
        piece, self._rest = self._rest[:FRAME_BYTES], self._rest[FRAME_BYTES:]
        return piece

    def drop(self) -> None:
        """Forget what has been picked up and not yet been asked for."""
        self._rest = b""
        while not self._pieces.empty():
            self._pieces.get_nowait()
            self._last = self._clock()

    def _look_after(self) -> None:
        now = self._clock()
        if self._close is not None and now - self._last > LOST_AFTER_S:
            self._close()
            self._close = None
            self._tried = now
            self._tell("The microphone is gone. Type on; it is taken up again when it is back.")
        elif self._close is None and now - self._tried > TRY_AGAIN_S:
            self._tried = now
            try:
                self._close = self._opened(self._name, self._pieces.put)
            except Unavailable:
                return
            self._last = now
            self._tell("The microphone is back.")

    def close(self) -> None:
        """Let go of the device."""
        if self._close is not None:
            self._close()
            self._close = None


class Loudspeaker:
    """Plays samples; what is left stops sounding within two periods of 10 ms when told to."""

    def __init__(self, name: str = "", *, rate: int = 22_050) -> None:
        """Open the device `name`. Raises Unavailable."""
        miniaudio = sound_library()
        self.rate = rate
        self._failed = miniaudio.MiniaudioError
        handle = chosen(name, loudspeakers()).handle if name else None
        with hushed():
            try:
                self._device = miniaudio.PlaybackDevice(
                    miniaudio.SampleFormat.SIGNED16, 1, rate, 10, device_id=handle, callback_periods=3, app_name="guide"
                )
            except miniaudio.MiniaudioError as error:
                raise Unavailable("no loudspeaker could be opened; what is said is shown") from error

    def play(self, samples: bytes, stopped: threading.Event) -> None:
        """Play mono 16-bit `samples` to their end or until `stopped` is set. Raises Unavailable where the device is
        gone."""
        done = threading.Event()
        try:
            self._device.start(_fed(samples, stopped, done))
        except self._failed as error:
            raise Unavailable("the loudspeaker is gone; what is said is shown") from error
        played = done.wait(len(samples) / 2 / self.rate + LOST_AFTER_S)
        try:
            self._device.stop()
        except self._failed as error:
            raise Unavailable("the loudspeaker is gone; what is said is shown") from error
        if not played:
            raise Unavailable("the loudspeaker is gone; what is said is shown")

    def close(self) -> None:
        """Let go of the device."""
        with hushed():
            self._device.close()


def _fed(samples: bytes, stopped: threading.Event, done: threading.Event) -> Generator[bytes, int, None]:
    """Hand out samples by the frame; silence once stopped or at the end."""

    def feed() -> Generator[bytes, int, None]:
        at = 0
        frames = yield b""
        while at < len(samples) and not stopped.is_set():
            piece = samples[at : at + 2 * frames]
            at += len(piece)
            frames = yield piece.ljust(2 * frames, b"\0")
        done.set()
        while True:
            frames = yield bytes(2 * frames)

    ready = feed()
    next(ready)
    return ready
