"""A whole job by voice, without a person: from recordings, and through a virtual microphone in real time."""

import os
import shutil
import subprocess
import threading
import time

import pytest

from guide import app
from guide.commands.demo import question_key
from guide.core.intent import Utterance
from guide.core.jobs.phases import Phase
from guide.core.jobs.questions import expecting
from guide.core.reading import Source
from guide.edge.jobs.store import Store
from guide.edge.trees.library import Library
from guide.edge.voice.agreement import Asked
from guide.edge.voice.ear import Again, wav_ear
from guide.edge.voice.panel import Panel
from tests.samples import MANIFEST, SAMPLES

CLIPS = {row["question"]: row for row in MANIFEST["job"]}
MOST_TURNS = 40
PATIENCE_S = 20.0  # for what must come; where all is well it comes in two
TRIES = 3


def spoken_job(tmp_path, heard):
    """Walk the job; `heard(clip, expecting, asked)` is what the ear made of a clip. Return what was told, and whether
    every answer was spoken."""
    library = Library(tmp_path, ())
    text, _ = library.text(MANIFEST["tree"])
    store = Store(tmp_path / "store")
    session, told = app.begin(store, library.tree(MANIFEST["tree"]), text)
    everything = list(told)
    for _ in range(MOST_TURNS):
        if app.done(told):
            break
        asked = Asked.YES_NO if session.job.phase is Phase.CONFIRMING else Asked.ANSWER
        answer = heard(SAMPLES / CLIPS[question_key(told[-1])]["file"], expecting(session.job), asked)
        assert isinstance(answer, Utterance | Again), told[-1]
        if isinstance(answer, Utterance):
            assert answer.source is Source.SPOKEN
            told = session.hear(answer)
            everything += told
    store.close()
    return everything


def assert_told_the_whole_story(everything):
    readings = [(m["check"], m["value"]) for m in everything if m["type"] == "read"]
    assert readings == [("feed-volts", 11.9), ("bus-ohms", 99.0), ("bus-ohms", 60.0)]
    verdict = next(m for m in everything if m["type"] == "verdict")
    assert verdict["cause"] == "cable-broken"
    closed = everything[-1]
    assert (closed["type"], closed["cause"], closed["proven"]) == ("closed", "cable-broken", True)


def test_a_whole_job_from_recordings_to_a_proven_repair(tmp_path, panel):
    everything = spoken_job(tmp_path, lambda clip, wants, asked: wav_ear([clip], panel).listen(wants, asked=asked))
    assert_told_the_whole_story(everything)


def test_the_shipped_recogniser_hears_the_whole_job_alone(tmp_path, panel):
    alone = Panel([one for one in panel.listeners if one.engine == "pocketsphinx"])
    everything = spoken_job(tmp_path, lambda clip, wants, asked: wav_ear([clip], alone).listen(wants, asked=asked))
    assert_told_the_whole_story(everything)


@pytest.fixture
def virtual_microphone(tmp_path, monkeypatch):
    """A PulseAudio server of its own with a sink whose monitor is the microphone. Yields the address of the server."""
    if shutil.which("pulseaudio") is None or shutil.which("paplay") is None:
        pytest.skip("pulseaudio and paplay are not installed")
    socket = tmp_path / "pulse.sock"
    modules = (
        f"module-native-protocol-unix socket={socket} auth-anonymous=1",
        "module-null-sink sink_name=mic",
        "module-remap-source master=mic.monitor source_name=virtmic",
    )
    order = ["pulseaudio", "-n", "--exit-idle-time=-1", "--daemonize=no", "--use-pid-file=no"]
    environment = {**os.environ, "XDG_RUNTIME_DIR": str(tmp_path), "HOME": str(tmp_path)}
    server = subprocess.Popen(
        [*order, *(part for module in modules for part in ("-L", module))],
        env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    monkeypatch.setenv("PULSE_SERVER", f"unix:{socket}")
    until = time.monotonic() + PATIENCE_S
    while not socket.exists() and server.poll() is None and time.monotonic() < until:
        time.sleep(0.02)
    if not socket.exists():
        server.kill()
        server.wait()
        pytest.skip("pulseaudio does not start here")
    yield str(socket)
    server.terminate()
    server.wait(timeout=PATIENCE_S)


def test_a_whole_job_through_a_virtual_microphone(tmp_path, panel, virtual_microphone):
    """Played with paplay into a sink, picked up as a microphone by name, in real time."""
    from guide.edge.voice.ear import Ear
    from guide.edge.voice.microphone import Microphone

    lost = []
    microphone = Microphone("remapped", tell=lost.append)
    ear = Ear(microphone, panel)

    def heard(clip, wants, asked):
        """Play the clip, again where nothing was made of it, as a technician would."""
        ear.prepare(wants)
        for _ in range(TRIES):
            microphone.drop()
            given_up = threading.Event()
            timer = threading.Timer(PATIENCE_S, given_up.set)
            timer.start()
            subprocess.run(["paplay", "--device=mic", str(clip)], check=True, timeout=PATIENCE_S)
            answer = ear.listen(wants, asked=asked, cancel=given_up)
            timer.cancel()
            if answer is not None:
                return answer
        return None

    try:
        assert_told_the_whole_story(spoken_job(tmp_path, heard))
    finally:
        microphone.close()
    assert lost == []
