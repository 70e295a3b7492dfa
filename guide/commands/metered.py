"""A job with a connected meter: the reading comes from whoever has it first, the meter or the technician."""

from __future__ import annotations

import os
import queue
import select
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from guide import app
from guide.core.errors import GuideError
from guide.core.intent import Command, Do, Say, Utterance
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import Message, expecting
from guide.core.jobs.wording import shown_reading
from guide.core.quantity import Measure
from guide.core.reading import Reading, Source
from guide.core.words.understanding import understand

POLL_S = 0.05


@dataclass(frozen=True, slots=True)
class Hint:
    """Something the meter's side has to tell while it waits."""

    say: str


Came = Reading | GuideError | Hint


@dataclass(slots=True)
class Reader:
    """Asks a meter for readings in a thread of its own, one at a time. `meter` is a BenchMeter or its twin."""

    meter: Any
    wake: Callable[[], None] = lambda: None  # called in the meter's thread as soon as there is something to poll
    said_missing: set[Measure] = field(default_factory=set)
    _stop: threading.Event = field(default_factory=threading.Event)
    _found: queue.SimpleQueue[Came] = field(default_factory=queue.SimpleQueue)
    _thread: threading.Thread | None = None

    def start(self, measure: Measure) -> str:
        """Begin to wait for a reading; return what to tell where the meter cannot give one (once a mode)."""
        self.stop()
        if not self.meter.supports(measure):
            told = (
                "" if measure in self.said_missing else f"{self.meter.name} has no {measure.value} mode: read it out."
            )
            self.said_missing.add(measure)
            return told
        self._stop, self._found = threading.Event(), queue.SimpleQueue()
        self._thread = threading.Thread(target=self._wait, args=(measure, self._stop, self._found), daemon=True)
        self._thread.start()
        return ""

    def _wait(self, measure: Measure, stop: threading.Event, found: queue.SimpleQueue[Any]) -> None:
        try:
            reading = self.meter.take(measure, stop.is_set, tell=lambda said: self._bring(found, Hint(said)))
        except GuideError as error:
            self._bring(found, error)
            return
        if reading is not None:
            self._bring(found, reading)

    def _bring(self, found: queue.SimpleQueue[Any], came: Came) -> None:
        found.put(came)
        self.wake()

    @property
    def waiting(self) -> bool:
        """Whether a reading of the meter is being waited for."""
        return self._thread is not None and self._thread.is_alive()

    def poll(self) -> Came | None:
        """Return what has come in since, if anything: a reading, a fault, or a hint to tell."""
        try:
            return self._found.get_nowait()
        except queue.Empty:
            return None

    def stop(self) -> None:
        """Give up the wait that is on, and what it has brought: the question it answers has been answered."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()
            self._thread = None
        self._found = queue.SimpleQueue()

    def now(self, measure: Measure) -> Reading:
        """Return what the meter shows now. Raises Unavailable."""
        self.stop()
        reading: Reading = self.meter.once(measure)
        return reading


def incoming(
    reader: Reader, line: Callable[[float], str | None], *, enter: Callable[[], str] = lambda: ""
) -> Iterator[str | Came]:
    """Yield typed lines and the meter's readings as they come; ends with the input. `line(timeout)` is '' for none.

    `enter` is what a line without a word says: a key, where somebody types; for a rig nothing but itself.
    """
    while True:
        came = reader.poll()
        if came is not None:
            yield came
            continue
        text = line(POLL_S)
        if text is None:
            return
        if text:
            typed = text.strip("\r\n")
            yield typed if typed.strip() else enter() or typed


def line_or_nothing(timeout_s: float) -> str | None:
    """Return a typed line, '' where none came in time, None at the end of input."""
    if os.name == "nt":  # the console cannot be waited for there; every line is waited for instead
        return sys.stdin.readline() or None
    ready, _, _ = select.select([sys.stdin], [], [], timeout_s)
    return (sys.stdin.readline() or None) if ready else ""


def converse(session: app.Session, first: list[Message], reader: Reader, show: Callable[[list[Message]], None],
             line: Callable[[float], str | None], *, enter: Callable[[], str] = lambda: "") -> None:  # fmt: skip
    """Talk until the job is put aside, closed or the input ends; readings of the meter count as they come."""
    show([*first, *begin_reading(session, reader)])
    for came in incoming(reader, line, enter=enter):
        told = heard(session, reader, came)
        show(told)
        if app.done(told):
            break
    reader.stop()


def heard(session: app.Session, reader: Reader, came: str | Utterance | Came) -> list[Message]:
    """Return what to say to what came in, and have the meter wait for the next reading where one is asked for."""
    told = _answered(session, reader, came)
    return [*told, *begin_reading(session, reader)] if _moved(told) else told


def _moved(told: list[Message]) -> bool:
    return any(m["type"] not in ("told", "unclear") for m in told)


def measure_asked(session: app.Session) -> Measure | None:
    """Return what the meter could answer now, None where no reading is asked for."""
    job = session.job
    asking = job.phase in (Phase.ASKING, Phase.CONFIRMING) and not job.told and job.check is not None
    return job.check.measure if asking and job.check and job.check.measure.takes_a_reading else None


def begin_reading(session: app.Session, reader: Reader) -> list[Message]:
    """Have the meter wait for the reading asked for, if any; return what there is to tell about it."""
    measure = measure_asked(session)
    if measure is None:
        reader.stop()
        return []
    told = reader.start(measure)
    return [_note(session, told)] if told else []


def _note(session: app.Session, say: str) -> Message:
    return {"type": "told", "job": session.job.id, "say": say}


def _answered(session: app.Session, reader: Reader, came: str | Utterance | Came) -> list[Message]:
    if isinstance(came, Hint):
        return [_note(session, came.say)]
    if isinstance(came, GuideError):
        return [_note(session, f"{came}. Say the reading yourself, or take it to try the meter again.")]
    if not isinstance(came, str | Utterance):
        return session.try_act(Say(came, shown_reading(came), Source.METER))
    utterance = came if isinstance(came, Utterance) else Utterance(came, Source.TYPED)
    measure = measure_asked(session)
    takes = Do(Command.TAKE_IT)
    if measure is not None and understand(utterance, expecting(session.job)) == takes:
        try:
            reading = reader.now(measure)
        except GuideError as error:
            return [_note(session, f"{error}.")]
        return session.try_act(Say(reading, shown_reading(reading), Source.METER))
    return session.hear(utterance)
