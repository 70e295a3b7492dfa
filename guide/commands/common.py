"""What every command needs: the mode, the trees, the store, one JSON document."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from enum import StrEnum
from pathlib import Path
from typing import Any

from guide import app
from guide.core.errors import BadInput
from guide.core.jsontext import json_text
from guide.core.meter import HANDHELD, MeterProfile
from guide.edge.jobs.store import Store
from guide.edge.trees.library import Library


class Mode(StrEnum):
    """How the technician and the tool talk."""

    TYPED = "typed"
    VOICE = "voice"
    JSONL = "jsonl"


def mode(jsonl: bool, voice: bool, typed: bool) -> Mode:
    """Return the mode the flags ask for; raises BadInput where they contradict each other."""
    chosen = [m for m, on in ((Mode.JSONL, jsonl), (Mode.VOICE, voice), (Mode.TYPED, typed)) if on]
    if len(chosen) > 1:
        raise BadInput(f"--{chosen[0]} and --{chosen[1]} exclude each other; give one")
    return chosen[0] if chosen else Mode.TYPED


class View(StrEnum):
    """How what is said is shown: a full screen where the terminal can show one, or line after line."""

    SCREEN = "screen"
    PLAIN = "plain"


def view(*, plain: bool) -> View:
    """Return the view the flags ask for."""
    return View.PLAIN if plain else View.SCREEN


def library(extra: Sequence[Path]) -> Library:
    """Return the trees in the package, in GUIDE_HOME/trees and in `extra`."""
    return Library(app.home_folder(), tuple(extra))


@contextmanager
def store(home: Path | None = None) -> Iterator[Store]:
    """Open the store for one command."""
    opened = Store(home or app.home_folder())
    try:
        yield opened
    finally:
        opened.close()


def document(data: Any) -> int:
    sys.stdout.write(json_text(data, indent=1) + "\n")
    return 0


OWN_METER = "meter.toml"


def profile() -> MeterProfile:
    """Return the technician's own meter from GUIDE_HOME/meter.toml, a usual handheld where there is none."""
    own = app.home_folder() / OWN_METER
    if not own.is_file():
        return HANDHELD
    from guide.edge.profilefile import profile_from

    return profile_from(own)
