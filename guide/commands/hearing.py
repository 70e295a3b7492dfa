"""`guide hear`: what it makes of words or recordings, one object each."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from guide import app
from guide.commands.common import library
from guide.core.errors import BadInput
from guide.core.intent import Expecting, Unclear, Utterance
from guide.core.jobs.questions import check_expecting
from guide.core.jobs.wording import shown_reading
from guide.core.jsontext import json_text
from guide.core.meter import HANDHELD
from guide.core.quantity import Measure
from guide.core.tree import in_words
from guide.core.words.hearing import hear_words, heard_anywhere
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
    refused: list[BadInput] = []
    try:
        for file in files:
            try:
                _told(hear_file(file, ears, measure=kind, expecting=wants), as_json=as_json)
            except BadInput as error:  # the others are heard all the same
                refused.append(error)
    finally:
        ears.close()
    if refused:
        raise BadInput("; ".join(map(str, refused)))
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
    said = f"{found['heard']!r}: " if found["heard"] or not found["file"] else ""
    of = f"{found['file']}: " if found["file"] else ""
    Lines().tell(f"{of}{said}{_meant(found)}{_how(found)}")
    return 0


def _meant(found: dict[str, Any]) -> str:
    match found["kind"]:
        case "reading":
            return "OL" if found["over_range"] else f"{found['value']:g} {found['unit']}"
        case "command":
            return in_words(str(found["command"]))
    why = "; ".join(part for part in (_would_be(str(found["heard"])), found.get("say", "")) if part)
    return f"not clear{': ' if why else ''}{why}"


def _would_be(words: str) -> str:
    """Return what a number without a unit would be, by the first few kinds of measurement."""
    meant = heard_anywhere(Utterance(words))
    if not isinstance(meant, Unclear) or not meant.candidates:
        return ""
    shown = list(dict.fromkeys(shown_reading(r) for r in meant.candidates))
    return " or ".join((*shown[:_NAMED], *(("another",) if len(shown) > _NAMED else ())))


def _how(found: dict[str, Any]) -> str:
    """Return what each ear heard of a recording, and whether a job would wait for a yes."""
    ears = found.get("ears")
    if not ears:
        return ""
    by = ", ".join(f"{_EARS.get(engine, engine)} {words!r}" for engine, words in ears.items())
    waits = {"reading": "waits for yes", "command": "heard by one"}.get(found["kind"], "")
    notes = ["two agree" if found["sure"] else waits, found["say"] if found["kind"] != "unclear" else ""]
    return "".join(f"  ({'; '.join(part for part in (*notes, by) if part)})")


_NAMED = 3
_EARS = {"neural": "second ear"}
