"""The screen as the technician works it: keys in, drawings out, through prompt_toolkit's own pipe and terminal."""

import re
from dataclasses import replace

import pytest
from prompt_toolkit.data_structures import Size as Window

from guide.commands.metered import Reader
from guide.commands.screening import OnScreen, SpokenOnScreen
from guide.commands.spoken import Hearer, Mouth, Talk
from guide.core.choice import Choice
from guide.core.errors import JobOpenElsewhere, StoreError, Unavailable
from guide.core.intent import Utterance
from guide.core.reading import Source
from guide.core.tree import Power
from guide.edge.screen.counter import Counter
from guide.edge.screen.frame import charset_of
from guide.edge.screen.scene import Doing
from guide.edge.voice.talkkey import TalkKey
from tests.screens import LEAVE, bench_screen, play
from tests.test_metered import ScriptedMeter
from tests.worlds import TestBench

ENTER, BACKSPACE, F5, F7, F10 = "\r", "\x7f", "\x1b[15~", "\x1b[18~", "\x1b[21~"


@pytest.fixture
def bench(tmp_path):
    return TestBench(tmp_path)


def test_a_whole_job_is_done_with_a_foot_switch_and_the_readings(bench):
    """Enter acknowledges; readings and choices are typed."""
    play(bench_screen(bench), [ENTER, "12.1\r", ENTER, "OL\r", "enough\r", "1\r", "done\r", ENTER, "60.1\r", "works\r"])
    assert bench.job.closed.cause == "cable-broken"
    assert bench.job.closed.proven


def test_enter_never_answers_a_reading_or_a_choice(bench):
    play(bench_screen(bench), [ENTER, ENTER, ENTER])
    assert bench.job.taken == {}
    assert bench.job.chosen == "feed-volts"


def test_backspace_on_an_empty_line_scratches_that_and_in_a_line_only_a_letter(bench):
    play(bench_screen(bench), [ENTER, "12.15", BACKSPACE, ENTER])
    assert bench.job.taken["feed-volts"].readings[0].quantity.value == 12.1
    play(bench_screen(bench), [BACKSPACE])
    assert bench.job.taken == {}


def test_a_function_key_says_its_word(bench):
    seen = play(bench_screen(bench), [ENTER, F5])
    assert seen.ever("bits")
    play(bench_screen(bench), ["12.1\r", F7])
    assert bench.job.taken == {}
    play(bench_screen(bench), [F10])
    assert bench.job.held is not None


def test_leaving_keeps_the_job_and_the_interrupt_is_told(bench):
    play(bench_screen(bench), [ENTER, "12.1\r", LEAVE])
    assert bench.job.taken["feed-volts"].band == "good"
    with pytest.raises(KeyboardInterrupt):
        play(bench_screen(bench), ["\x03"])


def failing(error):
    def fail(*_args, **_more):
        raise error

    return fail


def test_a_full_disk_is_a_line_in_the_talk_and_the_question_stands(bench, monkeypatch):
    monkeypatch.setattr(bench.store, "append", failing(StoreError("the disk is full")))
    seen = play(bench_screen(bench), [ENTER, ""])
    assert " guide  the disk is full" in seen.rows()
    assert " Takes: ready" in seen.rows()
    assert bench.job.power is Power.UNKNOWN


def test_a_job_taken_over_by_another_window_ends_the_screen_with_its_line(bench, monkeypatch):
    monkeypatch.setattr(bench.store, "append", failing(JobOpenElsewhere("job 1 is open elsewhere")))
    with pytest.raises(JobOpenElsewhere):
        play(bench_screen(bench), [ENTER])


def test_several_lines_pasted_are_several_answers(bench):
    play(bench_screen(bench), ["\x1b[200~ready\n12.1\nunplugged\x1b[201~", ENTER])
    assert bench.job.chosen == "bus-ohms"


def test_what_was_heard_is_shown_with_how_sure_it_is(bench):
    kept = []
    said = [
        lambda: kept[0].bring(Utterance("ready", Source.SPOKEN, agreed=True)),
        lambda: kept[0].bring(Utterance("twelve point one", Source.SPOKEN, 0.4)),
        "",
    ]
    seen = play(bench_screen(bench, keep=kept), said)
    assert seen.ever("you  ready")
    assert seen.ever("(sure: two recognisers agree)")
    assert seen.ever("(one recogniser: a reading waits for yes)")
    assert bench.last["type"] == "caution"
    assert bench.job.pending is not None
    play(bench_screen(bench), [ENTER])
    assert bench.job.taken["feed-volts"].band == "good", "Enter is the yes to a read-back"


