"""A connected meter in a conversation: whoever has the reading first, and nothing lost when it fails."""

import queue

import pytest

from guide.commands.metered import Reader, converse
from guide.core.errors import Unavailable
from guide.core.jobs.questions import enter_means, question
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, OverRange, Source
from guide.core.tree import Power
from tests.worlds import TestBench


class ScriptedMeter:
    """A meter whose readings are given beforehand; an exception in the script is raised."""

    name = "Fernleaf bench meter"

    def __init__(self, *script, lacks=()):
        self.script, self.lacks = list(script), set(lacks)

    def supports(self, measure):
        return measure not in self.lacks

    def take(self, measure, stop, *, tell):
        if not self.script:
            while not stop():
                pass
            return None
        return self.once(measure)

    def once(self, measure):
        came = self.script.pop(0)
        if isinstance(came, Exception):
            raise came
        return OverRange(measure.unit) if came == "OL" else Measured(Quantity(came, measure.unit), 0.01)


def talk(bench, meter, *typed, **keys):
    """Type `typed` one by one, each only when the question before it stands; then end the input."""
    waiting, shown = list(typed), []

    def line(timeout_s):
        if reader._thread is not None and reader._thread.is_alive() and meter.script:
            return ""
        if not reader._found.empty():
            return ""
        return waiting.pop(0) if waiting else None

    reader = Reader(meter)
    converse(bench.session, [], reader, shown.extend, line, **keys)
    return shown


@pytest.fixture
def bench(tmp_path):
    return TestBench(tmp_path)


def test_the_meters_reading_is_taken_without_a_typed_word(bench):
    shown = talk(bench, ScriptedMeter(12.1, "OL"), "ready", "unplugged")
    assert [m["band"] for m in shown if m["type"] == "read"] == ["good", "none"]
    assert bench.job.taken["feed-volts"].source == Source.METER
    assert bench.job.verdict is not None


def test_a_mode_the_meter_lacks_is_said_once_and_the_technician_goes_on(bench):
    shown = talk(bench, ScriptedMeter(lacks=[Measure.VOLTS_DC]), "ready", "skip", "go back", "12.1")
    said = [m["say"] for m in shown if "read it out" in m.get("say", "")]
    assert len(said) == 1
    assert bench.job.taken["feed-volts"].source == Source.TYPED


def test_a_meter_that_fails_is_one_clear_line_and_typing_goes_on(bench):
    shown = talk(bench, ScriptedMeter(Unavailable("the meter does not answer")), "ready", "12.1")
    assert any("does not answer" in m["say"] and "yourself" in m["say"] for m in shown)
    assert bench.job.taken["feed-volts"].band == "good"


def test_enter_is_the_same_key_as_without_a_meter_and_takes_no_reading(bench):
    """It acknowledges and says yes; at a reading it asks again, for a foot switch hit twice must not measure."""
    meter = ScriptedMeter(lacks=[Measure.VOLTS_DC])
    shown = talk(bench, meter, "\n", "\n", "12.1", " \n", enter=lambda: enter_means(question(bench.job) or {}))
    assert [m["type"] for m in shown].count("unclear") == 0
    assert [m["check"] for m in shown if m["type"] == "ask"][:2] == ["feed-volts", "feed-volts"]
    assert [m["value"] for m in shown if m["type"] == "read"] == [12.1]
    assert bench.job.power is Power.OFF, "the last one acknowledged `unplugged`"


def test_for_a_rig_an_empty_line_is_no_key(bench):
    shown = talk(bench, ScriptedMeter(), "\n")
    assert [m["type"] for m in shown] == ["unclear"]


def test_take_it_takes_what_the_display_shows(bench):
    meter = ScriptedMeter(Unavailable("probes in the air"), 12.2)
    talk(bench, meter, "ready", "take it")
    assert bench.job.taken["feed-volts"].readings[0].quantity.value == 12.2


def test_a_typed_reading_wins_over_a_meter_that_is_still_waiting(bench):
    talk(bench, ScriptedMeter(), "ready", "12.1")
    assert bench.job.taken["feed-volts"].source == Source.TYPED


def test_the_queue_of_one_question_is_not_read_for_the_next():
    reader = Reader(ScriptedMeter())
    reader.start(Measure.DIODE)
    old = reader._found
    reader.start(Measure.OHMS)
    old.put(Measured(Quantity(0.5, Measure.DIODE.unit), 0.001))
    assert reader.poll() is None
    assert isinstance(old, queue.SimpleQueue)
    reader.stop()
