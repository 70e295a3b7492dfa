"""The demo: a whole job on the invented device, played by a simulated technician, typed or from recordings."""

from __future__ import annotations

import time
from pathlib import Path

import guide
from guide import app
from guide.commands.common import library, store
from guide.core.errors import BadInput
from guide.core.intent import Utterance
from guide.core.jobs.questions import Message, expecting
from guide.core.tree import Tree
from guide.edge.fakes import Technician
from guide.edge.terminal import Lines

DEMO_TREE, DEMO_CAUSE = "fernleaf-gh2/sensor-bus-dead", "cable-broken"
DEMO_PAUSE_S = 1.2
NEXT = 'Now yours: guide begin "what is wrong", or guide trees to see what it knows.'


def demo(*, voice: bool, fast: bool) -> int:
    """Play a whole job with a simulated technician and meter, through the same code path as a real one."""
    trees, lines = library([]), Lines()
    text, _ = trees.text(DEMO_TREE)
    tree = trees.tree(DEMO_TREE)
    played = "heard from recordings" if voice else "simulated"
    lines.tell(f"Demo: {tree.device}. {tree.symptom}. The technician is {played}, the meter invented.")
    with store(app.home_folder() / "demo") as kept:
        session, told = app.begin(kept, tree, text)
        play = _heard if voice else _typed
        play(session, told, lines, 0.0 if fast else DEMO_PAUSE_S, tree)
    lines.tell(NEXT)
    return 0


def _typed(session: app.Session, told: list[Message], lines: Lines, pause_s: float, tree: Tree) -> None:
    technician = Technician(tree, DEMO_CAUSE, seed=1)
    lines.show(told)
    while not app.done(told):
        answer = technician.answer(told[-1])
        time.sleep(pause_s)
        lines.tell(f"> {answer}")
        told = session.hear(Utterance(answer))
        lines.show(told)


def samples() -> Path:
    """Return the folder of recordings: in the package where it is installed, beside it in a checkout."""
    here = Path(guide.__file__).parent
    found = next((f for f in (here / "audio_samples", here.parent / "audio_samples") if f.is_dir()), None)
    if found is None:
        raise BadInput("the recordings of the demo are not here; run it from a checkout, or without --voice")
    return found


def _heard(session: app.Session, told: list[Message], lines: Lines, pause_s: float, tree: Tree) -> None:
    """Answer each question with its recording, through the real end-pointing and recognisers."""
    import json

    from guide.edge.voice.agreement import Asked
    from guide.edge.voice.ear import wav_ear
    from guide.edge.voice.panel import panel

    folder = samples()
    job = json.loads((folder / "manifest.json").read_text(encoding="utf-8"))["job"]
    clips = {one["question"]: (folder / one["file"], one["transcript"]) for one in job}
    ears = panel(app.home_folder())
    lines.show(told)
    try:
        while not app.done(told):
            key = question_key(told[-1])
            if key not in clips:
                raise BadInput(f"the demo has no recording for {key}; audio_samples is not that of this version")
            asked = Asked.YES_NO if session.job.waits_for_yes else Asked.ANSWER
            clip, transcript = clips[key]
            heard = wav_ear([clip], ears).listen(expecting(session.job), asked=asked)
            time.sleep(pause_s)
            if isinstance(heard, Utterance):
                lines.tell(f"({clip.name}) heard: {heard.text}")
            else:
                # As at a bench: what is not made out twice is typed.
                lines.tell(f"({clip.name}) not made out; the technician types: {transcript}")
                heard = Utterance(transcript)
            told = session.hear(heard)
            lines.show(told)
    finally:
        ears.close()


def question_key(message: Message) -> str:
    """Return how the manifest of recordings names the question a message puts."""
    match message["type"]:
        case "caution":
            return f"caution:{message['id']}"
        case "ask":
            return f"ask:{message['check']}{':proof' if message.get('proof') else ''}"
        case "repair":
            return "repair:chosen" if "done" in message["answers"] else "repair"
    return str(message["type"])
