"""The key that opens the ear: tapped before and after speaking, or held down meanwhile.

A terminal tells when a key goes down and never when it comes up. Held down it comes again and again, though, so a press
while the ear is open closes it a moment later, and every further one puts that off. The moment also keeps the last
syllable of whoever taps too early.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

REPEATS_WITHIN_S = 0.25  # keyboards repeat a held key every 30 to 100 ms (common practice, no source)


class TalkKey:
    """May be pressed from any thread. `pressed` is called, in the pressing thread, when a press opens the ear."""

    def __init__(
        self, *, pressed: Callable[[], None] = lambda: None, clock: Callable[[], float] = time.monotonic
    ) -> None:
        self._pressed, self._clock = pressed, clock
        self._lock = threading.Lock()
        self._open = False
        self._closes_at: float | None = None

    @property
    def open(self) -> bool:
        """Whether what is said now is meant for the tool; stays so after the closing press until `close`."""
        return self._open

    @property
    def let_go(self) -> bool:
        """Whether the ear was open and is to be closed now."""
        with self._lock:
            return self._closes_at is not None and self._clock() >= self._closes_at

    def press(self) -> None:
        """Open the ear, or close it a moment after the last press."""
        with self._lock:
            opens = not self._open
            self._open = True
            self._closes_at = None if opens else self._clock() + REPEATS_WITHIN_S
        if opens:
            self._pressed()

    def close(self) -> None:
        """Close the ear: what was said has been taken."""
        with self._lock:
            self._open, self._closes_at = False, None
