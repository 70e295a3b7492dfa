"""Devices that are chosen, lost, found again, or not there at all; without a sound card."""

import os
import queue
import subprocess
import sys
import threading

import pytest

from guide.core.errors import BadInput, Unavailable
from guide.edge.voice import devices
from guide.edge.voice.audio import FRAME_BYTES, FRAME_S, RATE, Recordings, at_rate, read_sound, resampled
from guide.edge.voice.devices import LOST_AFTER_S, STALLED_AFTER_S, Device, chosen
from guide.edge.voice.loudspeaker import Feed
from guide.edge.voice.microphone import (
    ANOTHER,
    BACK,
    GONE,
    LOOK_AFTER_GAP_S,
    LOOK_EVERY_S,
    MUTE,
    TRY_AGAIN_S,
    Microphone,
    Tap,
)


class Bench:
    """A microphone that can be unplugged, starved of time or mute; a clock that waiting moves, and nothing else.

    It is the queue as well, since waiting is what takes time.
    """

    def __init__(self):
        self.now, self.there, self.opened, self.closed, self.told, self.listings = 0.0, True, 0, 0, [], 0
        self.pieces, self.starved_s, self.names = [], 0.0, frozenset({"headset", "webcam"})
        self.by, self.looks = "", 0

    def open(self, name, sink):
        if not self.there:
            raise Unavailable("gone")
        self.sink, self.opened = sink, self.opened + 1
        return Tap(self.close, self.lists, self.names, self.heard_by)

    def heard_by(self):
        self.looks += 1
        return self.by

    def hears(self, microphone, seconds, *, gap_s=0.0):
        """Let sound come for so long, after a gap."""
        until = self.now + gap_s
        while self.now < until:
            microphone.frame(0.1)
        until = self.now + seconds
        while self.now < until:
            self.now += FRAME_S
            self.sink(bytes(FRAME_BYTES))
            assert microphone.frame(0.1) is not None

    def close(self):
        self.closed += 1

    def lists(self):
        self.listings += 1
        return self.there

    def put(self, piece):
        self.pieces.append(piece)

    def get(self, *, timeout):
        if self.pieces:
            return self.pieces.pop(0)
        self.now += timeout + self.starved_s
        raise queue.Empty

    def empty(self):
        return not self.pieces

    def microphone(self):
        return Microphone(tell=self.told.append, opened=self.open, clock=lambda: self.now, pieces=self)

    def listens(self, microphone, seconds):
        """Wait for frames in vain; return how long it took until something was told."""
        began, told = self.now, len(self.told)
        while self.now - began < seconds and len(self.told) == told:
            microphone.frame(0.1)
        return self.now - began


@pytest.fixture
def bench():
    return Bench()


def test_frames_come_whole_whatever_pieces_the_device_delivers(bench):
    microphone = bench.microphone()
    for _ in range(3):
        bench.sink(bytes(700))
    assert [len(microphone.frame(0.0) or b"") for _ in range(3)] == [FRAME_BYTES, FRAME_BYTES, 0]


def test_an_unplugged_microphone_is_told_within_two_seconds_once_and_taken_up_again(bench):
    microphone = bench.microphone()
    bench.there = False
    assert bench.listens(microphone, 10) < 2.0
    assert microphone.lost
    assert bench.closed == 1
    bench.listens(microphone, 3 * TRY_AGAIN_S)
    assert microphone.lost
    bench.there = True
    bench.listens(microphone, TRY_AGAIN_S + 0.2)
    assert bench.told == [GONE], "that it can be opened does not yet mean that it hears"
    bench.sink(bytes(FRAME_BYTES))
    assert microphone.frame(0.0) == bytes(FRAME_BYTES)
    assert not microphone.lost
    assert bench.told == [GONE, BACK]


def test_time_in_which_nothing_got_to_run_says_nothing_of_the_microphone(bench):
    """A recogniser that decodes for five seconds on a busy machine keeps both sides of the queue waiting."""
    microphone = bench.microphone()
    bench.starved_s = 5.0
    for _ in range(9):
        microphone.frame(0.1)
    bench.now += 3600  # the lid was shut
    assert (bench.told, bench.listings) == ([], 0)
    bench.sink(bytes(FRAME_BYTES))
    assert microphone.frame(0.1) is not None


