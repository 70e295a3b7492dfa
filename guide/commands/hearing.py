"""`guide hear`: what it makes of words or recordings, one object each."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from guide import app
from guide.commands.common import library
from guide.core.errors import BadInput
from guide.core.intent import Expecting
from guide.core.jobs.questions import check_expecting
from guide.core.jsontext import json_text
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.words.hearing import hear_words
from guide.edge.terminal import Lines


def hear(
    files: Sequence[Path],
    words: str | None,
    measure: str | None,
    check: str | None,
    extra: Sequence[Path],
    *,
    as_json: bool,
) -> int:
    """Say what recordings or words mean."""
    if (words is None) == (not files):
        raise BadInput("give recordings, or --words with what was said")
    if measure and check:
        raise BadInput("--measure and --check exclude each other; give one")
    wants = _expecting(check, extra) if check else None
    kind = _measure(measure)
    if words is not None:
        return _told(hear_words(words, kind, expecting=wants), as_json=as_json)
    from guide.edge.voice.hearing import hear_file
    from guide.edge.voice.panel import panel
    from guide.edge.voice.settings import settings

    home = app.home_folder()
    ears = panel(home, vosk_folder=settings(home).vosk_model)
    try:
        for file in files:
            _told(hear_file(file, ears, measure=kind, expecting=wants), as_json=as_json)
    finally:
        ears.close()
    return 0


def _measure(name: str | None) -> Measure | None:
    if name is None:
        return None
    if name not in {m.value for m in Measure if m.takes_a_reading}:
        known = ", ".join(m.value for m in Measure if m.takes_a_reading)
        raise BadInput(f"{name!r} is no kind of measurement; one of: {known}")
    return Measure(name)


def _expecting(check: str, extra: Sequence[Path]) -> Expecting:
    tree_id, _, name = check.rpartition("/")
    tree = library(extra).tree(tree_id)
    if name not in tree.checks:
        raise BadInput(f"{tree_id} has no check {name!r}; it has: {', '.join(tree.checks)}")
    return check_expecting(tree.checks[name], HANDHELD)


def _told(found: dict[str, Any], *, as_json: bool) -> int:
    if as_json:
        sys.stdout.write(json_text(found) + "\n")
        return 0
    lines = Lines()
    match found["kind"]:
        case "reading":
            value = "OL" if found["over_range"] else f"{found['value']:g} {found['unit']}"
            lines.tell(f"{found['heard']!r}: {value}")
        case "command":
            lines.tell(f"{found['heard']!r}: {found['command']}")
        case _:
            lines.tell(f"{found['heard']!r}: not clear")
    return 0
