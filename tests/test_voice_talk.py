"""A job by voice as it is lived at the bench: the key that opens the ear, the voice's own commands, a meter beside it.

Heard by the real recognisers from audio_samples; each clip is played when the question it answers stands.
"""

import threading
import time
from collections import deque

import pytest

from guide.commands.demo import question_key
from guide.commands.metered import Reader
from guide.commands.screening import SpokenOnScreen
from guide.commands.spoken import TALK_KEY, Hearer, Mouth, Talk, converse
from guide.core.errors import Unavailable
from guide.core.intent import Utterance
from guide.core.jobs.questions import check_expecting, question
from guide.core.quantity import Measure, Quantity
from guide.core.reading import Measured, Source
from guide.core.tree import Power
from guide.edge.instruments.discover import Wire, connect
from guide.edge.screen.scene import Doing
from guide.edge.terminal import render
from guide.edge.voice.audio import FRAME_BYTES, RATE, EndOfSound, read_sound
from guide.edge.voice.ear import Ear
from guide.edge.voice.endpoint import Endpointer
from guide.edge.voice.fakes import SilentOutput, SilentVoice
from guide.edge.voice.settings import Listens
from guide.edge.voice.speaker import Speaker, Verbosity
from guide.edge.voice.talkkey import TalkKey
from tests.samples import MANIFEST, SAMPLES
from tests.screens import bench_screen, play
from tests.test_metered import ScriptedMeter
from tests.worlds import TestBench

ANSWERS = {row["question"]: row["file"] for row in MANIFEST["job"]}
CLIPS = {row["transcript"]: row["file"] for row in MANIFEST["clips"]}
SPACE = " "
PATIENCE_S = 60.0  # for the whole job; where all is well it takes seconds
SILENCE_AFTER_S = 0.6  # of each clip, so that the end-pointing closes


@pytest.fixture
def bench(tmp_path):
    return TestBench(tmp_path / "store")


class Technician:
    """Says to each question that stands what `answers` has for it, once; with a key, only while that is open.

    `first` is said before the answer to feed-volts. Frames for the ear are on one side, typed lines on the other.
    """

    def __init__(self, bench, answers, *, until, first=(), key=None):
        self._bench, self._answers, self._first, self.key = bench, dict(answers), list(first), key
        self._until, self._gives_up = until, time.monotonic() + PATIENCE_S
        self._frames, self._said = deque(), None
        self._closed, self.clips = False, []
        self._more, self._typed = threading.Event(), threading.Event()
        self.lost = False

    @property
    def done(self):
        return self._until(self._bench.job) or time.monotonic() > self._gives_up

    def begin(self):
        """Begin the clip for what stands; tell whether there is one that has not been said."""
        key, seq = question_key(question(self._bench.job) or {"type": "nothing"}), self._bench.job.seq
        if self._first and key == "ask:feed-volts":
            self.clips.append(self._first.pop(0))
        elif key in self._answers and (key, seq) != self._said:
            self._said = (key, seq)
            self.clips.append(self._answers[key])
        else:
            return False
        samples = read_sound(SAMPLES / self.clips[-1]) + bytes(2 * round(SILENCE_AFTER_S * RATE))
        whole = len(samples) - len(samples) % FRAME_BYTES
        self._frames += [samples[at : at + FRAME_BYTES] for at in range(0, whole, FRAME_BYTES)]
        self._more.set()
        return True

    def frame(self, wait_s):
        if self._frames and (self.key is None or self.key.open):
            return self._frames.popleft()
        if self.done:
            raise EndOfSound
        if self.key is None and self.begin():
            return self._frames.popleft()
        self._more.wait(wait_s)  # as for a microphone: what comes, or the time is over
        self._more.clear()
        return None

    def close(self):
        pass

    def leave_to_the_meter(self, question):
        del self._answers[question]

    def wait_until_said(self):
        while self._frames and not self.done:
            self._typed.wait(0.01)

    def taps(self):
        """Whether the hand goes to the key now: to open the ear where there is something to say, to close it after."""
        if not self.key.open:
            self._closed = False
            return self.begin()
        if self._frames or self._closed:
            return False
        self._closed = True
        return True

    def line(self, timeout_s):
        if self.done:
            return None
        if self.key is not None and self.taps():
            return f"{TALK_KEY}\n"
        self._typed.wait(timeout_s)
        return ""