def test_a_microphone_that_is_there_and_slow_to_wake_is_waited_for(bench):
    microphone = bench.microphone()
    bench.listens(microphone, 3.0)
    assert bench.listings > 1
    bench.sink(bytes(FRAME_BYTES))
    assert microphone.frame(0.1) is not None
    assert (bench.told, bench.opened) == ([], 1)


def test_a_sound_server_that_fails_to_answer_once_does_not_make_it_gone(bench):
    microphone, answers = bench.microphone(), iter([False, True, False, True, True])
    bench.lists = lambda: next(answers)
    microphone._tap = Tap(bench.close, bench.lists, bench.names)
    bench.listens(microphone, 2.4)
    assert bench.told == []


def test_one_that_is_there_and_mute_is_opened_anew_in_silence_and_then_told(bench):
    microphone = bench.microphone()
    bench.listens(microphone, STALLED_AFTER_S + 0.2)
    assert (bench.told, bench.opened, bench.closed) == ([], 2, 1)
    bench.listens(microphone, STALLED_AFTER_S + 0.2)
    assert bench.told == [MUTE]
    bench.listens(microphone, 10 * STALLED_AFTER_S)
    assert bench.told == [MUTE], "it is told once however often it is tried"
    assert bench.opened == bench.closed


def test_it_says_so_where_the_system_gives_another_microphone_instead(bench):
    microphone = bench.microphone()
    bench.there = False
    bench.listens(microphone, 3)
    bench.there, bench.names = True, frozenset({"webcam"})
    bench.listens(microphone, TRY_AGAIN_S + 0.2)
    bench.sink(bytes(FRAME_BYTES))
    microphone.frame(0.0)
    assert bench.told == [GONE, f"{ANOTHER}."]


def test_it_says_which_one_listens_where_the_sound_server_moves_the_stream_at_once(bench):
    """Sound stops for some tenths of a second and then comes from the webcam, without the device ever being gone."""
    bench.by = "headset"
    microphone = bench.microphone()
    bench.hears(microphone, 2 * LOOK_AFTER_GAP_S)
    bench.by = "webcam"
    bench.hears(microphone, 1.0, gap_s=0.3)
    assert bench.told == [f"{ANOTHER}: webcam."]
    bench.hears(microphone, 2 * LOOK_EVERY_S, gap_s=0.3)
    assert len(bench.told) == 1
    assert not microphone.lost


def test_a_stream_moved_without_a_gap_is_seen_within_half_a_minute_or_so(bench):
    bench.by = "headset"
    microphone = bench.microphone()
    bench.hears(microphone, 1.0)
    bench.by = "webcam"
    bench.hears(microphone, LOOK_EVERY_S + 1.0)
    assert bench.told == [f"{ANOTHER}: webcam."]


def test_a_device_that_stutters_does_not_have_the_system_asked_at_every_gap(bench):
    bench.by = "headset"
    microphone = bench.microphone()
    began = bench.now
    for _ in range(60):
        bench.hears(microphone, 0.2, gap_s=0.1)
    assert bench.looks <= 1 + (bench.now - began) / LOOK_AFTER_GAP_S
    assert bench.told == []


def test_one_that_is_back_under_another_name_is_told_by_it_and_an_unknown_one_changes_nothing(bench):
    bench.by = "headset"
    microphone = bench.microphone()
    bench.by = ""
    bench.hears(microphone, LOOK_EVERY_S + 1.0)
    assert bench.told == []
    bench.there = False
    bench.listens(microphone, 3)
    bench.there, bench.by = True, "webcam"
    bench.listens(microphone, TRY_AGAIN_S + 0.2)
    bench.sink(bytes(FRAME_BYTES))
    microphone.frame(0.0)
    assert bench.told == [GONE, f"{ANOTHER}: webcam."]


def test_what_was_said_before_it_was_gone_is_not_heard_after_it_is_back(bench):
    microphone = bench.microphone()
    bench.sink(b"\1" * 100)
    bench.there = False
    bench.listens(microphone, 3)
    bench.there = True
    bench.listens(microphone, TRY_AGAIN_S + 0.2)
    bench.sink(bytes(FRAME_BYTES))
    assert microphone.frame(0.0) == bytes(FRAME_BYTES)


