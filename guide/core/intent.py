"""What was heard or typed, what is expected, and what it means."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from guide.core.meter import ModeSpec
from guide.core.quantity import Measure
from guide.core.reading import Measured, OverRange, Reading, Source


class Command(StrEnum):
    """What can be said at any question, by the name that is reported."""

    REPEAT = "repeat"
    SKIP = "skip"
    CANT_REACH = "can't reach"
    GO_BACK = "go back"
    SCRATCH_THAT = "scratch that"
    WHY = "why"
    WHAT_IF = "what if"  # with a reading or a band: `what if o l`
    WHERE_ARE_WE = "where are we"
    NOTE = "note"  # with its text
    HOLD = "hold"  # with a reason, if any
    SLOWER = "slower"
    QUIET = "quiet"
    HELP = "help"
    YES = "yes"
    NO = "no"
    ENOUGH = "enough"
    TAKE_IT = "take it"
    WHAT_IS = "what is"  # with a component marking: `what is 4 7 2`
    OVERRIDE = "override"
    SOMETHING_ELSE = "something else"  # with what it was: closes a job whose cause the tree does not have


@dataclass(frozen=True, slots=True)
class Utterance:
    """One line typed, or one segment of speech heard. `agreed`: two independent recognisers meant the same."""

    text: str
    source: Source = Source.TYPED
    confidence: float = 1.0
    agreed: bool = False


@dataclass(frozen=True, slots=True)
class Expecting:
    """What the present question takes.

    `answers` maps the name of each answer to the words that mean it (a hazard's `until`, a look's words, an option's
    name); `measure` and `spec` are set where a reading is wanted.
    """

    measure: Measure | None = None
    spec: ModeSpec | None = None
    answers: Mapping[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Say:
    """A reading, or a word that answers a look or question."""

    reading: Reading
    words: str
    source: Source = Source.TYPED
    agreed: bool = False


@dataclass(frozen=True, slots=True)
class Pick:
    """One of the expected answers that is no reading: an acknowledgement or an option, by its name."""

    answer: str
    words: str
    source: Source = Source.TYPED
    agreed: bool = False


@dataclass(frozen=True, slots=True)
class Do:
    """A command, with the words that followed it (`note …`, `hold …`, `what is …`)."""

    command: Command
    text: str = ""
    source: Source = field(default=Source.TYPED, compare=False)  # a command means the same however it comes


@dataclass(frozen=True, slots=True)
class Unclear:
    """Not understood, or more than one thing: the same question stands.

    `candidates` are the readings it could have been, for the question that names them.
    """

    reason: str
    heard: str
    candidates: tuple[Measured | OverRange, ...] = ()


Intent = Say | Pick | Do