def job_by_voice(bench, panel, technician, *, mouth=None, reader=None, **more):
    """Talk in plain lines until the technician is done; return what was shown."""
    shown, ear = [], Ear(technician, panel, key=technician.key, **more)
    talk = Talk(bench.session, Hearer(ear), mouth or Mouth(None), reader)
    converse(talk, bench.said, shown.extend, technician.line)
    return shown


class Prepared:
    """A panel that hears nothing and keeps what it was to be ready for."""

    def __init__(self):
        self.questions = []

    def prepare(self, expecting):
        self.questions.append(expecting)


def asked_for_ohms(job):
    return job.chosen == "bus-ohms" and job.told == ""


def assert_volts_were_heard(job):
    taken = job.taken["feed-volts"]
    assert (taken.source, taken.readings[0].quantity.value) == (Source.SPOKEN, 11.9)


@pytest.mark.parametrize("listens", Listens)
def test_in_plain_lines_a_space_opens_the_ear_and_a_space_closes_it(bench, panel, listens):
    technician = Technician(bench, ANSWERS, until=asked_for_ohms, key=TalkKey())
    shown = job_by_voice(bench, panel, technician, listens=listens)
    assert_volts_were_heard(bench.job)
    assert asked_for_ohms(bench.job)
    assert next(m["words"] for m in shown if m["type"] == "heard") == "ready"
    assert "  heard: ready" in [line for m in shown for line in render(m)]


def test_in_plain_lines_enter_says_yes_to_what_was_heard(bench):
    """Without a sound: the ear is shut, and three lines are typed."""
    lines = iter(["\n", "", "twelve point one\n", "\n"])
    technician = Technician(bench, {}, until=asked_for_ohms, key=TalkKey())
    prepared = Prepared()
    ear = Ear(technician, prepared, listens=Listens.KEY, endpointer=Endpointer(lambda frame: 0.0))
    converse(Talk(bench.session, Hearer(ear), Mouth(None)), bench.said, lambda told: None, lambda _: next(lines, None))
    assert bench.job.power is Power.OFF
    assert asked_for_ohms(bench.job)


def test_the_grammar_of_every_check_is_made_ready_at_the_beginning(bench):
    prepared, done = Prepared(), threading.Event()
    ear = Ear(Technician(bench, {}, until=lambda job: done.is_set()), prepared, endpointer=Endpointer(lambda _: 0.0))
    talk = Talk(bench.session, Hearer(ear), Mouth(None))
    talk.open(bench.said)
    talk._ahead.join(PATIENCE_S)
    done.set()
    talk.close()
    for check in bench.job.tree.checks.values():
        assert check_expecting(check, bench.job.meter) in prepared.questions, check.id


def test_on_the_screen_space_opens_the_ear_and_closes_it(bench, panel):
    technician = Technician(bench, ANSWERS, until=asked_for_ohms, key=TalkKey())
    ear, kept = Ear(technician, panel, key=technician.key, listens=Listens.KEY), []
    talk = Talk(bench.session, Hearer(ear), Mouth(None))
    talk.hearer.wake = lambda: kept[0].wake()

    def heard():
        """Wait until what was said is there to be shown, or has been."""
        while bench.job.power is not Power.ON and talk.hearer._found.empty() and not technician.done:
            talk.hearer._thread.join(0.01)

    steps = [lambda: talk.open([]), "", technician.begin, SPACE, "", technician.wait_until_said, SPACE, heard, "", ""]
    seen = play(bench_screen(bench, talk=SpokenOnScreen(talk), keep=kept, talk_key=technician.key.press), steps)
    talk.close()
    assert seen.ever("not listening, Space to speak")
    assert seen.ever("listening until Space")
    assert seen.ever("you  ready")
    assert bench.job.power is Power.ON


