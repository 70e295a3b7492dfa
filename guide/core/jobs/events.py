"""What happened, once and for good: frozen kinds, each with a version.

Events hold facts and what the technician was told; odds are never stored, they are worked out anew.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from guide.core.jobs.endings import (
    CauseShown as CauseShown,
    Closed as Closed,
    ClosingHeard as ClosingHeard,
    ClosingRefused as ClosingRefused,
    FunctionFailed as FunctionFailed,
    OutcomeSet as OutcomeSet,
    ProofFailed as ProofFailed,
    ProofOverridden as ProofOverridden,
    ProofPassed as ProofPassed,
    ProofReopened as ProofReopened,
    RepairChosen as RepairChosen,
    RepairDone as RepairDone,
    RepairWithdrawn as RepairWithdrawn,
    TestWithdrawn as TestWithdrawn,
)
from guide.core.meter import MeterProfile
from guide.core.reading import Reading


@dataclass(frozen=True, slots=True)
class Opened:
    """A job began. `tree_sha256` pins the tree's text, which the store keeps."""

    kind: ClassVar[str] = "opened"
    v: ClassVar[int] = 1
    job: str
    tree: str
    tree_sha256: str
    symptom: str = ""
    device: str = ""
    meter: str = ""


@dataclass(frozen=True, slots=True)
class MeterUsed:
    """The meter of the readings that follow, as data: what they say stays the same when the bench gets another."""

    kind: ClassVar[str] = "meter_used"
    v: ClassVar[int] = 1
    meter: MeterProfile


