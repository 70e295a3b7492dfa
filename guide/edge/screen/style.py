"""Styles of the screen. Words and shapes carry every meaning; hues only add to them.

Text keeps the terminal's own colours, so light and dark both work. Badges bring both their colours along. The two hues
of text are from Okabe and Ito's set for all colour visions (from memory), shifted to the lightness that stands at
4.5:1 or more (WCAG 2.1) against black and against white.
"""

from __future__ import annotations

from collections.abc import Mapping

BLUE, ORANGE = "#007bc0", "#c25400"
BADGE_INK = {"#005a8c": "#ffffff", "#e69f00": "#000000", "#d0d0d0": "#000000"}  # ground: ink
TEXT_HUES = (BLUE, ORANGE)

COLOURED: Mapping[str, str] = {
    "head": "reverse",
    "power.off": "bg:#005a8c #ffffff bold",
    "power.on": "bg:#e69f00 #000000 bold",
    "power.unknown": "bg:#d0d0d0 #000000 bold",
    "doing": "bold",
    "large": "bold",
    "caution": f"{ORANGE} bold",
    "tag": "bold",
    "ask": "bold",
    "title": "bold",
    "rule": "",
    "muted": "",
    "value": "bold",
    "usual": f"{BLUE} bold",
    "odd": f"{ORANGE} bold",
    "here": "reverse bold",
    "strip": "",
    "bar": BLUE,
    "lead": "bold",
    "takes": "",
    "key": "reverse",
    "guide": "",
    "you": "italic",
    "prompt": "bold",
}


def without_hues() -> Mapping[str, str]:
    """Return the styles for NO_COLOR: bold, reverse and underline alone."""
    kept = {"bold", "reverse", "underline", "italic"}
    plain = {name: " ".join(w for w in style.split() if w in kept) for name, style in COLOURED.items()}
    return {**plain, **{f"power.{state}": "reverse bold" for state in ("off", "on", "unknown")}}
