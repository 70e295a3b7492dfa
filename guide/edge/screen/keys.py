"""What each key says. A foot switch that types one of these keys needs nothing else."""

from __future__ import annotations

from guide.core.intent import Command

# prompt_toolkit's name of the key, the name on the keyboard, what it says.
KEYS: tuple[tuple[str, str, Command], ...] = (
    ("f1", "F1", Command.HELP),
    ("f2", "F2", Command.REPEAT),
    ("f3", "F3", Command.SKIP),
    ("f4", "F4", Command.CANT_REACH),
    ("f5", "F5", Command.WHY),
    ("f6", "F6", Command.WHERE_ARE_WE),
    ("f7", "F7", Command.GO_BACK),
    ("f8", "F8", Command.TAKE_IT),
    ("f9", "F9", Command.ENOUGH),
    ("f10", "F10", Command.HOLD),
)
ON_EMPTY_LINE = Command.SCRATCH_THAT  # Backspace with nothing typed
ENTER, BACKSPACE, LEAVE = "Enter", "Bksp", "Ctrl-D"


def keys_shown(enter: str) -> tuple[tuple[str, str], ...]:
    """Return each key with what it says now; `enter` is what a bare Enter means at the question that stands."""
    named = [(name, command.value) for _, name, command in KEYS]
    return ((ENTER, enter), (BACKSPACE, ON_EMPTY_LINE.value), *named, (LEAVE, "leave"))
