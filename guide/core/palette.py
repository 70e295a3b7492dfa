"""The colours of everything printed or drawn, by what they mean. No meaning rests on hue alone: a word or a shape says
it too.

Hues are from Okabe and Ito's set for all colour visions (from memory), darkened where they carry text. `TEXT_ON` and
`MARKS_ON` list what is put on what; a test computes WCAG 2.1 contrast for each pair (4.5:1 text, 3:1 marks).
"""

from __future__ import annotations

from collections.abc import Mapping

COLOURS: Mapping[str, str] = {
    "paper": "#ffffff",
    "ink": "#1a1a1a",
    "muted": "#555555",
    "rule": "#8c8c8c",
    "panel": "#f4f4f2",
    "normal": "#d9ecf9",  # where a good unit reads
    "odd": "#f7ead2",  # where it does not
    "mark": "#000000",
    "good": "#00527f",
    "bad": "#9c3d00",
    "taken": "#fff3b8",  # the path of a job
    "finding": "#fbe3dc",
}

TEXT_ON: tuple[tuple[str, str], ...] = (
    *((text, ground) for text in ("ink", "muted") for ground in ("paper", "panel", "normal", "odd", "taken")),
    *((text, ground) for text in ("good", "bad") for ground in ("paper", "panel")),
    ("ink", "finding"),
    ("bad", "finding"),
)
MARKS_ON: tuple[tuple[str, str], ...] = (
    *(("mark", ground) for ground in ("paper", "normal", "odd")),
    ("rule", "paper"),
    ("good", "normal"),
    ("bad", "odd"),
)

# Lines of a chart: hue, dash and end mark all differ, and each is named at its end.
LINES: tuple[tuple[str, str, str], ...] = (
    ("#0072b2", "", "circle"),
    ("#b34a00", "7 3", "square"),
    ("#00795a", "2 3", "triangle"),
    ("#a04a7c", "9 3 2 3", "diamond"),
    ("#333333", "4 2", "cross"),
)
