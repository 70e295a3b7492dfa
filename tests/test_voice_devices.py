"""Devices that are chosen, lost, found again, or not there at all; without a sound card."""

import os
import subprocess
import sys
import threading

import pytest

from guide.core.errors import BadInput, Unavailable
from guide.edge.voice import devices
from guide.edge.voice.audio import FRAME_BYTES, RATE, Recordings, at_rate, read_sound, resampled
from guide.edge.voice.devices import LOST_AFTER_S, TRY_AGAIN_S, Device, Microphone, chosen


class Bench:
    """A microphone that can be unplugged, and a clock moved by hand."""

    def __init__(self):
        self.now, self.there, self.sink, self.opened, self.told = 0.0, True, None, 0, []

    def open(self, name, sink):
        if not self.there:
            raise Unavailable("gone")
        self.sink, self.opened = sink, self.opened + 1
        return lambda: None

    def microphone(self):
        return Microphone(tell=self.told.append, opened=self.open, clock=lambda: self.now)


@pytest.fixture
def bench():
    return Bench()


def test_frames_come_whole_whatever_pieces_the_device_delivers(bench):
    microphone = bench.microphone()
    for _ in range(3):
        bench.sink(bytes(700))
    assert [len(microphone.frame(0.0) or b"") for _ in range(3)] == [FRAME_BYTES, FRAME_BYTES, 0]


def test_a_lost_microphone_is_told_once_and_taken_up_again(bench):
    microphone = bench.microphone()
    bench.there, bench.now = False, LOST_AFTER_S + 0.1
    assert microphone.frame(0.0) is None
    assert microphone.lost
    bench.now += TRY_AGAIN_S + 0.1
    microphone.frame(0.0)
    assert microphone.lost
    bench.there = True
    bench.now += TRY_AGAIN_S + 0.1
    microphone.frame(0.0)
    assert not microphone.lost
    assert [line.split(".")[0] for line in bench.told] == ["The microphone is gone", "The microphone is back"]
    bench.sink(bytes(FRAME_BYTES))
    assert microphone.frame(0.0) == bytes(FRAME_BYTES)


def test_a_silent_room_is_no_lost_microphone(bench):
    microphone = bench.microphone()
    for _ in range(50):
        bench.now += 0.5
        bench.sink(bytes(FRAME_BYTES))
        assert microphone.frame(0.0) is not None
        microphone.frame(0.0)
    assert bench.told == []


def test_what_was_said_before_the_question_can_be_dropped(bench):
    microphone = bench.microphone()
    bench.sink(bytes(5 * FRAME_BYTES))
    microphone.drop()
    assert microphone.frame(0.0) is None


def test_a_device_is_chosen_by_a_part_of_its_name():
    among = (Device("Built-in microphone"), Device("USB headset"))
    assert chosen("usb", among).name == "USB headset"
    assert chosen("", among).name == "Built-in microphone"
    with pytest.raises(Unavailable, match="USB headset"):
        chosen("bluetooth", among)


def test_without_a_sound_card_there_is_one_clear_line_and_nothing_on_standard_error():
    """ALSA's own forty lines would spoil the screen. The child sees no sound server, and no card in a build machine."""
    pytest.importorskip("miniaudio")
    if os.path.exists("/dev/snd"):
        pytest.skip("this machine has a sound card")
    code = (
        "from guide.edge.voice.devices import Microphone, microphones\n"
        "for attempt in (microphones, Microphone):\n"
        "    try: attempt()\n"
        "    except Exception as error: print(type(error).__name__, error)\n"
    )
    environment = {**os.environ, "PULSE_SERVER": "unix:/nonexistent", "XDG_RUNTIME_DIR": "/nonexistent"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    lines = done.stdout.splitlines()
    assert len(lines) == 2
    assert all(line.startswith("Unavailable ") and "typed" in line for line in lines)
    assert done.stderr == ""


def test_a_loudspeaker_generator_falls_silent_when_stopped():
    stopped, done = threading.Event(), threading.Event()
    feed = devices._fed(b"\x01\x02" * 1000, stopped, done)
    assert feed.send(100) == b"\x01\x02" * 100
    stopped.set()
    assert feed.send(100) == bytes(200)
    assert done.is_set()


def test_a_clip_is_played_to_its_end_and_no_further():
    done = threading.Event()
    feed = devices._fed(b"\x01\x02" * 150, threading.Event(), done)
    played = feed.send(100) + feed.send(100) + feed.send(100)
    assert played == b"\x01\x02" * 150 + bytes(300)
    assert done.is_set()


class TestFiles:
    def test_recordings_are_followed_by_silence(self):
        frames = Recordings([b"\x01\x00" * 512], gap_s=0.064)
        assert [frames.frame(0.0) for _ in range(3)] == [b"\x01\x00" * 512, bytes(1024), bytes(1024)]

    def test_what_is_no_sound_is_refused_with_its_name(self, tmp_path):
        pytest.importorskip("miniaudio")
        file = tmp_path / "note.wav"
        file.write_text("not sound")
        with pytest.raises(BadInput, match=r"note\.wav"):
            read_sound(file)

    def test_any_rate_and_any_channels_come_out_alike(self, tmp_path):
        pytest.importorskip("miniaudio")
        import wave

        file = tmp_path / "stereo.wav"
        with wave.open(str(file), "wb") as f:
            f.setnchannels(2)
            f.setsampwidth(2)
            f.setframerate(44_100)
            f.writeframes(bytes(4 * 44_100))
        assert len(read_sound(file)) / 2 == pytest.approx(RATE, rel=0.01)

    def test_speed_changes_the_length_by_its_inverse(self):
        pytest.importorskip("miniaudio")
        second = bytes(2 * RATE)
        assert len(resampled(second, 0.94)) / len(second) == pytest.approx(1 / 0.94, rel=0.001)
        assert len(at_rate(second, RATE, 22_050)) / 2 == pytest.approx(22_050, rel=0.001)
