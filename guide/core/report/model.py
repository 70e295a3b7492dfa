"""What a report says, as one frozen structure: every form (Markdown, HTML, PDF, JSON) is drawn from it.

All text in it is tidied (see `wording.tidy`), never escaped: each form escapes for itself. Values are SI, times ISO
8601 UTC, probabilities rounded to six places so that a report is the same on every machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Chances = tuple[tuple[str, float], ...]  # (cause, probability), likeliest first


class Standing(StrEnum):
    """What became of a reading."""

    COUNTS = "counts"
    REPEATED = "repeated"  # an earlier take of a reading that was taken once more; both count together
    WITHDRAWN = "withdrawn"
    REPLACED = "replaced"  # too old, so it was taken anew


class Stage(StrEnum):
    """What a reading was taken for."""

    FINDING = "finding"
    PROOF = "proof"


@dataclass(frozen=True, slots=True)
class Cell:
    """One band of a strip. `edge` is the value at its left end as shown, empty where it has none."""

    name: str
    normal: bool
    holds: bool
    edge: str
    limits: str


@dataclass(frozen=True, slots=True)
class Strip:
    """A reading against its bands. All bands are drawn equally wide; positions run from 0 to 1 along the strip.

    `left` and `right` are the ends of the whisker, equal to `at` for OL and for words.
    """

    cells: tuple[Cell, ...]
    at: float
    left: float
    right: float
    shape: str  # dot, diamond (OL) or square (a word)


@dataclass(frozen=True, slots=True)
class Row:
    """One reading as it was taken. `error` is ± in base units, about 95 percent; `normal` None where nothing is."""

    number: int
    at: str
    check: str
    ask: str
    measure: str
    shown: str
    value: float | None
    unit: str
    over_range: bool
    error: float | None
    error_shown: str
    band: str
    shares: Chances
    normal: bool | None
    borderline: bool
    boards: str  # what known-good boards of the model read, where this is unlike them
    source: str
    words: str
    standing: Standing
    stage: Stage
    epoch: int
    by: str
    why: str
    usual: str
    strip: Strip | None


@dataclass(frozen=True, slots=True)
class Side:
    """One half of a pair; `error` is ± in base units."""

    check: str
    label: str
    shown: str
    value: float
    error: float


@dataclass(frozen=True, slots=True)
class Pair:
    """Two twins compared. `apart` is None, with `band` empty, where their own bands or words have spoken already."""

    check: str
    ask: str
    epoch: int
    first: Side | None
    second: Side | None
    apart_shown: str
    apart: float | None
    band: str
    normal: bool | None
    told: str


@dataclass(frozen=True, slots=True)
class Odds:
    """The odds after one thing that moved them; `number` is the reading's, 0 where it was none."""

    number: int
    label: str
    chances: Chances


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the path: a check asked for, how it came to be the next, and what came of it."""

    number: int
    check: str
    ask: str
    by: str
    why: str
    answer: str
    band: str
    normal: bool | None
    standing: str  # a Standing, or `passed`


@dataclass(frozen=True, slots=True)
class Ground:
    """What one reading says for (positive) or against (negative) the verdict, in bits."""

    check: str
    ask: str
    measure: str
    band: str
    shown: str
    usual: str
    normal: bool | None
    bits: float
    told: bool  # what somebody knows of the device, not what was found on it


@dataclass(frozen=True, slots=True)
class Rival:
    cause: str
    say: str
    p: float


@dataclass(frozen=True, slots=True)
class Verdict:
    """A verdict as it was given. `fate` is stands, accepted, set aside, taken back or refuted; `settled` is whether it
    reached what the tree asks of one. `says` and `customers` tell each of `causes`, for the bench and for the customer.
    """

    at: str
    cause: str
    say: str
    customer: str
    p: float
    causes: tuple[str, ...]
    says: tuple[str, ...]
    customers: tuple[str, ...]
    rivals: tuple[Rival, ...]
    separable: bool
    grounds: tuple[Ground, ...]
    fate: str
    settled: bool


@dataclass(frozen=True, slots=True)
class Option:
    """One repair that was offered."""

    number: str
    cause: str
    do: str
    minutes: float
    parts: str
    skill: str
    risk: str
    restores: str
    leaves: str
    bypass: bool


@dataclass(frozen=True, slots=True)
class Repair:
    """One repair that was chosen, and what came of it.

    `proof` is passed, failed, overridden or empty; `function` is works, still faulty or empty.
    """

    at: str
    option: Option
    done_at: str
    proof: str
    failed: tuple[str, ...]
    function: str


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution and how often it was acknowledged."""

    id: str
    say: str
    words: tuple[str, ...]
    at: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Noted:
    at: str
    text: str


@dataclass(frozen=True, slots=True)
class Wait:
    """Put aside: since when, until when as said, and when it was taken up again (empty while it waits)."""

    at: str
    reason: str
    until: str
    resumed: str


@dataclass(frozen=True, slots=True)
class Ending:
    """How the job closed, or what is known of its cause while it is open. `outcome` is what it really was, as far as
    known; `at` is when it closed, or when that was said."""

    at: str
    outcome: str
    say: str
    customer: str
    proven: bool
    note: str
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Source:
    id: str
    text: str


@dataclass(frozen=True, slots=True)
class Report:
    """One job, told whole."""

    job: str
    tree: str
    tree_version: int
    tree_sha256: str
    device: str
    symptom: str
    meter: str
    began: str
    last: str
    facts: tuple[tuple[str, str], ...]
    shop_jobs: int
    handed_over: bool
    cautions: tuple[Caution, ...]
    rows: tuple[Row, ...]
    pairs: tuple[Pair, ...]
    odds: tuple[Odds, ...]
    path: tuple[Step, ...]
    verdicts: tuple[Verdict, ...]
    options: tuple[Option, ...]
    repairs: tuple[Repair, ...]
    overrides: tuple[Noted, ...]
    notes: tuple[Noted, ...]
    waits: tuple[Wait, ...]
    ending: Ending | None
    minutes_planned: float
    minutes_worked: float
    causes: tuple[tuple[str, str], ...]
    sources: tuple[Source, ...]

    @property
    def verdict(self) -> Verdict | None:
        """The last verdict that was not set aside, taken back or refuted."""
        return next((v for v in reversed(self.verdicts) if v.fate in ("stands", "accepted")), None)

    @property
    def untested(self) -> bool:
        """Tell whether the readings after the last repair are good and nobody has tried the device since."""
        return bool(self.repairs) and self.repairs[-1].proof == "passed" and not self.repairs[-1].function
