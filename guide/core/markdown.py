"""Text inside Markdown: nothing a name or a note holds may become a heading, a link, a table cell or HTML."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence

_SPECIAL = re.compile(r"[\\`*_{}\[\]<>|#~$&^!]")
# Bare addresses become links in common dialects; so do mail addresses.
_LINKS = re.compile(r"(:)(?=//)|(@)|(?<=www)(\.)", re.IGNORECASE)
# What would open a list, a rule or a heading at the start of a line.
_OPENING = re.compile(r"^(\d{1,9})([.)])(?=\s|$)|^([-+=])(?=[-+=\s]|$)")


def escaped(text: str) -> str:
    """Return `text`, one line of it, so that Markdown shows it as it is.

    A backslash before ASCII punctuation is the literal character (CommonMark 0.31, 2.4, as recalled).
    """
    line = _SPECIAL.sub(lambda m: "\\" + m.group(), " ".join(text.split()))
    line = _LINKS.sub(lambda m: "\\" + m.group(), line)
    return _OPENING.sub(lambda m: f"{m.group(1)}\\{m.group(2)}" if m.group(1) else "\\" + m.group(3), line)


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    """Return a table, cells escaped; nothing where there is no row."""
    body = [f"| {' | '.join(escaped(cell) or '–' for cell in row)} |" for row in rows]
    return [f"| {' | '.join(head)} |", f"|{'---|' * len(head)}", *body, ""] if body else []


def listed(items: Iterable[str]) -> list[str]:
    """Return a bulleted list, items escaped; nothing where there is none."""
    found = [f"- {escaped(item)}" for item in items if item]
    return [*found, ""] if found else []
