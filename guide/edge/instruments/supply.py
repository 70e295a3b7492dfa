"""A bench supply that speaks SCPI: its voltage and current are read. It is never set, and never switched."""

from __future__ import annotations

from collections.abc import Callable

from guide.core.quantity import Measure
from guide.core.reading import Reading
from guide.core.steady import RUN, Shown, still
from guide.edge.instruments.instrument import Instrument


class BenchSupply(Instrument):
    """A supply's own display, read over the wire: volts and amps DC, the source of a check's supply current."""

    def take(self, measure: Measure, stop: Callable[[], bool]) -> Reading | None:
        """Return the reading once it stands still, None when `stop()` says so first.

        There are no probes to wait for, and no current is a reading like any other. Raises as `once`.
        """
        spec = self._spec(measure)
        window: list[Shown] = []
        while not stop():
            window = [*window[1 - RUN :], self._shown(measure)]
            steady = still(window, spec) if len(window) == RUN else None
            if steady is not None:
                return steady
            self._pause()
        return None
