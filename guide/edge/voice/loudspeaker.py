"""A loudspeaker: plays a clip, falls silent at once, and is opened anew after it was gone."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Generator
from typing import Any

from guide.core.errors import Unavailable
from guide.edge.voice.audio import hushed, sound_library
from guide.edge.voice.devices import Patience, State, chosen, lists, loudspeakers

GONE = "The loudspeaker is gone; what is said is shown."
_SLICE_S = 0.1


class Loudspeaker:
    """Plays samples; what is left stops sounding within two periods of 10 ms when told to. One that is gone is opened
    anew at the next clip."""

    def __init__(self, name: str = "", *, rate: int = 22_050) -> None:
        """Open the device `name`. Raises Unavailable."""
        self.rate, self._name = rate, name
        self._failed: type[Exception] = sound_library().MiniaudioError
        self._wanted: frozenset[str] = frozenset()
        self._device: Any = self._opened()

    def _opened(self) -> Any:
        miniaudio = sound_library()
        there = loudspeakers()
        device = chosen(self._name, there) if self._name else None
        self._wanted = frozenset({device.name}) if device else frozenset(d.name for d in there)
        with hushed():
            try:
                return miniaudio.PlaybackDevice(
                    miniaudio.SampleFormat.SIGNED16, 1, self.rate, 10, device_id=device.handle if device else None,
                    callback_periods=3, app_name="guide",
                )  # fmt: skip
            except self._failed as error:
                raise Unavailable("no loudspeaker could be opened; what is said is shown") from error

    def play(self, samples: bytes, stopped: threading.Event) -> None:
        """Play mono 16-bit `samples` to their end or until `stopped` is set. Raises Unavailable where the device is
        gone."""
        if self._device is None:
            try:
                self._device = self._opened()
            except Unavailable as error:
                raise Unavailable(GONE) from error
        feed = Feed(samples, stopped)
        try:
            self._device.start(feed.frames())
            played = feed.played(lambda: lists("get_playbacks", self._wanted))
            self._device.stop()
        except self._failed:
            played = False
        if not played:
            self.close()
            raise Unavailable(GONE)

    def close(self) -> None:
        """Let go of the device."""
        if self._device is not None:
            with hushed():
                self._device.close()
            self._device = None


class Feed:
    """One clip on its way to the loudspeaker, handed out by the frame; silence once stopped or at the end."""

    def __init__(self, samples: bytes, stopped: threading.Event) -> None:
        self._samples, self._stopped, self._at = samples, stopped, 0
        self.done = threading.Event()

    def frames(self) -> Generator[bytes, int, None]:
        """Return what the device takes its samples from."""
        ready = self._frames()
        next(ready)
        return ready

    def _frames(self) -> Generator[bytes, int, None]:
        frames = yield b""
        while self._at < len(self._samples) and not self._stopped.is_set():
            piece = self._samples[self._at : self._at + 2 * frames]
            self._at += len(piece)
            frames = yield piece.ljust(2 * frames, b"\0")
        self.done.set()
        while True:
            frames = yield bytes(2 * frames)

    def played(
        self,
        there: Callable[[], bool],
        *,
        clock: Callable[[], float] = time.monotonic,
        wait: Callable[[float], bool] | None = None,
    ) -> bool:
        """Wait for the end of the clip, or the stop; False where the device takes no more, being gone or mute."""
        wait = wait or self.done.wait
        patience, at, began = Patience(), self._at, clock()
        while not wait(_SLICE_S):
            took, began = clock() - began, clock()
            if self._stopped.is_set():
                return True
            if self._at != at:
                at = self._at
                patience.came()
            elif patience.waited(_SLICE_S, took, there) is not State.WAITED_FOR:
                return False
        return True
