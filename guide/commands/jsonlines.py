"""The JSON-lines contract: one object a line out, one answer a line in."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from guide import app
from guide.core.intent import Command, Do, Utterance
from guide.core.jobs.questions import Message
from guide.core.jsontext import json_text
from guide.core.reading import Source

PIECE = 1_000_000  # characters


def flushed(line: str) -> None:
    """Write a line that somebody waits for."""
    sys.stdout.write(line)
    sys.stdout.flush()


def lines_in() -> Iterator[str]:
    """Return the lines of standard input, in pieces: one without an end is refused as too long and not collected."""
    return iter(lambda: sys.stdin.readline(PIECE), "")


def teller(write: Callable[[str], Any] = flushed) -> Callable[[Iterable[Message]], None]:
    """Return what writes messages as JSON lines."""

    def tell(told: Iterable[Message]) -> None:
        for message in told:
            write(json_text(message) + "\n")

    return tell


def serve(
    session: app.Session, first: Iterable[Message], lines: Iterable[str], write: Callable[[str], Any] = flushed
) -> None:
    """Hold a job's conversation to its end; end of input is `hold`."""
    tell = teller(write)
    first = list(first)
    tell(first)
    app.ready_for_words()
    if app.done(first):
        return
    for line in lines:
        told = session.hear(Utterance(line.strip("\r\n"), Source.TYPED))
        tell(told)
        if app.done(told):
            return
    tell(session.act(Do(Command.HOLD)))
