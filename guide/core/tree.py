"""A procedure tree as loaded: what may be wrong, what can be checked, and what each check says. Lookups only."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from guide.core.quantity import Measure
from guide.core.reading import Band

OTHER = "other"  # none of the listed causes
NONE = "none"  # nothing wrong that this tree can find
STOP = "stop"  # an authored route ends: say what is left
PLAN = "plan"  # an authored route hands over to the planner
NO_HAZARD = "none"  # a question put to a person touches nothing
AS_FOUND = "as_found"
CANT_SEE = "can't see"  # every look takes it; it is no evidence
NORMAL = "normal"  # of a proof: any band of a good unit, where what is right differs from board to board
UNSEEN = "unseen"  # how a check came out that was skipped, or could not be seen or reached: no band, yet a route
LAST_DIGITS = 1e-9  # in which sums of the same numbers differ

COMMON_PRACTICE = "common practice, no source"


def in_words(name: str) -> str:
    """Return the id of a cause, check, band or point as the words it is made of."""
    return name.replace("-", " ")


@dataclass(frozen=True, slots=True)
class Where:
    """Where a datum stands: `str()` is file:line."""

    file: str
    line: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}"


class Power(StrEnum):
    """The power state of the bench. A new or resumed job is `UNKNOWN`."""

    UNKNOWN = "unknown"
    OFF = "off"
    ON = "on"


@dataclass(frozen=True, slots=True)
class Hazard:
    """A caution that is acknowledged with `until` before the checks that name it; `power` is what they need."""

    id: str
    power: Power
    say: str
    until: str
    where: Where


@dataclass(frozen=True, slots=True)
class Step:
    """Something to connect (`setups`, one at a time) or to open (`access`, stays open) before a check.

    `power`: off where hands go to the board for it; on where it is a state of what runs, made once the power is on.
    """

    id: str
    say: str
    until: str
    minutes: float
    where: Where
    power: Power = Power.OFF


@dataclass(frozen=True, slots=True)
class SourceNote:
    """A ground for thresholds. Common practice raises suspicion but never carries a verdict alone."""

    id: str
    text: str
    where: Where

    @property
    def common_practice(self) -> bool:
        return COMMON_PRACTICE in self.text.lower()


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to do with a probe, an eye or a question.

    `expect` gives, for a cause, the bands it predicts; causes not named predict `normal`, the bands of a good unit.
    `table` gives explicit probabilities P(band | cause), its row `default` standing for causes not named. `then` maps a
    band, or `unseen`, to a check, a cause, `stop` or `plan`; a check without `then` is left to the planner. `after`
    gives the checks this one makes sense behind alone, each with the bands (or `unseen`) it must have come out in. A
    check with `twin` is worked out from the difference of two readings and never asked.
    """

    id: str
    ask: str
    measure: Measure
    hazard: str
    bands: tuple[Band, ...]
    where: Where
    normal: tuple[str, ...] = ()
    expect: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    table: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    then: Mapping[str, str] = field(default_factory=dict)
    after: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    red: str | None = None
    black: str | None = None
    setup: str = AS_FOUND
    access: tuple[str, ...] = ()
    minutes: float = 2.0
    reliability: float = 0.98
    sources: tuple[str, ...] = ()
    twin: tuple[str, str] | None = None
    why: str = ""
    fact: str = ""  # something in the device's past that an intake answer may give: dropped, liquid, surge, ...
    marks: Mapping[str, Where] = field(default_factory=dict)  # line of each key, for findings

    @property
    def usual(self) -> tuple[str, ...]:
        """The bands of a good unit, none where the tree says no such thing or every answer is a good unit's."""
        return self.normal if len(self.normal) < len(self.bands) else ()

    def band(self, name: str) -> Band:
        return next(b for b in self.bands if b.name == name)

    def mark(self, key: str) -> Where:
        return self.marks.get(key, self.where)

    def follows(self, came: Callable[[str], str | None]) -> bool:
        """Tell whether all it comes after came out as it must; for `came` see `Tree.may_come`."""
        return all(came(name) in bands for name, bands in self.after.items())

    @property
    def must_be_known(self) -> bool:
        """Whether it is never passed over: what decides if anything may be touched at all."""
        return self.led(UNSEEN) == self.id

    def led(self, band: str) -> str:
        """Return where the author leads from `band`, or from `UNSEEN`; `plan` where the odds decide.

        Without a route of its own a check passed over goes the way of its answers where all of them go one way: it
        must not cost the looks and the unpowered checks the author put behind it. A route from `UNSEEN` back to the
        check itself says that it may not be passed over.
        """
        if band == UNSEEN and UNSEEN not in self.then and len(ways := set(self.then.values())) == 1:
            return ways.pop()
        return self.then.get(band, PLAN)


