"""A conversation with one instrument: who it is, which function is set, a reading, its errors.

Every first word on a freshly opened line is `*IDN?`: its reply tells that question and answer are in step again, and
that the instrument is still the same one.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum, auto

from guide.core.errors import Unavailable
from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange
from guide.core.words.limits import mode_name
from guide.edge.instruments import scpi
from guide.edge.instruments.link import Link, NoAnswer

_MOST_ERRORS = 64  # queues hold 10 to 30
_STRAY_LINES = 3


class Wording(Enum):
    """How the instrument is asked. A sparse one knows only MEASure."""

    CONFIGURE_THEN_READ = auto()
    MEASURE = auto()


class Talk:
    """One instrument on `link`. `functions` are what it may be asked for; `missing` grows as it refuses them."""

    def __init__(
        self,
        link: Link,
        functions: Mapping[Measure, str],
        *,
        wording: Wording = Wording.CONFIGURE_THEN_READ,
        noun: str = "meter",
    ) -> None:
        self.link = link
        self._noun = noun
        self.functions = functions
        self.identity = ""
        self.missing: set[Measure] = set()
        self._first_wording = self._wording = wording
        self._keeps_errors = True
        self._answered: set[Measure] = set()
        self._configures = False  # seen to take a CONFigure
        self._opening = 0  # the opening of the line that `_set` belongs to
        self._set: Measure | None = None

    def ready(self) -> tuple[scpi.Error, ...]:
        """Open the line if need be and get in step; returns the errors the instrument held. Raises Unavailable."""
        if self.link.is_open and self._opening == self.link.openings:
            return ()
        self._set = None
        self._in_step()
        held = self._errors() if self._keeps_errors else ()
        self._opening = self.link.openings
        return held

    def identify(self) -> str:
        """Return the reply to `*IDN?`, asking nothing else. Raises Unavailable."""
        self._in_step()
        return self.identity

    def set_anew(self) -> None:
        """Set the function again at the next reading: a key pressed on the instrument may have changed it since."""
        self._set = None

    def read(self, measure: Measure) -> Measured | OverRange:
        """Set the function if it is not, measure once, return the reading in base units.

        Raises ModeMissing, NotANumber, BadReply, NoAnswer, Reported.
        """
        self.ready()
        if measure not in self.functions or measure in self.missing:
            raise self._lacks(measure)
        reply = self._answer_of(measure)
        self._answered.add(measure)
        try:
            reading = scpi.reading(reply, measure)
        except scpi.BadReply:
            self.link.close()
            raise
        except scpi.NotANumber:
            if self.link.owed:  # it may be the answer to a name that was asked: the number would come after it
                self.link.close()
            raise
        self.link.owed = 0  # had a name been left over, it would have come before
        return reading

    def _answer_of(self, measure: Measure) -> str:
        if self._wording is Wording.CONFIGURE_THEN_READ and not self._configures:
            self._configure(Measure.VOLTS_DC)
        if self._wording is Wording.CONFIGURE_THEN_READ:
            self._configure(measure)
        try:
            return self._ask(scpi.READ if self._set is measure else scpi.measure(self.functions[measure]))
        except NoAnswer as silence:
            return self._after_silence(measure, silence)

    def _configure(self, measure: Measure) -> None:
        if self._set is measure:
            return
        self._set = None
        self.link.send(scpi.configure(self.functions[measure]))
        held = self._errors()
        if not held:
            self._set, self._configures = measure, True
        elif not any(e.not_understood for e in held):
            raise scpi.Reported(f"the {self._noun} reports {held[0]} on {mode_name(measure)}; check its front panel")
        elif self._configures:
            raise self._lacks(measure)
        else:
            self._wording = Wording.MEASURE  # every meter has volts, so it is CONFigure that it lacks

    def _after_silence(self, measure: Measure, silence: NoAnswer) -> str:
        """A query without an answer: unknown to the instrument, or the line is broken. Opens it again to see."""
        read_on = self._set is measure
        held = self.ready()
        if read_on and any(e.not_understood for e in held):
            self._wording = Wording.MEASURE
            return self._ask(scpi.measure(self.functions[measure]))
        never_known = not self._keeps_errors and measure not in self._answered
        if any(e.not_understood for e in held) or never_known:
            raise self._lacks(measure) from silence
        if held:
            raise scpi.Reported(f"the {self._noun} reports {held[0]} on {mode_name(measure)}") from silence
        raise silence

    def _lacks(self, measure: Measure) -> scpi.ModeMissing:
        self.missing.add(measure)
        name = mode_name(measure)
        return scpi.ModeMissing(f"the {self._noun} has no {name}; read it on another one and say or type it")

    def _ask(self, query: str) -> str:
        """Return the answer to `query`, past names that `_in_step` asked for once too often."""
        reply = self.link.ask(query)
        while reply == self.identity and self.link.owed:
            reply = self.link.listen()
        return reply

    def _in_step(self) -> None:
        """Ask for the name until no answer to an earlier question can be left.

        Answers come in the order of the questions, so with n of them owed the next n + 1 lines hold them all, and
        all that can be left then are names, which are known for what they are.
        """
        for _ in range(self.link.owed + 1):
            reply = self.link.ask(scpi.IDENTIFY)
        for _ in range(_STRAY_LINES):
            if scpi.is_identity(reply):
                break
            reply = self.link.listen()  # something an earlier program asked for
        if not scpi.is_identity(reply):
            self.link.close()
            raise scpi.BadReply(f"{self.link.address} answered {scpi.shortened(reply)} when asked for its name")
        if reply != self.identity:
            self._forget()
            self.identity = reply

    def _forget(self) -> None:
        """Another instrument answers at this address, or the first one."""
        self.missing, self._answered = set(), set()
        self._wording, self._configures, self._keeps_errors = self._first_wording, False, True
        self._opening = 0

    def _errors(self) -> tuple[scpi.Error, ...]:
        """Return the error queue, emptied."""
        held: list[scpi.Error] = []
        while (entry := self._next_error()).number != scpi.NO_ERROR:
            held.append(entry)
            if len(held) == _MOST_ERRORS:
                self.link.send(scpi.CLEAR)
            elif len(held) > _MOST_ERRORS:
                self.link.close()
                raise Unavailable(f"{self.link.address} never runs out of errors; the last is {entry}. Restart it")
        return tuple(held)

    def _next_error(self) -> scpi.Error:
        try:
            entry = scpi.error(self._ask(scpi.NEXT_ERROR))
        except scpi.BadReply:
            self.link.close()
            raise
        except NoAnswer:
            if self._opening:
                raise  # it had a queue before: this is a broken line
        else:
            self.link.owed = 0
            return entry
        # Never an answer to this query: an instrument without a queue. Its line was closed by the silence.
        self._keeps_errors, self._wording = False, Wording.MEASURE
        self._in_step()
        return scpi.Error(scpi.NO_ERROR, "")
