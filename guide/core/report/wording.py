"""Text for reports: tidied once, times and ranges as people read them."""

from __future__ import annotations

import re
import unicodedata

from guide.core.quantity import Quantity, Unit, shown
from guide.core.reading import Band

BY = {
    "start": "where the tree begins",
    "route": "the tree's own route",
    "plan": "worth most a minute",
    "retake": "the reading straddled an edge",
    "back": "asked again after it was taken back",
    "offer": "offered to tell the rivals apart",
    "proof": "proves the repair",
    "sweep": "point by point",
    "stale": "the earlier reading was old",
    "intake": "told at the counter",
}
LONGEST = 600
# What is said of a step of the path that does not count.
STRUCK = {"passed": "passed over", "withdrawn": "taken back", "replaced": "taken anew"}


def struck(standing: str) -> str:
    """Return what is said behind a step of the path that does not count; empty where it does."""
    return f", {STRUCK[standing]}" if standing in STRUCK else ""


def tidy(text: str, *, longest: int = LONGEST) -> str:
    """Return `text` on one line, without control or direction characters, cut at `longest` with a mark that it was.

    Format characters (zero width, direction overrides) are dropped: they can make a line read as what it is not.
    Everything else that is not a character anyone assigned becomes U+FFFD, so that every form of report stays valid.
    """
    kept = []
    for c in text:
        category = unicodedata.category(c)
        if c.isspace():
            kept.append(" ")
        elif category == "Cf":
            continue
        else:
            kept.append("\ufffd" if category.startswith("C") else c)
    line = " ".join("".join(kept).split())
    return line if len(line) <= longest else line[: longest - 1].rstrip() + "…"


_VALUE = re.compile(r"(?<=\d) (?=(?:[kMmu]?(?:V|Ω|A|Hz)|°C|%)(?:\W|$))")


def unbroken(text: str) -> str:
    """Return `text` with a no-break space between each number and its unit, for forms that break lines."""
    return _VALUE.sub("\u00a0", text)


def moment(at: str) -> str:
    """Return an ISO time as `2026-01-05 09:00`, in UTC as it is kept."""
    return at[:16].replace("T", " ")


def minutes(value: float) -> str:
    if value < 1:
        return f"{value * 60:.0f} s"
    return f"{value:.0f} min" if value >= 10 or value == round(value) else f"{value:.1f} min"


def percent(p: float) -> str:
    """Return a probability in percent; what is not certain never reads as 0 or 100."""
    if 0 < p < 0.001:
        return "< 0.1 %"
    if 0.999 < p < 1:
        return "> 99.9 %"
    return f"{p * 100:.1f} %"


def limits_of(band: Band, unit: Unit | None) -> str:
    """Return a band's range as read: `54 Ω to 66 Ω`, `below 1 V`, `132 Ω and up or OL`; empty for words."""
    if unit is None:
        return ""
    low, high = (None if v is None else shown(Quantity(v, unit)) for v in (band.low, band.high))
    said = f"{low} to {high}" if low and high else f"below {high}" if high else f"{low} and up" if low else ""
    if band.over_range:
        return f"{said} or OL" if said else "OL"
    return said
