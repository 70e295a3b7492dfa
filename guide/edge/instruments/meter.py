"""The connected bench meter: takes a reading by itself when the probes have come down and the display stands still."""

from __future__ import annotations

from collections.abc import Callable

from guide.core.quantity import UNPOWERED, Measure
from guide.core.reading import Reading
from guide.core.steady import Leads, Watch, blinked, seen, standing_still, taken, touched
from guide.edge.instruments import guard, scpi
from guide.edge.instruments.instrument import Instrument

MOST_BLANKS = 10  # readings without a number in a row, until the technician is told
HINT_AFTER = 50  # readings, about five seconds
LIFT = "That may be the last point still. Lift the probe and touch again, or say take it."
SAY_SO = "It reads as with the leads in the air. If they are on the point, say take it."


def _silent(line: str) -> None:
    """Say nothing."""


class BenchMeter(Instrument):
    """A meter. Diode, ohms and continuity are refused on a point that holds a voltage (LivePoint)."""

    _blanks = 0

    def once(self, measure: Measure) -> Reading:
        """As `Instrument.once`, after a look for a voltage where the mode needs none. Raises LivePoint too."""
        self._refuse_live(measure)
        self._talk.set_anew()
        return super().once(measure)

    def take(
        self, measure: Measure, stop: Callable[[], bool], *, tell: Callable[[str], None] = _silent
    ) -> Reading | None:
        """Wait until the probes come down and the display stands still; None when `stop()` says so first.

        `stop` is asked before every reading. `tell` is given a hint, at most once, where waiting is of no use.
        Raises as `once`; where there is a voltage, as soon as the probes touch.
        """
        watch, hint = Watch(self._spec(measure)), ""
        while not stop():
            watch = self._watched(watch)
            reading = taken(watch)
            if reading is not None:
                return reading
            if not hint:
                hint = _hint(watch)
                if hint:
                    tell(hint)
            self._pause()
        return None

    def _watched(self, watch: Watch) -> Watch:
        """Return `watch` after one more reading, with a look for a voltage when the probes have just come down."""
        measure = watch.spec.measure
        try:
            after = seen(watch, self._shown(measure))
        except scpi.NotANumber:
            self._blanks += 1
            if self._blanks >= MOST_BLANKS:
                self._blanks = 0
                raise
            return blinked(watch)
        self._blanks = 0
        if touched(watch, after):
            # Not before: leads in the air pick up volts of their own, and only what comes down is ever taken.
            self._refuse_live(measure)
            self._talk.set_anew()
        return after

    def _refuse_live(self, measure: Measure) -> None:
        if measure in UNPOWERED:
            guard.look(lambda: self._talk.read(Measure.VOLTS_DC), measure)


def _hint(watch: Watch) -> str:
    if standing_still(watch):
        return LIFT
    return SAY_SO if watch.leads is Leads.AIR and watch.count >= HINT_AFTER else ""
