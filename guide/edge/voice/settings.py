"""How the voice is set up: `GUIDE_HOME/voice.toml`, written by hand; without one everything has its default.

    microphone = "headset"   # part of a name `guide doctor` lists; so are loudspeaker and voice
    listen = "key"           # the ear opens for a key alone; open: it hears whatever is said
    duplex = "full"          # stop and a louder voice cut in while it speaks; half: it does not listen then
    rate = 130               # words a minute
    say = "short"            # questions, readings and what was not understood; full: explanations too
    vosk_model = "~/models/en"
"""

from __future__ import annotations

import re
from dataclasses import dataclass, fields
from enum import StrEnum
from pathlib import Path
from typing import Any

from guide.core.errors import BadInput
from guide.core.tomltext import toml_text
from guide.edge.voice.speaker import Verbosity

FILE = "voice.toml"
SLOWEST, FASTEST = 80, 300  # words a minute


class Duplex(StrEnum):
    """Whether it listens while the tool speaks."""

    HALF = "half"
    FULL = "full"  # only `stop`, `scratch that` and a clearly louder voice cut in


class Listens(StrEnum):
    """What opens the ear."""

    OPEN = "open"  # whatever sounds like speech; the key as well
    KEY = "key"  # the key alone


_WORDS: dict[str, type[StrEnum]] = {"duplex": Duplex, "listen": Listens, "say": Verbosity}


@dataclass(frozen=True, slots=True)
class VoiceSettings:
    """`microphone`, `loudspeaker` and `voice` are parts of a name, empty for the system's own; `rate` is in words a
    minute; `vosk_model` is a folder."""

    microphone: str = ""
    loudspeaker: str = ""
    voice: str = ""
    rate: int = 150
    say: Verbosity = Verbosity.FULL
    listen: Listens = Listens.OPEN
    duplex: Duplex = Duplex.HALF
    vosk_model: str = ""


KEYS = tuple(f.name for f in fields(VoiceSettings))


def settings(home: Path) -> VoiceSettings:
    """Return the settings kept in `home`. Raises BadInput with file:line for anything it cannot take."""
    file = home / FILE
    if not file.is_file():
        return VoiceSettings()
    try:
        raw = file.read_bytes()
    except OSError as error:
        raise BadInput(f"{file}: {error.strerror or error}; give settings that can be read, or remove them") from error
    text, given = toml_text(raw, str(file))
    return VoiceSettings(**{key: _checked(f"{file}:{_line_of(key, text)}", key, value) for key, value in given.items()})


def _line_of(key: str, text: str) -> int:
    """Return the line that sets `key`, or opens the table of that name; 1 where its spelling is an unusual one."""
    wanted = re.compile(rf"\s*(\[+\s*)?[\"']?{re.escape(key)}[\"']?\s*[=.\]]")
    return next((n for n, line in enumerate(text.splitlines(), 1) if wanted.match(line)), 1)


def _checked(where: str, key: str, value: Any) -> Any:
    if key not in KEYS:
        raise BadInput(f"{where}: {key} is no setting; there is: {', '.join(sorted(KEYS))}")
    if key == "rate":
        if isinstance(value, bool) or not isinstance(value, int) or not SLOWEST <= value <= FASTEST:
            raise BadInput(f"{where}: rate is a whole number of words a minute, {SLOWEST} to {FASTEST}")
        return value
    if key in _WORDS:
        if value not in list(_WORDS[key]):
            raise BadInput(f'{where}: {key} is {" or ".join(_WORDS[key])}; write {key} = "{next(iter(_WORDS[key]))}"')
        return _WORDS[key](value)
    if not isinstance(value, str):
        raise BadInput(f"{where}: {key} is text; put it in quotes")
    return value
