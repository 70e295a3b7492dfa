"""Python's cycle collector: when it rests, and what it need not look through."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def uncollected() -> Iterator[None]:
    """Let the collector rest: events hold no cycles, and of a long job it would look them through time and again.

    A third of the time 10,000 events take.
    """
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def set_apart() -> None:
    """Set what the program is made of apart: looking it through takes 25 ms, and would fall into some answer."""
    gc.collect()
    gc.freeze()
