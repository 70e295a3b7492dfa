"""What the screen is drawn from: the job itself, what was said, and what goes on just now."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from guide.core.intent import Utterance
from guide.core.jobs.job import Job
from guide.core.jobs.questions import Message
from guide.core.reading import Source

KEPT = 60  # lines of talk kept for the screen; the record itself is in the store


class Doing(StrEnum):
    """What the tool is about. Always shown in words."""

    KEYS = "waiting for your keys"
    LISTENING = "listening"
    EAR_OPEN = "listening until Space"
    EAR_SHUT = "not listening, Space to speak"
    SPEAKING = "speaking, not listening"
    SPEAKING_OVER = "speaking, hears stop"
    THINKING = "thinking"
    METER = "waiting for meter or keys"


class Who(StrEnum):
    """Who said a line."""

    YOU = "you"
    METER = "meter"
    GUIDE = "guide"


@dataclass(frozen=True, slots=True)
class Said:
    """One line of the talk; `sure` says in words how sure the tool is of what it heard."""

    who: Who
    text: str
    sure: str = ""


@dataclass(frozen=True, slots=True)
class Scene:
    """One picture of the bench. Everything about the job is taken from `job`, so it cannot differ from the record."""

    job: Job
    talk: tuple[Said, ...] = ()
    doing: Doing = Doing.KEYS
    clock: str = ""
    meter: str = ""  # the connected meter's name

    def saying(self, *lines: Said) -> Scene:
        return replace(self, talk=(*self.talk, *lines)[-KEPT:])


def how_sure(utterance: Utterance) -> str:
    """Return in words how sure the tool is of what it heard; a recogniser's own number says too little to be shown."""
    if utterance.source is not Source.SPOKEN:
        return ""
    return "sure: two recognisers agree" if utterance.agreed else "one recogniser: a reading waits for yes"


def told(messages: Iterable[Message]) -> tuple[Said, ...]:
    """Return what `messages` add to the talk; what stands as question, odds or table has its own place."""
    return tuple(Said(Who.GUIDE, text) for m in messages if (text := _line(m)))


def _line(message: Message) -> str:
    match message["type"]:
        case "read":
            near = message["borderline"] and not message["between"]
            return f"{message['show']}{', near an edge' if near else ''}"
        case "told" if message.get("show"):
            return str(message["show"])
        case "unclear":
            return f"? {message['say']}"
        case "told" | "prove" | "held" | "closed":
            return str(message["say"])
        case "error":
            return str(message["message"])
    return ""