@dataclass(frozen=True, slots=True)
class Repair:
    """One way to put a cause right. A `proof` (a bypass) shows the cause but is no repair."""

    do: str
    minutes: float
    hazard: str
    where: Where
    parts: str = ""
    skill: str = ""
    risk: str = ""
    restores: str = ""
    leaves: str = ""
    proof: bool = False


@dataclass(frozen=True, slots=True)
class Verify:
    """The reading that proves a repair, and where to go when it fails (a check or `stop`)."""

    check: str
    band: str  # NORMAL for any band of a good unit
    otherwise: str
    where: Where

    def proven_by(self, check: Check) -> frozenset[str]:
        """Return the bands of `check` that prove the repair."""
        named = {b.name for b in check.bands}
        return frozenset(check.normal if self.band == NORMAL and NORMAL not in named else (self.band,))


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that may be wrong. `weight` is relative; the belief normalises. `ground` says where it comes from."""

    id: str
    weight: float
    say: str
    where: Where
    repairs: tuple[Repair, ...] = ()
    verify: Verify | None = None
    ground: str = ""
    customer: str = ""


@dataclass(frozen=True, slots=True)
class Sweep:
    """Checks taken point by point in the order of the part, with short prompts."""

    id: str
    say: str
    checks: tuple[str, ...]
    where: Where


@dataclass(frozen=True, slots=True)
class Tree:
    """A whole tree. `id` is its path under the trees folder without the suffix."""

    id: str
    version: int
    device: str
    symptom: str
    heard_as: tuple[str, ...]
    start: str
    decide_at: float
    sources: Mapping[str, SourceNote]
    hazards: Mapping[str, Hazard]
    points: Mapping[str, str]
    setups: Mapping[str, Step]
    access: Mapping[str, Step]
    checks: Mapping[str, Check]
    causes: Mapping[str, Cause]
    where: Where
    family: str = ""
    sweeps: Mapping[str, Sweep] = field(default_factory=dict)
    sha256: str = ""
    marks: Mapping[str, Where] = field(default_factory=dict)  # line of each top key and, dotted, of what it names
    _asked: tuple[Check, ...] = field(init=False, repr=False, compare=False)
    twins: tuple[Check, ...] = field(init=False, repr=False, compare=False)  # worked out from two readings, never asked

    def __post_init__(self) -> None:
        for name, of_twins in (("_asked", False), ("twins", True)):
            object.__setattr__(self, name, tuple([c for c in self.checks.values() if (c.twin is not None) is of_twins]))

    def mark(self, key: str) -> Where:
        return self.marks.get(key, self.where)

    def needs(self, check: Check) -> Power:
        """Return the power state `check` needs; UNKNOWN means any."""
        return Power.UNKNOWN if check.hazard == NO_HAZARD else self.hazards[check.hazard].power

    def settles(self, p: float, *, of: float = 1.0) -> bool:
        """Tell whether `p`, as a share of `of`, is as sure as the author asks of a verdict.

        What misses it by the last digits of a sum alone is as sure: those differ between versions of Python.
        """
        return p >= self.decide_at * of * (1 - LAST_DIGITS)

    def grounded(self, check: Check) -> bool:
        """Tell whether a verdict may rest on this check: words always, numbers only with a source that is more than
        common practice."""
        if not check.measure.takes_a_reading and check.twin is None:
            return True
        return any(not self.sources[s].common_practice for s in check.sources if s in self.sources)

    def may_come(self, check: Check, came: Callable[[str], str | None]) -> bool:
        """Tell whether `check` makes sense now or may do so later. `came` gives the band a check came out in, or
        `UNSEEN`; None where it is still to be asked."""
        for name, bands in check.after.items():
            band = came(name)
            if band is None and not self.may_come(self.checks[name], came):
                return False
            if band is not None and band not in bands:
                return False
        return True

    def sensible(self, waiting: Iterable[Check], came: Callable[[str], str | None]) -> tuple[Check, ...]:
        """Return the checks of `waiting` that make sense, now or after others of them."""
        return tuple([c for c in waiting if not c.after or self.may_come(c, came)])

    def hands_over(self, check: str, band: str) -> bool:
        """Tell whether `check` in `band` ends the work: nothing is touched any more (mains inside, a swollen pack)."""
        asked = self.checks.get(check)
        return asked is not None and asked.must_be_known and asked.then.get(band) in self.causes

    def asked(self) -> tuple[Check, ...]:
        """Return the checks that are put to the technician."""
        return self._asked


@dataclass(frozen=True, slots=True)
class Finding:
    """An author's mistake: rule, place, what is wrong and what to do."""

    rule: str
    where: Where
    message: str

    def __str__(self) -> str:
        return f"{self.where}: {self.rule} {self.message}"