def test_a_space_in_a_line_is_a_letter_on_the_screen(bench):
    pressed = []
    play(bench_screen(bench, talk_key=lambda: pressed.append(1)), ["\r", "12.1 volts\r"])
    assert pressed == []
    assert bench.job.taken["feed-volts"].band == "good"


class Aloud:
    """A voice whose lines are kept with their pace."""

    def __init__(self):
        self.lines = []

    def render(self, text, words_a_minute):
        self.lines.append((text, words_a_minute))
        return SilentVoice().render(text, words_a_minute)


def test_slower_repeat_and_quiet_are_obeyed_in_the_middle_of_a_job(bench, panel):
    voice = Aloud()
    speaker = Speaker(voice, SilentOutput(), rate=150)
    first = [CLIPS["slower"], CLIPS["repeat"], CLIPS["quiet"]]
    technician = Technician(bench, ANSWERS, first=first, until=asked_for_ohms)
    shown = job_by_voice(bench, panel, technician, mouth=Mouth(speaker))
    speaker.close()
    asked = bench.session.job.tree.checks["feed-volts"].ask
    paces = [pace for text, pace in voice.lines if text == asked]
    assert paces == [150, 130], "asked, then repeated at the slower pace"
    told = [m["say"] for m in shown if m["type"] == "told"]
    assert told == ["130 words a minute.", "Only what is needed from now on."]
    assert set(told) <= {text for text, _ in voice.lines}, "what was obeyed is said"
    assert_volts_were_heard(bench.job)
    assert voice.lines[-1][0] == bench.session.job.tree.checks["bus-ohms"].ask, "what is needed is said on"


def test_what_was_asked_for_is_said_even_after_quiet(bench):
    voice = Aloud()
    speaker = Speaker(voice, SilentOutput(), verbosity=Verbosity.SHORT)
    mouth = Mouth(speaker)
    mouth.say([{"type": "told", "say": "By the way."}])
    mouth.say([{"type": "told", "say": "Because of the bits."}], asked_for=True)
    assert speaker.wait(PATIENCE_S)
    speaker.close()
    assert [text for text, _ in voice.lines] == ["Because of the bits."]


def test_the_voice_says_units_in_words(bench):
    voice = Aloud()
    speaker = Speaker(voice, SilentOutput())
    Mouth(speaker).say([{"type": "told", "say": "Not as in a good unit: bus A: 3 Ω, short; bus B: OL."}])
    assert speaker.wait(PATIENCE_S)
    speaker.close()
    assert [text for text, _ in voice.lines] == ["Not as in a good unit: bus A: 3 ohms, short; bus B: O L."]


WORDS = {key: file for key, file in ANSWERS.items() if not key.startswith("ask:")}


def test_with_a_meter_the_readings_are_its_own_and_the_words_are_heard(bench, panel):
    technician = Technician(bench, WORDS, until=lambda job: job.verdict is not None)
    shown = job_by_voice(bench, panel, technician, reader=Reader(ScriptedMeter(12.1, "OL")))
    assert {taken.source for taken in bench.job.taken.values()} == {Source.METER}
    assert [m["words"] for m in shown if m["type"] == "heard"] == ["ready", "unplugged"]
    assert bench.job.verdict.cause == "cable-broken"


def test_what_the_meter_cannot_measure_is_read_out_and_counts_as_spoken(bench, panel):
    technician = Technician(bench, ANSWERS, until=lambda job: "bus-ohms" in job.taken)
    meter = ScriptedMeter(12.1, lacks=[Measure.OHMS])
    technician.leave_to_the_meter("ask:feed-volts")
    shown = job_by_voice(bench, panel, technician, reader=Reader(meter))
    assert bench.job.taken["feed-volts"].source == Source.METER
    assert bench.job.taken["bus-ohms"].source == Source.SPOKEN
    assert any("read it out" in m.get("say", "") for m in shown)


SIMULATED = """
spec: "1.1"
devices:
  bench:
    eom:
      TCPIP INSTR: {q: "\\n", r: "\\n"}
    error:
      response: {}
      error_queue:
        - {q: "SYST:ERR?", default: '0,"No error"', command_error: '-113,"Undefined header"'}
    dialogues:
      - {q: "*IDN?", r: "FERNLEAF,DM-6,0042,1.3"}
      - {q: "*CLS"}
      - {q: "CONF:VOLT:DC"}
      - {q: "READ?", r: "+1.20500000E+01"}
resources:
  TCPIP::10.0.0.5::inst0::INSTR: {device: bench}
"""


