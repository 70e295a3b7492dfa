"""The recordings of audio_samples: what the manifest says is what is heard."""

import subprocess
import sys

from guide.core.intent import Expecting
from guide.core.quantity import Measure
from guide.edge.voice.hearing import hear_file
from tests.samples import MANIFEST, SAMPLES

CLIPS = MANIFEST["clips"]


def heard(clip, panel):
    measure = Measure(clip["measure"]) if clip["measure"] else None
    answers = {clip["command"]: (clip["transcript"],)} if clip["command"] else {}
    wants = Expecting(measure, answers=answers) if answers else None
    return hear_file(SAMPLES / clip["file"], panel, measure=measure, expecting=wants)


def test_every_file_is_in_the_manifest_with_its_origin():
    listed = {row["file"] for row in (*CLIPS, *MANIFEST["job"])}
    assert listed == {str(f.relative_to(SAMPLES)) for f in SAMPLES.rglob("*.wav")}
    for row in (*CLIPS, *MANIFEST["job"]):
        assert row["licence"]
        assert row["voice"]
        assert isinstance(row["seed"], int)


def test_they_are_small():
    assert sum(f.stat().st_size for f in SAMPLES.rglob("*.wav")) < 10 * 2**20


def test_the_script_says_how_it_is_used():
    done = subprocess.run(
        [sys.executable, str(SAMPLES / "make_samples.py"), "--help"], capture_output=True, text=True, check=True
    )
    assert "--seed" in done.stdout


def test_what_is_sure_is_right_and_most_is_heard_at_once(panel):
    """No value goes on without a yes that is not the one said; two answers in three at least are heard at first."""
    answers = [c for c in CLIPS if c["kind"] != "chatter"][::2]  # half of them, so that it takes seconds
    right = 0
    for clip in answers:
        found = heard(clip, panel)
        same = (found["kind"], found["value"], found["command"]) == (clip["kind"], clip["value"], clip["command"])
        same = same and found["over_range"] == (clip["kind"] == "reading" and clip["value"] is None)
        right += same
        assert same or not found["sure"], (clip["transcript"], found)
    assert right >= 2 / 3 * len(answers)


def test_no_talk_is_taken_for_an_answer(panel):
    for clip in [c for c in CLIPS if c["kind"] == "chatter"][:2]:
        assert heard(clip, panel)["kind"] == "unclear", clip["transcript"]
