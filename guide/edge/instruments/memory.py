"""Which instruments this bench has: a small file in the data folder, so that an address is given once."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path

from guide.core.errors import BadInput

FILE = "instruments.json"
VERSION = 1


class Kind(StrEnum):
    """What an instrument is used for; never guessed from what it answers."""

    METER = "meter"
    SUPPLY = "supply"


@dataclass(frozen=True, slots=True)
class Remembered:
    """An instrument as it was last reached. `baud` is for serial lines, None for the library's own."""

    address: str
    identity: str
    baud: int | None = None


def recall(home: Path, kind: Kind) -> Remembered | None:
    """Return the instrument remembered as `kind`, None where there is none. Raises BadInput for a spoilt file."""
    known = _read(home).get(kind.value)
    if known is None:
        return None
    match known:
        case {"address": str(address), "identity": str(identity), "baud": int() | None as baud}:
            return Remembered(address, identity, baud)
    raise _spoilt(home)


def remember(home: Path, kind: Kind, instrument: Remembered) -> None:
    """Keep `instrument` as the bench's `kind`. A reader never sees half a file. Raises BadInput."""
    entry = {"address": instrument.address, "identity": instrument.identity, "baud": instrument.baud}
    document = {**_read(home), "version": VERSION, kind.value: entry}
    draft = home / f"{FILE}.new"
    try:
        home.mkdir(parents=True, exist_ok=True, mode=0o700)
        with open(draft, "w", encoding="utf-8", opener=_private) as file:
            file.write(json.dumps(document, indent=1, ensure_ascii=False) + "\n")
        os.replace(draft, home / FILE)
    except OSError as error:
        raise BadInput(f"{home / FILE} cannot be written: {error.strerror}") from error


def _private(path: str, flags: int) -> int:
    return os.open(path, flags, 0o600)


def _read(home: Path) -> dict[str, object]:
    try:
        text = (home / FILE).read_text(encoding="utf-8")
    except FileNotFoundError:
        return {}
    except (OSError, UnicodeDecodeError) as error:
        raise _spoilt(home) from error
    try:
        document = json.loads(text)
    except ValueError as error:
        raise _spoilt(home) from error
    if not isinstance(document, dict) or document.get("version") != VERSION:
        raise _spoilt(home)
    return document


def _spoilt(home: Path) -> BadInput:
    return BadInput(f"{home / FILE} cannot be read; delete it and name the instrument once more with --resource")
