"""What a connected meter and a connected supply have in common: a name, modes, a reading as their display shows it."""

from __future__ import annotations

import time
from collections.abc import Callable
from types import TracebackType
from typing import Self

from guide.core.errors import Unavailable
from guide.core.meter import HANDHELD, MeterProfile, ModeSpec
from guide.core.quantity import Measure
from guide.core.reading import Measured, Reading
from guide.core.steady import Shown, as_told, displayed
from guide.edge.instruments import scpi
from guide.edge.instruments.talk import Talk

PACE_S = 0.1  # between readings: a display is read ten times a second, and one that answers at once is not flooded
TAKE_IT_READINGS = 3


def pause_between() -> None:
    """Wait as long as one display stands."""
    time.sleep(PACE_S)


class Instrument:
    """An instrument that is asked for readings; one thread at a time. `profile` tells the error of each mode.

    After any failure (`Unavailable`, one clear line) the next call opens the line again. Opens it when made.
    """

    def __init__(
        self, talk: Talk, *, profile: MeterProfile = HANDHELD, pause: Callable[[], None] = pause_between
    ) -> None:
        self._talk = talk
        self._profile = profile
        self._pause = pause
        talk.ready()

    @property
    def identity(self) -> str:
        """The reply to `*IDN?`: maker, model, serial number, firmware."""
        return self._talk.identity

    @property
    def name(self) -> str:
        """Maker and model."""
        return scpi.name_of(self.identity)

    @property
    def address(self) -> str:
        return self._talk.link.address

    def supports(self, measure: Measure) -> bool:
        """Tell whether it may be asked for `measure`; False once it has refused. Sends nothing."""
        return measure in self._talk.functions and measure not in self._talk.missing

    def once(self, measure: Measure) -> Reading:
        """Return what the display shows now, for `take it`, a key or a foot switch.

        A display that moves is taken with a margin. Raises Unavailable: ModeMissing, NoAnswer, BadReply, ...
        """
        return as_told([self._shown(measure) for _ in range(TAKE_IT_READINGS)], self._spec(measure))

    def _shown(self, measure: Measure) -> Shown:
        spec = self._spec(measure)
        shown = self._talk.read(measure)
        return displayed(shown, spec) if isinstance(shown, Measured) else shown

    def _spec(self, measure: Measure) -> ModeSpec:
        spec = self._profile.spec(measure)
        if spec is None:
            raise Unavailable(f"no instrument reads {measure.value}")
        return spec

    def close(self) -> None:
        """Close the line. The instrument stays as it is."""
        self._talk.link.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()
