"""How the voice is set up: `GUIDE_HOME/voice.toml`, written by hand; without one everything has its default."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, fields
from pathlib import Path
from typing import Any

from guide.core.errors import BadInput
from guide.edge.voice.ear import Duplex

FILE = "voice.toml"
SLOWEST, FASTEST = 80, 300  # words a minute


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """`microphone`, `loudspeaker` and `voice` are parts of a name, empty for the system's own; `rate` is in words a
    minute; `duplex` is half (it does not listen while it speaks) or full; `vosk_model` is a folder."""

    microphone: str = ""
    loudspeaker: str = ""
    voice: str = ""
    rate: int = 150
    duplex: Duplex = Duplex.HALF
    vosk_model: str = ""


def settings(home: Path) -> VoiceSettings:
    """Return the settings kept in `home`. Raises BadInput, naming the file and the line's key."""
    file = home / FILE
    if not file.is_file():
        return VoiceSettings()
    try:
        given = tomllib.loads(file.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, OSError) as error:
        raise BadInput(f"{file}: not read as settings: {error}") from error
    known = {f.name for f in fields(VoiceSettings)}
    for key in given:
        if key not in known:
            raise BadInput(f"{file}: {key} is no setting; there is: {', '.join(sorted(known))}")
    return VoiceSettings(**{key: _checked(file, key, value) for key, value in given.items()})


def _checked(file: Path, key: str, value: Any) -> Any:
    if key == "rate":
        if isinstance(value, bool) or not isinstance(value, int) or not SLOWEST <= value <= FASTEST:
            raise BadInput(f"{file}: rate is a whole number of words a minute, {SLOWEST} to {FASTEST}")
        return value
    if key == "duplex":
        if value not in list(Duplex):
            raise BadInput(f"{file}: duplex is {' or '.join(Duplex)}")
        return Duplex(value)
    if not isinstance(value, str):
        raise BadInput(f"{file}: {key} is text; put it in quotes")
    return value