@dataclass(frozen=True, slots=True)
class ShopKnown:
    """What the shop's closed jobs had taught when this job began; the job keeps to it.

    `weights` are P(cause), `reliability` replaces a check's own, `intervals` hold good boards' readings (base units).
    """

    kind: ClassVar[str] = "shop_known"
    v: ClassVar[int] = 1
    jobs: int
    weights: Mapping[str, float] = field(default_factory=dict)
    reliability: Mapping[str, float] = field(default_factory=dict)
    intervals: Mapping[str, tuple[float, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Resumed:
    """Taken up again. `stale` names the checks whose readings had grown too old by then."""

    kind: ClassVar[str] = "resumed"
    v: ClassVar[int] = 1
    stale: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CautionGiven:
    kind: ClassVar[str] = "caution_given"
    v: ClassVar[int] = 1
    hazard: str


@dataclass(frozen=True, slots=True)
class HazardCleared:
    kind: ClassVar[str] = "hazard_cleared"
    v: ClassVar[int] = 1
    hazard: str
    words: str


@dataclass(frozen=True, slots=True)
class StepTold:
    """A setup to connect or an access to open was told."""

    kind: ClassVar[str] = "step_told"
    v: ClassVar[int] = 1
    step: str


@dataclass(frozen=True, slots=True)
class StepMade:
    kind: ClassVar[str] = "step_made"
    v: ClassVar[int] = 1
    step: str
    words: str


@dataclass(frozen=True, slots=True)
class SweepBegun:
    """A part is gone through point by point; no verdict interrupts it."""

    kind: ClassVar[str] = "sweep_begun"
    v: ClassVar[int] = 1
    sweep: str


@dataclass(frozen=True, slots=True)
class CheckChosen:
    """The next check was settled, before its cautions: `by` start, route, plan, retake, back, offer or proof.

    `why` is the planner's sentence at that moment, so that the record says why each check was taken.
    """

    kind: ClassVar[str] = "check_chosen"
    v: ClassVar[int] = 1
    check: str
    by: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class CheckAsked:
    """The check's question was put; its cautions and steps are behind it."""

    kind: ClassVar[str] = "check_asked"
    v: ClassVar[int] = 1
    check: str


@dataclass(frozen=True, slots=True)
class ReadingHeard:
    """A spoken reading was read back and waits for yes."""

    kind: ClassVar[str] = "reading_heard"
    v: ClassVar[int] = 1
    check: str
    reading: Reading
    words: str
    source: str


@dataclass(frozen=True, slots=True)
class ReadingRefused:
    kind: ClassVar[str] = "reading_refused"
    v: ClassVar[int] = 1
    check: str


@dataclass(frozen=True, slots=True)
class ReadingTaken:
    """A reading counts. `weights` are the band probabilities told then; `again` means a repeat was asked for first."""

    kind: ClassVar[str] = "reading_taken"
    v: ClassVar[int] = 1
    check: str
    reading: Reading
    words: str
    source: str
    band: str
    weights: Mapping[str, float]
    again: bool = False


@dataclass(frozen=True, slots=True)
class ReadingWithdrawn:
    """The last answer never happened for the odds; it stays in the record."""

    kind: ClassVar[str] = "reading_withdrawn"
    v: ClassVar[int] = 1
    check: str


@dataclass(frozen=True, slots=True)
class ReadingPlaced:
    """A reading that stands falls into another band than the one told when it was taken: the tree has changed."""

    kind: ClassVar[str] = "reading_placed"
    v: ClassVar[int] = 1
    check: str
    band: str
    weights: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class CheckPassed:
    """Skipped, out of reach or not to be seen: no evidence. `reason` is the word said."""

    kind: ClassVar[str] = "check_passed"
    v: ClassVar[int] = 1
    check: str
    reason: str


@dataclass(frozen=True, slots=True)
class VerdictGiven:
    kind: ClassVar[str] = "verdict_given"
    v: ClassVar[int] = 1
    cause: str
    p: float
    causes: tuple[str, ...]
    rivals: tuple[tuple[str, float], ...]
    separable: bool


@dataclass(frozen=True, slots=True)
class VerdictSetAside:
    """The technician measures on; `check` is the reading they took up, if one was offered."""

    kind: ClassVar[str] = "verdict_set_aside"
    v: ClassVar[int] = 1
    check: str = ""


@dataclass(frozen=True, slots=True)
class VerdictAccepted:
    kind: ClassVar[str] = "verdict_accepted"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class NoteAdded:
    kind: ClassVar[str] = "note_added"
    v: ClassVar[int] = 1
    text: str


@dataclass(frozen=True, slots=True)
class IntakeBegun:
    """The counter's questions are put: those that were skipped, or `question` alone, whose answer is taken back."""

    kind: ClassVar[str] = "intake_begun"
    v: ClassVar[int] = 1
    question: str = ""


@dataclass(frozen=True, slots=True)
class IntakeEnded:
    kind: ClassVar[str] = "intake_ended"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class FactsNoted:
    """Intake: free facts about the device and its history, by name."""

    kind: ClassVar[str] = "facts_noted"
    v: ClassVar[int] = 1
    facts: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Held:
    """Put aside: for whom or what (`customer`, `part`, …) and until when, as said."""

    kind: ClassVar[str] = "held"
    v: ClassVar[int] = 1
    reason: str = ""
    until: str = ""


@dataclass(frozen=True, slots=True)
class TreeAdopted:
    kind: ClassVar[str] = "tree_adopted"
    v: ClassVar[int] = 1
    old_sha256: str
    new_sha256: str


Event = (
    Opened | MeterUsed | ShopKnown | Resumed | CautionGiven | HazardCleared | StepTold | StepMade | SweepBegun
    | CheckChosen | CheckAsked | ReadingHeard | ReadingRefused | ReadingTaken | ReadingWithdrawn | ReadingPlaced
    | CheckPassed | VerdictGiven | VerdictSetAside | VerdictAccepted | RepairChosen | RepairDone | ProofPassed
    | ProofFailed | ProofOverridden | FunctionFailed | CauseShown | RepairWithdrawn | ProofReopened | TestWithdrawn
    | ClosingHeard | ClosingRefused | Closed | OutcomeSet | NoteAdded | IntakeBegun | IntakeEnded | FactsNoted | Held
    | TreeAdopted
)  # fmt: skip

KINDS: Mapping[str, type[Event]] = {k.kind: k for k in Event.__args__}


@dataclass(frozen=True, slots=True)
class Recorded:
    """An event as kept: its place in the job and the time (ISO 8601, UTC) stamped by the app."""

    seq: int
    at: str
    event: Event
