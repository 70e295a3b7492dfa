"""What happens once the verdict is accepted: repair, proof, function test, the close and what it was. See `events`."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar


@dataclass(frozen=True, slots=True)
class RepairChosen:
    kind: ClassVar[str] = "repair_chosen"
    v: ClassVar[int] = 1
    cause: str
    option: int


@dataclass(frozen=True, slots=True)
class RepairDone:
    """The bench has changed: readings before this no longer count and the belief restarts from the weights."""

    kind: ClassVar[str] = "repair_done"
    v: ClassVar[int] = 1
    proof: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ProofPassed:
    kind: ClassVar[str] = "proof_passed"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class ProofFailed:
    """`checks` still read wrong; `onward` is the check the tree names for that, if any."""

    kind: ClassVar[str] = "proof_failed"
    v: ClassVar[int] = 1
    checks: tuple[str, ...]
    onward: str = ""


@dataclass(frozen=True, slots=True)
class ProofOverridden:
    """The technician goes on without the proof, aloud; the report says so."""

    kind: ClassVar[str] = "proof_overridden"
    v: ClassVar[int] = 1
    words: str


@dataclass(frozen=True, slots=True)
class FunctionFailed:
    kind: ClassVar[str] = "function_failed"
    v: ClassVar[int] = 1
    words: str


@dataclass(frozen=True, slots=True)
class CauseShown:
    """A bypass made the device work: the cause is shown, a lasting repair is still to be chosen."""

    kind: ClassVar[str] = "cause_shown"
    v: ClassVar[int] = 1
    cause: str


@dataclass(frozen=True, slots=True)
class Closed:
    """The job ended. `cause` is what it really was as far as known: a cause of the tree, `other`, `none` or empty.

    `works`: the device passed its function test; `proven`: by the readings taken again as well.
    """

    kind: ClassVar[str] = "closed"
    v: ClassVar[int] = 2
    cause: str
    note: str = ""
    proven: bool = False
    works: bool = False


@dataclass(frozen=True, slots=True)
class RepairWithdrawn:
    """`done` was a slip: the repair is in hand still, and what was known before it counts again."""

    kind: ClassVar[str] = "repair_withdrawn"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class ProofReopened:
    """`override` was a slip: the proof goes on."""

    kind: ClassVar[str] = "proof_reopened"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class TestWithdrawn:
    """What was said of the function test was a slip: it is asked for again."""

    kind: ClassVar[str] = "test_withdrawn"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class ClosingHeard:
    """Words that close the job without a proof were heard and wait for yes."""

    kind: ClassVar[str] = "closing_heard"
    v: ClassVar[int] = 1
    cause: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class ClosingRefused:
    kind: ClassVar[str] = "closing_refused"
    v: ClassVar[int] = 1


@dataclass(frozen=True, slots=True)
class OutcomeSet:
    kind: ClassVar[str] = "outcome_set"
    v: ClassVar[int] = 1
    cause: str
    note: str = ""