def test_a_simulated_instrument_and_a_voice_share_a_job(bench, panel, tmp_path):
    """`take it` has the meter read over VISA; it knows no ohms, so those are said."""
    pytest.importorskip("pyvisa_sim")
    (tmp_path / "meter.yaml").write_text(SIMULATED, encoding="utf-8")
    wire = Wire(backend=f"{tmp_path / 'meter.yaml'}@sim", timeout_s=0.5)
    technician = Technician(bench, ANSWERS, first=[CLIPS["take it"]], until=lambda job: "bus-ohms" in job.taken)
    technician.leave_to_the_meter("ask:feed-volts")
    with connect(None, tmp_path, wire=wire) as meter:
        job_by_voice(bench, panel, technician, reader=Reader(meter))
    volts, ohms = (bench.job.taken[check] for check in ("feed-volts", "bus-ohms"))
    assert (volts.source, volts.readings[0].quantity.value) == (Source.METER, pytest.approx(12.05))
    assert (ohms.source, ohms.readings[0].quantity.value) == (Source.SPOKEN, 99.0)


def test_a_meter_that_fails_is_told_and_the_voice_goes_on(bench, panel):
    technician = Technician(bench, ANSWERS, until=asked_for_ohms)
    shown = job_by_voice(bench, panel, technician, reader=Reader(ScriptedMeter(Unavailable("the meter is off"))))
    assert any(m.get("say", "").startswith("the meter is off. Say the reading yourself") for m in shown)
    assert_volts_were_heard(bench.job)


def both_at_once(bench, *, agreed):
    """At a point for volts, a value was heard and the meter has brought one before either was looked at."""
    bench.hears("ready")
    ear = Ear(Technician(bench, {}, until=lambda job: True), Prepared(), endpointer=Endpointer(lambda frame: 0.0))
    talk = Talk(bench.session, Hearer(ear), Mouth(None), Reader(ScriptedMeter()))
    talk.open([])
    talk.reader._found.put(Measured(Quantity(12.2, Measure.VOLTS_DC.unit), 0.01))
    talk.hearer._found.put(Utterance("twelve point one", Source.SPOKEN, agreed=agreed))
    return talk


def values(bench):
    return {check: [r.quantity.value for r in taken.readings] for check, taken in bench.job.taken.items()}


def test_of_a_value_said_and_one_measured_at_the_same_time_one_counts(bench):
    talk = both_at_once(bench, agreed=True)
    talk.hear(talk.pending())
    assert values(bench) == {"feed-volts": [12.1]}
    assert talk.pending() is None, "the meter's belongs to a question that has been answered"
    talk.close()


def test_the_meter_still_answers_while_what_was_said_waits_for_a_yes(bench):
    talk = both_at_once(bench, agreed=False)
    talk.hear(talk.pending())
    assert values(bench) == {}
    assert talk.reader.waiting
    talk.hear(Measured(Quantity(12.2, Measure.VOLTS_DC.unit), 0.01))
    assert values(bench) == {"feed-volts": [12.2]}
    assert bench.job.taken["feed-volts"].source == Source.METER
    talk.close()


def test_a_meter_that_was_first_leaves_nothing_of_what_was_being_said(bench):
    talk = both_at_once(bench, agreed=True)
    talk.hear(talk.reader.poll())
    assert values(bench) == {"feed-volts": [12.2]}
    assert talk.pending() is None, "what was said then was said to the point before"
    talk.close()


def test_the_screen_does_not_say_it_listens_while_the_microphone_is_gone(bench):
    technician = Technician(bench, {}, until=lambda job: True)
    screen = SpokenOnScreen(Talk(bench.session, Hearer(Ear(technician, Prepared())), Mouth(None)))
    assert screen.idle is Doing.LISTENING
    technician.lost = True
    assert screen.idle is Doing.KEYS