def test_a_silent_room_is_no_lost_microphone(bench):
    microphone = bench.microphone()
    for _ in range(50):
        bench.sink(bytes(FRAME_BYTES))
        assert microphone.frame(0.5) is not None
        microphone.frame(0.5)
    assert (bench.told, bench.listings) == ([], 0)


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
        "from guide.edge.voice.devices import microphones\n"
        "from guide.edge.voice.microphone import Microphone\n"
        "for attempt in (microphones, Microphone):\n"
        "    try: attempt()\n"
        "    except Exception as error: print(type(error).__name__, error)\n"
    )
    environment = {**os.environ, "PULSE_SERVER": "unix:/nonexistent", "XDG_RUNTIME_DIR": "/nonexistent"}
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, check=True)
    lines = done.stdout.splitlines()
    assert len(lines) == 2
    assert lines == ["Unavailable no sound card was found"] * 2
    assert done.stderr == ""


class Player:
    """A loudspeaker that takes `takes` samples in each moment that is waited for, on a clock that waiting moves."""

    def __init__(self, samples, *takes):
        self.now, self.stopped = 0.0, threading.Event()
        self.feed = Feed(samples, self.stopped)
        self.frames, self.takes, self.listings = self.feed.frames(), list(takes), 0

    def wait(self, seconds):
        self.now += seconds
        if self.takes:
            self.frames.send(self.takes.pop(0))
        return self.feed.done.is_set()

    def played(self, *, there=True):
        def listed():
            self.listings += 1
            return there

        return self.feed.played(listed, clock=lambda: self.now, wait=self.wait)


def test_a_clip_falls_silent_when_stopped():
    stopped = threading.Event()
    feed = Feed(b"\x01\x02" * 1000, stopped)
    frames = feed.frames()
    assert frames.send(100) == b"\x01\x02" * 100
    stopped.set()
    assert frames.send(100) == bytes(200)
    assert feed.done.is_set()


def test_a_clip_is_played_to_its_end_and_no_further():
    feed = Feed(b"\x01\x02" * 150, threading.Event())
    frames = feed.frames()
    played = frames.send(100) + frames.send(100) + frames.send(100)
    assert played == b"\x01\x02" * 150 + bytes(300)
    assert feed.done.is_set()


def test_a_loudspeaker_that_takes_its_time_to_begin_is_not_gone():
    player = Player(bytes(400), *[0] * 20, 100, 100, 100)
    assert player.played()
    assert player.now > LOST_AFTER_S


def test_one_that_is_unplugged_in_the_middle_is_gone_within_two_seconds():
    player = Player(bytes(4000), 100, 100)
    assert not player.played(there=False)
    assert player.now < 2.0


def test_one_that_takes_nothing_for_long_is_given_up_though_the_system_lists_it():
    player = Player(bytes(4000), 100)
    assert not player.played()
    assert STALLED_AFTER_S < player.now < 2 * STALLED_AFTER_S


def test_one_that_takes_nothing_can_still_be_told_to_stop():
    player = Player(bytes(4000), 100)
    player.stopped.set()
    assert player.played(there=False)
    assert player.listings == 0


@pytest.mark.parametrize("which", [devices.microphones, devices.loudspeakers])
def test_a_device_the_library_makes_up_is_none(monkeypatch, which):
    """Without any sound system miniaudio falls back on a backend that hears silence; a job would wait for ever."""
    miniaudio = pytest.importorskip("miniaudio")
    genuine = miniaudio.Devices

    monkeypatch.setattr(miniaudio, "Devices", lambda: genuine(backends=[miniaudio.Backend.NULL]))
    assert miniaudio.Devices().get_captures(), "it does list some"
    with pytest.raises(Unavailable, match="no sound card"):
        which()


def test_what_a_loudspeaker_plays_is_no_microphone(monkeypatch):
    """Sound servers list the monitor of each loudspeaker among the microphones, under a name that ends in .monitor
    (PulseAudio's and PipeWire's own naming)."""
    everything = (Device("Monitor of speakers", None, b"speakers.monitor\0\xff"), Device("USB", None, b"usb\0.monitor"))
    monkeypatch.setattr(devices, "listed", lambda which: everything)
    assert [d.name for d in devices.microphones()] == ["USB"]
    monkeypatch.setattr(devices, "listed", lambda which: everything[:1])
    with pytest.raises(Unavailable, match="no microphone"):
        devices.microphones()


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
