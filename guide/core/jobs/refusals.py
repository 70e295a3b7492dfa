"""What is never diagnosed here, whatever the tree: told by the technician's own words, with the reason.

Grounds, from memory, common practice: a microwave oven's capacitor and a picture tube's anode keep a deadly charge
without the mains; a damaged lithium cell can burn at any touch; a mains primary is licensed work. Local codes decide.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_HAND_OVER = "Hand it to licensed practice under your local codes."


@dataclass(frozen=True, slots=True)
class Refusal:
    """Words that name it, as a pattern over small letters, and why it is not diagnosed."""

    named: re.Pattern[str]
    why: str


_DENIAL = r"\b(no|not|never|without|isn't|wasn't|aren't)\b"
_BEFORE = re.compile(rf"{_DENIAL}( an?| the| any)? *$")
_HURT = (
    r"(swollen|swelling|swelled|swells|puffed|puffy|bulging|bulged|bulges|bloated|punctured|pierced|leaking|venting"
    r"|vented|ruptured|pillowed|pillowing|got fat|inflated|expanded|expanding)"
)
_MAINS_PARTS = r"(fuse|filter|rectifier|bridge|capacitors?|caps?|switch transistor)"
_PACK = r"(lithium|li-?ion|li-?po|battery|batteries|cell|cells|pack|accumulator)"
REFUSALS = (
    Refusal(
        re.compile(r"\b(microwave oven|microwaves?|magnetron)\b(?! (sensor|link|module|radar))"),
        "A microwave oven is not diagnosed here: its capacitor can kill long after it is unplugged.",
    ),
    Refusal(
        re.compile(r"\b(crt|cathode[- ]ray|picture tube|tube (tv|television|monitor)|(tv|television|monitor) tube)\b"),
        "A cathode-ray tube is not diagnosed here: its anode keeps thousands of volts without the mains.",
    ),
    Refusal(
        re.compile(rf"\b{_HURT}\b.*\b{_PACK}\b|\b{_PACK}\b.*\b{_HURT}\b"),
        "A swollen, leaking or punctured lithium pack is not diagnosed here: it can burn at any touch."
        " Do not charge or press it; put it outdoors on something that does not burn.",
    ),
    Refusal(
        re.compile(
            r"\b(mains|line|smps|switch(ed)?[- ]mode( power)?( supply)?|adapter|charger) primary\b"
            r"|\bprimary (side|circuit|winding|switch|stage|fuse|capacitors?|caps?)\b"
            rf"|\bmains (side|input (stage|{_MAINS_PARTS})|{_MAINS_PARTS})\b"
            r"|\b(live|hot|line) side of (the|a) ([a-z]+ )?(supply|psu|smps|adapter|charger)\b"
        ),
        "The mains side of a supply is not diagnosed here.",
    ),
)  # fmt: skip


def refused(words: str) -> str | None:
    """Return why what `words` name is not diagnosed here, None where nothing of it is named; `not swollen` is not."""
    for clause in re.split(r"[,.;]| but ", words.lower()):
        for refusal in REFUSALS:
            if (found := refusal.named.search(clause)) and not _denied(clause[: found.start()], found.group()):
                return f"{refusal.why} {_HAND_OVER}"
    return None


def _denied(before: str, found: str) -> bool:
    return _BEFORE.search(before) is not None or re.search(_DENIAL, found) is not None