def test_what_the_tool_is_about_is_always_shown_in_words(bench):
    kept = []
    steps = [lambda d=d: kept[0].show(d) for d in Doing] + [""]
    seen = play(bench_screen(bench, keep=kept), steps)
    for doing in Doing:
        assert seen.ever(doing.value)


class ScriptedEar:
    """An ear that hears what it is given, once each time it is asked to listen."""

    ended = shut = silent = lost = False

    def __init__(self, *said, half=True):
        self.half = half
        self.said, self.prepared, self.key = list(said), [], TalkKey()

    def prepare(self, wants):
        self.prepared.append(wants)

    def listen(self, wants, *, asked, cancel):
        if self.said:
            return self.said.pop(0)
        self.silent = True
        cancel.wait(30)
        return None


class ScriptedSpeaker:
    """A voice that keeps what it was given to say."""

    speaking = False

    def __init__(self):
        self.said, self.stops = [], 0

    def say(self, text, *, weight):
        self.said.append(text)

    def stop(self):
        self.stops += 1


def test_by_voice_the_screen_shows_what_was_heard_says_what_it_tells_and_keys_still_count(bench):
    ear = ScriptedEar(Utterance("ready", Source.SPOKEN, agreed=True), Utterance("twelve point one", Source.SPOKEN))
    kept, hearer, speaker = [], Hearer(ear), ScriptedSpeaker()
    talk = Talk(bench.session, hearer, Mouth(speaker))
    hearer.wake = lambda: kept[0].wake()

    def heard():
        while not ear.silent and hearer._thread.is_alive():
            hearer._thread.join(0.01)

    steps = [
        lambda: talk.open([]),
        heard,
        "",
        heard,
        "",
        "",
        ENTER,
        "",
        lambda: kept[0].tell("The microphone is back."),
        "",
    ]
    seen = play(bench_screen(bench, talk=SpokenOnScreen(talk), keep=kept), steps)
    hearer.stop()
    assert bench.job.taken["feed-volts"].source == Source.SPOKEN
    assert seen.ever("(sure: two recognisers agree)")
    assert seen.ever("(one recogniser: a reading waits for yes)")
    assert seen.ever("listening")
    assert seen.ever("guide  The microphone is back.")
    assert "Twelve point one volts. Yes?" in speaker.said
    assert speaker.stops == 1, "a key cuts the voice short"
    assert {"unplugged": ("unplugged",)} in [wants.answers for wants in ear.prepared]


@pytest.mark.parametrize(("half", "says"), [(True, "speaking, not listening"), (False, "speaking, hears stop")])
def test_while_the_voice_speaks_the_screen_says_so_and_whether_it_listens(bench, half, says):
    speaker = ScriptedSpeaker()
    talk = SpokenOnScreen(Talk(bench.session, Hearer(ScriptedEar(half=half)), Mouth(speaker)))
    seen = play(bench_screen(bench, talk=talk), [lambda: setattr(speaker, "speaking", True), ""])
    assert "listening" in seen.rows(0)[1]
    assert "speaking" not in seen.rows(0)[1]
    assert says in seen.rows()[1]


def test_readings_of_the_meter_arrive_without_a_key(bench):
    """The meter's thread wakes the screen; nothing is typed but what the technician acknowledges."""
    kept, reader = [], Reader(ScriptedMeter(12.1, "OL"))
    reader.wake = lambda: kept[0].wake()
    came = _waited(reader)
    steps = [ENTER, came, "", ENTER, came, ""]
    seen = play(bench_screen(bench, reader=reader, keep=kept, meter="Fernleaf bench meter"), steps)
    reader.stop()
    assert bench.job.taken["feed-volts"].source == Source.METER
    assert bench.job.verdict is not None
    assert seen.ever("meter: Fernleaf bench meter")
    assert seen.ever("meter  12.10 V")


def test_a_meter_that_fails_is_one_line_and_typing_goes_on(bench):
    kept, reader = [], Reader(ScriptedMeter(Unavailable("the meter does not answer")))
    reader.wake = lambda: kept[0].wake()
    seen = play(bench_screen(bench, reader=reader, keep=kept), [ENTER, _waited(reader), "12.1\r"])
    reader.stop()
    assert seen.ever("the meter does not answer")
    assert bench.job.taken["feed-volts"].source == Source.TYPED


def test_while_a_slow_answer_is_worked_out_the_screen_says_so(bench, monkeypatch):
    kept, reader, seen = [], Reader(ScriptedMeter()), []
    hear = OnScreen.hear

    def slowly(self, came):
        drawn = kept[0].frame.app.renderer.last_rendered_screen
        seen.append("".join(drawn.data_buffer[1][x].char for x in range(80)))
        return hear(self, came)

    monkeypatch.setattr(OnScreen, "hear", slowly)
    play(bench_screen(bench, reader=reader, keep=kept), [ENTER, "12.1\r"])
    reader.stop()
    assert len(seen) == 2
    assert all("thinking" in line for line in seen)
    assert bench.job.taken["feed-volts"].band == "good"


def _waited(reader):
    """A step that goes on when the meter's thread has come to its end."""

    def wait():
        if reader._thread is not None:
            reader._thread.join(10)

    return wait


def test_a_resize_in_the_middle_draws_for_the_new_size_and_too_small_goes_on_in_lines(bench):
    steps = [ENTER, Window(rows=10, columns=50), "12.1\r", Window(rows=40, columns=130), ""]
    seen = play(bench_screen(bench), steps)
    assert bench.job.taken["feed-volts"].band == "good"
    assert seen.ever("The bench screen needs 72 x 20; this is 50 x 10.")
    assert {len(d) for d in seen.drawings} == {24, 10, 40}
    assert all(len(row) == 130 for row in seen.drawings[-1])


def test_nothing_a_note_or_a_device_holds_reaches_the_terminal_as_a_control(tmp_path):
    hostile = "\x1b]0;owned\x07\x1b[2J\x9b31mdevice\u202egnp"
    bench = TestBench(tmp_path, device=hostile)
    seen = play(bench_screen(bench), [f"note {hostile}\r", "\x1b[200~what is \x9b1\x1b[201~\r", ""])
    for evil in ("\x1b]0;owned", "\x9b", "\u202e", "\x1b[2Jd"):
        assert evil not in seen.sent


def test_without_colour_no_colour_is_sent_and_the_power_is_still_said(bench):
    seen = play(bench_screen(bench, colour=False), [ENTER, "12.1\r", ""])
    assert seen.ever("POWER ON")
    codes = {code for sent in re.findall("\x1b\\[([0-9;]*)m", seen.sent) for code in sent.split(";")}
    assert codes <= {"0", "1", "3", "4", "7"}, "bold, italic, underline, reverse"


def test_the_same_run_in_colour_does_send_colours(bench):
    seen = play(bench_screen(bench), [ENTER, ""])
    assert "\x1b[0;38;" in seen.sent


def test_the_counter_returns_what_was_typed_and_none_when_left():
    def asked(steps, choice):
        got = []

        def make(source, output):
            counter = Counter(choice, source=source, output=output)
            return counter.frame, lambda: got.append(counter.run())

        seen = play(make, steps)
        return got[0], seen

    choice = Choice(
        "the bench", (("7", "Fernleaf GH-2: no data (3 answers)"),), "Type a number or a symptom.", enter="7"
    )
    answer, seen = asked(["no light\r"], choice)
    assert answer == "no light"
    assert seen.ever("Fernleaf GH-2: no data")
    assert asked([ENTER], choice)[0] == "7"
    assert asked([LEAVE], choice)[0] is None
    assert asked([ENTER, LEAVE], replace(choice, enter=""))[0] is None


@pytest.mark.parametrize(
    ("encoding", "letters"), [("utf-8", "utf-8"), ("UTF8", "utf-8"), ("ascii", "ascii"), (None, "ascii")]
)
def test_an_output_that_is_not_utf_8_gets_plain_letters(encoding, letters):
    assert charset_of(encoding).value == letters
